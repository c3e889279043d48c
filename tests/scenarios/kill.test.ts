import { expect, test } from 'vitest'
import { surviveKills } from './kill.ts'

test('killed twice under load, nothing acknowledged is lost and nothing is there twice', async () => {
  expect(await surviveKills({ readings: 2000, kills: 2, seed: 1 })).toEqual({
    survived: 2,
    acknowledged: 2000,
    stored: 2000,
  })
}, 180_000)
