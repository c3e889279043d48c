import { expect, test } from 'vitest'
import { startLog } from '../../../src/core/fold/log-memory.ts'
import { isPumpsDrop, isRestedWet, isStartedByHand } from '../../../src/core/fold/started-by-hand.ts'

const LANDED = 1_767_225_600
const HOUR = 3600
const RUN = { fromS: LANDED + 3 * HOUR, basis: 'reported', startPct: 60 } as const
const unplugged = { ...startLog(), offMin: 300, offEndedAtS: LANDED + 3 * HOUR }
const plugged = startLog()
const of = (change = {}) => ({
  atS: LANDED + 4 * HOUR,
  landedS: LANDED,
  log: plugged,
  band: { startPct: 15, stopPct: 6 },
  ...change,
})

test.each([
  ['a pump that had rested far above its limit', RUN, of(), true],
  ['a pump that its band started', { ...RUN, startPct: 16 }, of(), false],
  ['a hub that was unplugged over the landing', { ...RUN, startPct: null }, of({ log: unplugged }), true],
  [
    'a gap that began long after it',
    { ...RUN, startPct: null },
    of({ log: { ...unplugged, offMin: 60 } }),
    false,
  ],
  ['a run of before the landing', { ...RUN, fromS: LANDED - HOUR }, of(), false],
  ['a run of some minutes', RUN, of({ atS: RUN.fromS + 600 }), false],
  ['a run that is only inferred from the air', { ...RUN, basis: 'inferred' as const }, of(), false],
])('after a flight: %s', (_, run, context, isBack) => {
  expect(isStartedByHand(run, context)).toBe(isBack)
})

test('a front that dries the hangar is no drop of an inferred run; air in the band is', () => {
  const band = { startPct: 15, stopPct: 6 }
  expect(isPumpsDrop({ basis: 'inferred' }, 60, band)).toBe(false)
  expect(isPumpsDrop({ basis: 'inferred' }, 12, band)).toBe(true)
  expect(isPumpsDrop({ basis: 'reported' }, 60, band)).toBe(true)
})

const trail = (humidities: readonly number[], everyS: number) =>
  humidities.map((pct, index) => [index * everyS, pct, pct / 10] as const)

test('air that stood far above its limit until somebody started the pump may have wetted the engine; a late report has not', () => {
  const band = { startPct: 15, stopPct: 6 }
  expect(isRestedWet(trail([50, 51, 52, 53, 54], 300), { atS: 1500, lastRunAtS: null }, band)).toBe(true)
  expect(isRestedWet(trail([14, 14, 15, 27, 69], 300), { atS: 1500, lastRunAtS: null }, band)).toBe(false)
  expect(isRestedWet(trail([27, 69], 300), { atS: 600, lastRunAtS: null }, band)).toBe(false)
  expect(isRestedWet(trail([], 300), { atS: 600, lastRunAtS: null }, band)).toBe(false)
  // A timer's half hour between two runs over a dead pump is no time for a flight.
  expect(isRestedWet(trail([50, 51, 52, 53, 54], 300), { atS: 1500, lastRunAtS: -300 }, band)).toBe(false)
  expect(isRestedWet(trail([50, 51, 52, 53, 54], 300), { atS: 1500, lastRunAtS: -3600 }, band)).toBe(true)
})
