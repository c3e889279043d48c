import { advance } from '../../../src/core/fold/advance.ts'
import type { Inputs } from '../../../src/core/fold/inputs.ts'
import { type Memory, newMemory, packMemory, unpackMemory } from '../../../src/core/fold/memory.ts'
import type { Step } from '../../../src/core/fold/work.ts'

/** The inputs of one piece: later than `afterS`, up to `untilS`. The settings in force come with the first. */
export function slice(inputs: Inputs, afterS: number, untilS: number, startS: number): Inputs {
  return {
    readings: inputs.readings.filter(({ atS }) => atS > afterS && atS <= untilS),
    log: inputs.log.filter(({ atS }) => atS > afterS && atS <= untilS),
    settings: inputs.settings.filter(({ fromS }) => (fromS > afterS || afterS < startS) && fromS <= untilS),
  }
}

/** Feeds the inputs in pieces that end at `ends`, the memory written and read again between them. */
export function inPieces(
  inputs: Inputs,
  startS: number,
  ends: readonly number[],
): Omit<Step, 'memory'> & { packed: string } {
  let memory: Memory = newMemory(startS)
  const all: { [K in Exclude<keyof Step, 'memory'>]: Step[K][number][] } = {
    cycles: [],
    events: [],
    rollups: [],
    exposureDays: [],
    fills: [],
  }
  for (const untilS of ends) {
    const unpacked = unpackMemory(packMemory(memory))
    if (!unpacked.ok) throw new Error('version')
    const step = advance(unpacked.memory, slice(inputs, memory.gridS, untilS, startS), untilS)
    all.cycles.push(...step.cycles)
    all.events.push(...step.events)
    all.rollups.push(...step.rollups)
    all.exposureDays.push(...step.exposureDays)
    all.fills.push(...step.fills)
    memory = step.memory
  }
  return { ...all, packed: packMemory(memory) }
}

export function every(spanS: number, startS: number, endS: number): number[] {
  const ends: number[] = []
  for (let atS = startS + spanS; atS < endS; atS += spanS) ends.push(atS)
  return [...ends, endS]
}
