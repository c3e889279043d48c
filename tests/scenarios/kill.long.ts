import { expect, test } from 'vitest'
import { surviveKills } from './kill.ts'

test('killed 20 times under load, nothing acknowledged is lost and nothing is there twice', async () => {
  expect(await surviveKills({ readings: 20_000, kills: 20, seed: 7 })).toEqual({
    survived: 20,
    acknowledged: 20_000,
    stored: 20_000,
  })
})
