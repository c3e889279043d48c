import { expect, test } from 'vitest'
import { type DrySpell, followDry, isDriedOut, mayBeTail } from '../../../src/core/rules/leak-tail.ts'
import { DAY_S, QUIET, sampleAt } from './moment.ts'

/** The spell after so many days of a temperature that a sensor reports, or that stands for one. */
function after(days: number, metalTempC: number, isReported: boolean): DrySpell | null {
  const tempC = isReported ? metalTempC : null
  const latest = { ...QUIET.latest, return: sampleAt(0, 10, { tempC }) }
  let dry: DrySpell | null = null
  for (let day = 1; day <= days; day++)
    dry = followDry(dry, 0, { ...QUIET, atS: day * DAY_S, metalTempC, ambientTempC: tempC, latest })
  return dry
}

test('a day dries as much as the air holds, and where nobody measures its temperature half of that, as in a winter', () => {
  expect(after(4, 15, true)?.warmDays).toBeCloseTo(4)
  expect(after(4, 0, true)?.warmDays).toBeCloseTo(1.5, 1)
  expect(after(4, 15, false)?.warmDays).toBeCloseTo(2)
})

test('another flight begins another spell, and where none is known all is dry', () => {
  const dry = after(6, 15, true)
  expect([isDriedOut(dry), isDriedOut(null)]).toEqual([true, true])
  expect(followDry(dry, 7 * DAY_S, { ...QUIET, atS: 8 * DAY_S })?.warmDays).toBeLessThan(2)
  expect(followDry(null, Number.NEGATIVE_INFINITY, QUIET)).toBeNull()
})

test('a tail is over after three such days, or with the first ordinary window', () => {
  const dry = { fromS: 0, untilS: DAY_S, warmDays: 2, hasRested: false }
  expect([dry, { ...dry, hasRested: true }, { ...dry, warmDays: 3.1 }, null].map(mayBeTail)).toEqual([
    true,
    false,
    false,
    false,
  ])
})
