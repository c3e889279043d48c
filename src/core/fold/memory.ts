import { type ExposureMemory, startExposure } from './exposure.ts'
import { type BeadsMemory, startBeads } from './fill-memory.ts'
import type { Place, RigSettings } from './inputs.ts'
import type { Cycle } from './outputs.ts'
import { type LogMemory, startLog } from './log-memory.ts'
import { type MetalMemory, startMetal } from './metal.ts'
import { type RollupMemory, startRollups } from './rollup-memory.ts'
import { type SensorMemory, startSensor } from './sensor-memory.ts'
import { type RulesMemory, startRules } from '../rules/alerts.ts'
import type { Sample } from '../rules/rule.ts'
import { type DryingPool, startDryingPool } from '../trace/drying-pool.ts'
import { type IngressMemory, startIngress } from '../trace/ingress.ts'
import { type NoiseMemory, startNoise } from '../trace/noise.ts'
import { type PumpMemory, startPump } from '../trace/pump.ts'
import type { RunMemory } from '../trace/run.ts'
import { type RunTimeMemory, startRunTime } from '../trace/run-time.ts'
import { type SpacingMemory, startSpacing } from '../trace/spacing.ts'
import { startSwitching, type SwitchingMemory } from '../trace/switching.ts'
import { startUnhooked, type UnhookedMemory } from '../trace/unhooked.ts'
import { startWetGate, type WetGateMemory } from '../trace/wet-gate-memory.ts'

/** Raised whenever the meaning of any part of the memory changes: the stored ones are then rebuilt from the readings. */
export const MEMORY_VERSION = 31

/** The analysis steps over the multiples of this, s, UTC. Nothing else is a clock. */
export const GRID_S = 300

/** What is known of the sensor at one place. */
export type PlaceMemory = {
  latest: Sample | null
  heardAtS: number | null
  heldTempC: number | null
}

/** A run that has ended; it becomes a cycle when the next one starts. */
export type FinishedRun = {
  cycle: Omit<Cycle, 'atS' | 'restMin' | 'ingressPerH'>
  endGm3: number
  endSaturationGm3: number
  /** Its start was not seen, or a gap or a suspension lies in it or in the rest: it is not counted. */
  isBroken: boolean
  ambientSumGm3: number
  ambientCount: number
}

/** A cycle that only waits for the engine's air at the start of the new run. */
export type WaitingCycle = {
  cycle: Cycle
  endGm3: number
  endSaturationGm3: number
  ambientGm3: number | null
}

/** The apparent floor of the rig's recent runs, % RH: running mean and variance. */
export type FloorMemory = { meanPct: number; variance: number; runs: number }

export type Totals = { readings: number; cycles: number }

/** All that the analysis of one rig keeps: plain JSON of bounded size. */
export type Memory = {
  version: number
  firstAtS: number
  /** Last grid time that was evaluated, s. */
  gridS: number
  settings: RigSettings | null
  settingsFromS: number | null
  places: Record<Place, PlaceMemory>
  /** Last time anything was heard, any place. */
  heardAtS: number | null
  inGap: boolean
  spacing: SpacingMemory
  noise: NoiseMemory
  /** Latest return readings: time, % RH as reported, g/m3. For the onset of the surge. */
  trail: [atS: number, humidityPct: number, densityGm3: number][]
  pump: PumpMemory
  run: RunMemory | null
  finished: FinishedRun | null
  waiting: WaitingCycle | null
  lastRunAtS: number | null
  /** End of the last run that came down to `stop`, s. */
  lastStopS: number | null
  /** The last return reading, for the air between two of them: s, g/m3. */
  air: { atS: number; densityGm3: number } | null
  /** Temperature at the return sensor when the pump was last at rest, degC. */
  restTempC: number | null
  /** Last air known to come from the engine: time, % RH, g/m3, degC (`null` where none is measured). */
  engineAir: { atS: number; humidityPct: number; densityGm3: number; tempC: number | null } | null
  gate: WetGateMemory
  drying: DryingPool
  floor: FloorMemory
  runTime: RunTimeMemory
  switching: SwitchingMemory
  unhooked: UnhookedMemory
  ingress: IngressMemory
  beads: BeadsMemory
  sensor: SensorMemory
  lastFloorCheck: { atS: number; pct: number } | null
  lastLoopTest: { atS: number; pct: number } | null
  log: LogMemory
  metal: MetalMemory
  exposure: ExposureMemory
  rollups: Record<Place, RollupMemory>
  totals: Totals
  rules: RulesMemory
}

function startPlace(): PlaceMemory {
  return { latest: null, heardAtS: null, heldTempC: null }
}

/** A fresh memory for a rig whose first reading is at `firstAtS` (Unix s): its first grid time is the next multiple. */
export function newMemory(firstAtS: number): Memory {
  const gridS = Math.ceil(firstAtS / GRID_S) * GRID_S - GRID_S
  return {
    version: MEMORY_VERSION,
    firstAtS,
    gridS,
    settings: null,
    settingsFromS: null,
    places: { return: startPlace(), supply: startPlace(), ambient: startPlace(), engine: startPlace() },
    heardAtS: null,
    inGap: false,
    spacing: startSpacing(firstAtS),
    noise: startNoise(),
    trail: [],
    pump: startPump(),
    run: null,
    finished: null,
    waiting: null,
    lastRunAtS: null,
    lastStopS: null,
    air: null,
    restTempC: null,
    engineAir: null,
    gate: startWetGate(firstAtS),
    drying: startDryingPool(),
    floor: { meanPct: 0, variance: 0, runs: 0 },
    runTime: startRunTime(firstAtS),
    switching: startSwitching(),
    unhooked: startUnhooked(),
    ingress: startIngress(firstAtS),
    beads: startBeads(),
    sensor: startSensor(),
    lastFloorCheck: null,
    lastLoopTest: null,
    log: startLog(),
    metal: startMetal(),
    exposure: startExposure(firstAtS),
    rollups: {
      return: startRollups(),
      supply: startRollups(),
      ambient: startRollups(),
      engine: startRollups(),
    },
    totals: { readings: 0, cycles: 0 },
    rules: startRules(),
  }
}

/** The memory as text, to be stored. Full precision: replay in pieces equals replay in one piece exactly. */
export function packMemory(memory: Memory): string {
  return JSON.stringify(memory)
}

export type Unpacked =
  | { readonly ok: true; readonly memory: Memory }
  | { readonly ok: false; readonly reason: 'version' }

/** Reads a stored memory; one of another version has to be rebuilt from the readings. */
export function unpackMemory(text: string): Unpacked {
  // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- only ever written by packMemory, and versioned
  const memory = JSON.parse(text) as Memory
  return memory.version === MEMORY_VERSION ? { ok: true, memory } : { ok: false, reason: 'version' }
}

const isPart = (value: unknown): value is object => typeof value === 'object' && value !== null

function clonePart(value: object): object {
  if (Array.isArray(value)) {
    const list: unknown[] = value.slice()
    for (let index = 0; index < list.length; index++) {
      const part = list[index]
      if (isPart(part)) list[index] = clonePart(part)
    }
    return list
  }
  // Spread, because an object that is built key by key is a hash table to the engine, and every look at it slow.
  const copy: Record<string, unknown> = { ...value }
  for (const key of Object.keys(copy)) {
    const part = copy[key]
    if (isPart(part)) copy[key] = clonePart(part)
  }
  return copy
}

/** A deep copy of plain JSON; other things do not occur in a memory. The caller's is never changed. */
export function cloneJson<T extends object>(value: T): T {
  // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- a copy has the type of what it copies
  return clonePart(value) as T
}
