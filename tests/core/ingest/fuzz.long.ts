import { test } from 'vitest'
import { fuzz } from './fuzz.ts'

test('100,000 generated bodies: none throws, each record is taken or set aside by name', () => fuzz(100_000))
