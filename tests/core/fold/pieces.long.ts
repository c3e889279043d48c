import { assert, constantFrom, integer, property, record, uniqueArray } from 'fast-check'
import { expect, test } from 'vitest'
import { planOf, startSimulated } from '../../bench/simulated.ts'
import { every, inPieces } from './in-pieces.ts'

const DAY_S = 86_400
/** 2025-11-03T00:00:00Z: a winter, so that cold plateaus are among what is cut through. */
const START_S = 1_762_128_000
const DAYS = 45

/** A rig of one of the two simulators: its readings, logbook and settings, in the order they are dated. */
function simulated(model: 'own' | 'other', seed: number) {
  const rig = startSimulated(model, planOf(model, seed, START_S, DAYS))
  const out = { readings: [], log: [] }
  rig.advance(START_S + DAYS * DAY_S, out)
  return { ...out, settings: [{ fromS: START_S, settings: rig.settings() }] }
}

test(
  'rigs of both simulators give the same in one piece, in days, and cut anywhere',
  { timeout: 600_000 },
  () => {
    const endS = START_S + (DAYS - 1) * DAY_S
    assert(
      property(
        record({
          model: constantFrom('own' as const, 'other' as const),
          seed: integer({ min: 1, max: 100_000 }),
          cuts: uniqueArray(integer({ min: 1, max: (DAYS - 1) * DAY_S - 1 }), { maxLength: 60 }),
        }),
        ({ model, seed, cuts }) => {
          const inputs = simulated(model, seed)
          const whole = inPieces(inputs, START_S - 1800, [endS])
          expect(whole.cycles.length + whole.rollups.length).toBeGreaterThan(500)
          const ends = [...cuts.toSorted((a, b) => a - b).map((cut) => START_S + cut), endS]
          expect(inPieces(inputs, START_S - 1800, ends)).toEqual(whole)
          expect(inPieces(inputs, START_S - 1800, every(DAY_S, START_S, endS))).toEqual(whole)
        },
      ),
      { numRuns: 40 },
    )
  },
)
