import { describe } from 'vitest'
import { checkEveryScreen } from './every-screen.ts'

describe('every screen on a phone, light and dark, by axe-core and by measure', () =>
  checkEveryScreen('phone'))
