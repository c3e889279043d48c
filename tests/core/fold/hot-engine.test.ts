import { describe, expect, test } from 'vitest'
import { heldSaturationGm3 } from '../../../src/core/air/held-saturation.ts'
import { advance } from '../../../src/core/fold/advance.ts'
import { takenG } from '../../../src/core/fold/fill.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { type Memory, newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600
const DAYS = 5
const LANDED_S = DAY_ZERO_S + DAYS * 24 * HOUR
const HANGAR_C = 15
const FLOW_M3_PER_H = 2.5 * 0.06

/** An engine at 70 degC that cools through seven hours, its air at `humidityPct`, the pump on after ten minutes. */
function cooling(humidityPct: number, hours: number): Reading[] {
  return Array.from({ length: 12 * hours }, (_, index) => {
    const atS = LANDED_S + 300 * (index + 1)
    const tempC = HANGAR_C + 55 * Math.exp(-index / 12 / 7)
    return {
      atS,
      place: 'return',
      humidityPct: humidityPct + 0.1 * (index % 2),
      tempC,
      pumpOn: index >= 2,
      powerW: null,
    }
  })
}

function after(humidityPct: number, hours: number, sensorSits: 'engine' | 'box'): Memory {
  const readings = [
    ...sawTooth({ days: DAYS, noisePct: 0.1, tempC: HANGAR_C }),
    ...cooling(humidityPct, hours),
  ]
  const log = [
    { atS: DAY_ZERO_S, what: 'bake' as const, detail: {} },
    { atS: LANDED_S, what: 'flight' as const, detail: { hours: '1' } },
    { atS: LANDED_S + 300, what: 'on' as const, detail: {} },
  ]
  const settings = [{ fromS: 0, settings: { ...SETTINGS, sensorSits } }]
  return advance(newMemory(DAY_ZERO_S), { readings, log, settings }, LANDED_S + hours * HOUR).memory
}

const takenIn = (memory: Memory): number => {
  if (memory.beads.fill === null) throw new Error('no beads')
  return takenG(memory.beads.fill)
}

describe('a sensor in an engine that is hot from a flight', () => {
  test('does not load the beads with more than air holds on its way to them', () => {
    const byFlightG = takenIn(after(60, 3, 'engine')) - takenIn(after(60, 0, 'engine'))
    // Three hours at saturation in a hangar of 15 degC, and some kelvins that day and night leave open.
    const mostG = 3 * FLOW_M3_PER_H * heldSaturationGm3(HANGAR_C + 4)
    expect(byFlightG).toBeLessThan(mostG)
    expect(byFlightG).toBeGreaterThan(0.7 * 3 * FLOW_M3_PER_H * heldSaturationGm3(HANGAR_C))
    // In a box that is so warm so much air is there to be carried.
    const inBoxG = takenIn(after(60, 3, 'box')) - takenIn(after(60, 0, 'box'))
    expect(inBoxG).toBeGreaterThan(2 * mostG)
  })

  test('tells nothing of how warm the hangar is', () => {
    expect(after(60, 3, 'engine').metal.tempC).toBeLessThan(HANGAR_C + 4)
  })

  test('tells how damp its metal is: what it reads, not what a cold engine would', () => {
    const [before, later] = [after(30, 0, 'engine'), after(30, 6, 'engine')].map(
      ({ exposure }) => exposure.total.under40 / HOUR,
    )
    expect((later ?? 0) - (before ?? 0)).toBeGreaterThan(5)
  })
})
