import { describe } from 'vitest'
import { checkEveryScreen } from './every-screen.ts'

describe('every screen on a desktop, light and dark, by axe-core and by measure', () =>
  checkEveryScreen('desktop'))
