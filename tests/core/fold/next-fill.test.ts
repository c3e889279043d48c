import { expect, test } from 'vitest'
import { takenG } from '../../../src/core/fold/fill.ts'
import { type RigPlan, typicalPlan } from '../../../src/core/rig/plan.ts'
import { watch, watchOn } from '../../bench/watched-rig.ts'

const HOUR = 3600
const DAY = 24 * HOUR
const START_S = 1_743_465_600
const DAYS = 200

/** Half a kilogram of beads of another kind than its owner says, packed badly, and a flight every week. */
function hungry(): RigPlan {
  const plan = typicalPlan(3, START_S)
  const flights = Array.from({ length: Math.floor(DAYS / 7) }, (_, week) => {
    const landS = START_S + (3 + 7 * week) * DAY + 12 * HOUR
    return {
      offS: landS - 2 * HOUR,
      landS,
      onS: landS + 2 * HOUR,
      waterG: 6,
      heatK: 45,
      isLogged: true,
      isRigLogged: true,
      hub: 'on' as const,
    }
  })
  return {
    ...plan,
    beads: { ...plan.beads, kind: 'round-pore-gel', massG: 500, cells: 4, scale: 0.9, approach: 0.7 },
    bakes: [{ atS: START_S + 2 * HOUR, tempC: 120, isLogged: true, isWeighed: false }],
    flights,
  }
}

test('after one fill was used up the next is told from its ledger, not from the published curve', () => {
  const watched = watch('own', hungry())
  const atStart: number[] = []
  const atEnd: number[] = []
  let bakedS = 0
  while (watched.rig.atS() < START_S + DAYS * DAY && atEnd.length < 2) {
    const { truth, forecast } = watchOn(watched, 6 * HOUR)
    const fill = watched.memory.beads.fill
    if (fill === null || fill.ensemble === null) continue
    if (watched.rig.atS() - fill.fromS < 12 * HOUR && atStart.length === atEnd.length)
      atStart.push(forecast?.capacityG?.mid ?? 0)
    if (truth.exitPct < watched.rig.plan.outlet.stopPct || bakedS > fill.fromS) continue
    atEnd.push(takenG(fill))
    bakedS = truth.atS + 2 * DAY
    const bake = { atS: bakedS, tempC: 120, isLogged: true, isWeighed: false }
    const { plan } = watched.rig
    watched.rig = watched.rig.fork({ ...plan, bakes: [...plan.bakes, bake] })
  }
  expect(atEnd).toHaveLength(2)
  const [firstG = 0, secondG = 0] = atEnd
  const [priorG = 0, toldG = 0] = atStart
  // The first fill could only be told from the curve.
  expect(priorG / firstG).toBeLessThan(0.8)
  expect(toldG / firstG).toBeGreaterThan(0.85)
  expect(toldG / firstG).toBeLessThan(1.15)
  expect(toldG / secondG).toBeGreaterThan(0.75)
  expect(toldG / secondG).toBeLessThan(1.25)
})
