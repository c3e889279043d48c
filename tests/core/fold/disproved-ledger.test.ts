import { describe, expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import { type Memory, newMemory } from '../../../src/core/fold/memory.ts'
import { lookAt } from '../../../src/core/fold/view.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const DAY_S = 86_400

const BAND = { startPct: 15, stopPct: 3 }

/** Eighty days of a rig in order; its beads by the logbook. */
function after(beadMassG: number): Memory {
  const readings = sawTooth({
    days: 80,
    everyS: 600,
    noisePct: 0.1,
    ingressPerH: 0.03,
    floorPct: 1,
    stopPct: 3,
  })
  const log = [{ atS: DAY_ZERO_S + 8640, what: 'bake', detail: {} }]
  const settings = [{ fromS: 0, settings: { ...SETTINGS, band: BAND, beadMassG } }]
  return advance(newMemory(DAY_ZERO_S), { readings, log, settings }, DAY_ZERO_S + 80 * DAY_S).memory
}

const asked = (memory: Memory) => memory.rules.open.filter(({ rule }) => rule === 'swapped')

describe('beads that are used up by the ledger and go on drying', () => {
  test('are asked about, and nothing is forecast of them', () => {
    const memory = after(40)
    expect(asked(memory)).toMatchObject([{ urgency: 'note', evidence: { by: 'ledger' } }])
    expect(lookAt(memory, memory.gridS).forecast).toBeNull()
  })

  test('others are not', () => {
    const memory = after(2000)
    expect(asked(memory)).toEqual([])
    expect(lookAt(memory, memory.gridS).forecast).not.toBeNull()
  })
})
