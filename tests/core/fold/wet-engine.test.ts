/** What holds up a long run after a flight may be the engine's water: it is no verdict on the beads. */
import { describe, expect, test } from 'vitest'
import { weighByExit, weighByRise } from '../../../src/core/beads/ensemble-update.ts'
import { exitOverShare } from '../../../src/core/beads/ensemble-evidence.ts'
import { memberExitPct, SCALE_PRIOR, startEnsemble } from '../../../src/core/beads/ensemble.ts'
import { advance } from '../../../src/core/fold/advance.ts'
import type { LogEntry, Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import type { Step } from '../../../src/core/fold/work.ts'
import { timestampText } from '../../../src/core/ingest/instant.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600
const DAY = 24 * HOUR
const LANDED_S = DAY_ZERO_S + 12 * DAY

const entry = (atS: number, what: string, detail: LogEntry['detail'] = {}): LogEntry => ({
  atS,
  what,
  detail,
})

/** Twelve days in order, a flight, and a run that stands at 20 % for `standsH` hours before it comes down in two. */
function flown(standsH: number, hours: number, log: readonly LogEntry[] = []): Step {
  const readings: Reading[] = sawTooth({ days: 11.98, noisePct: 0.1 })
  for (let atS = LANDED_S + HOUR; atS <= LANDED_S + hours * HOUR; atS += 300) {
    const h = (atS - LANDED_S) / HOUR - standsH
    const humidityPct = (h < 0 ? 20 : Math.max(5.9, 20 - 8 * h)) + 0.1 * Math.sin(atS)
    readings.push({ atS, place: 'return', humidityPct, tempC: 15, pumpOn: h < 2, powerW: null })
  }
  const all = [entry(DAY_ZERO_S + 0.1 * DAY, 'bake'), entry(LANDED_S, 'flight'), entry(LANDED_S + HOUR, 'on')]
  const inputs = {
    readings,
    log: [...all, ...log],
    settings: [{ fromS: 0, settings: SETTINGS }],
  }
  return advance(newMemory(DAY_ZERO_S), inputs, LANDED_S + hours * HOUR)
}

const flightsLeft = ({ memory }: Step): number => memory.beads.fill?.forecast?.daysLeft?.mid ?? 0

describe('a run that stands far above stop in the days after a flight', () => {
  test('makes fresh beads look no more used up than a run that comes down', () => {
    expect(flightsLeft(flown(20, 30))).toBeGreaterThan(0.8 * flightsLeft(flown(2, 30)))
    const { fill } = flown(20, 19).memory.beads
    expect(fill?.isFloorUnsure).toBe(true)
    expect(fill?.ensemble?.evidence.floor).toBeDefined()
  })

  test('is forgotten once a run has come down to stop', () => {
    const { fill } = flown(20, 24).memory.beads
    expect(fill?.isFloorUnsure).toBe(false)
    expect(fill?.ensemble?.evidence.floor).toBeUndefined()
  })

  test('speaks of the beads when it has outlasted what an engine holds', () => {
    expect(flightsLeft(flown(110, 108))).toBeLessThan(0.3 * flightsLeft(flown(2, 108)))
  })

  test.each([
    [8, false],
    [100, true],
  ])('and a floor check that ends %d h after the landing raises used-up beads: %s', (endH, isRaised) => {
    const check = entry(LANDED_S + (endH - 4) * HOUR, 'floor-check', {
      until: timestampText(LANDED_S + endH * HOUR),
    })
    const step = flown(200, endH + 1, [check])
    const raised = step.events.filter(
      ({ rule, evidence }) => rule === 'beads-spent' && evidence['by'] === 'floor-check',
    )
    expect(raised.length > 0).toBe(isRaised)
    expect(step.memory.lastFloorCheck !== null).toBe(isRaised)
  })
})

const fresh = () => startEnsemble({ kind: 'regular-gel', massG: 1000, bakeTempC: 120 }, SCALE_PRIOR)

describe('the columns, weighed by a floor that a wet engine may have lifted', () => {
  const exitPct = memberExitPct(fresh(), 0, 15)

  test.each([0, 0.5, 0.9])('a high one is explained by the water with probability %d', (wetShare) => {
    const ensemble = fresh()
    weighByRise(ensemble, { risePct: 18, sePct: 0.3, tempC: 15, wetShare })
    // A fresh column's likelihood: next to nothing by itself.
    expect(ensemble.evidence.floor?.[0]).toBeCloseTo(wetShare, 2)
  })

  test('a low one is none the less an upper bound of the exit air', () => {
    const sure = fresh()
    const unsure = fresh()
    const seen = { pct: exitPct - 5, sePct: 0.3, sensorSdPct: 0.5, tempC: 15 }
    weighByExit(sure, 'floor', seen)
    weighByExit(unsure, 'floor', { ...seen, wetShare: 0.9 })
    expect(unsure.evidence).toEqual(sure.evidence)
  })

  test('the share by the ledger alone knows nothing of what was seen', () => {
    const ensemble = fresh()
    const limitPct = exitPct + 1e-9
    const before = exitOverShare(ensemble, limitPct, 15)
    expect(before.byLedger).toBeCloseTo(before.share, 6)
    for (let member = 0; member < ensemble.cells.length; member += 2) ensemble.cells[member]?.fill(0.3)
    weighByRise(ensemble, { risePct: 0, sePct: 0.3, tempC: 15, wetShare: 0 })
    const after = exitOverShare(ensemble, limitPct, 15)
    expect(after.byLedger).toBeGreaterThan(0.2)
    expect(after.share).toBeLessThan(0.05)
  })
})
