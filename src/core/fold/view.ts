import { flightEveryDays } from '../beads/uptake.ts'
import { type FloorTrend, floorTrend } from '../trace/floor-trend.ts'
import type { Sample } from '../rules/rule.ts'
import { ASSUMED_TEMP_C } from './ambient.ts'
import { account, hoursOf } from './exposure.ts'
import { fillOf, isSwapAsked } from './fill.ts'
import { PLACES } from './inputs.ts'
import { isRigAway, suspension } from './log-memory.ts'
import { cloneJson, type Memory } from './memory.ts'
import type { ExposureH, Fill, Forecast, OpenAlert, PumpBasis, Unknown } from './outputs.ts'

/** What is known of a rig at an instant: numbers, no sentences. */
export type View = {
  readonly atS: number
  /** The last grid time that was judged, s. */
  readonly gridS: number
  readonly heardAtS: number | null
  readonly latest: readonly Sample[]
  /** Air known to come from the engine: sampled while it moved. */
  readonly engineAir: {
    readonly atS: number
    /** As reported. */
    readonly humidityPct: number
    /** From the corrected humidity. */
    readonly densityGm3: number
    readonly tempC: number | null
  } | null
  readonly metalTempC: number | null
  readonly pump: {
    readonly state: 'run' | 'rest' | 'unknown'
    readonly basis: PumpBasis
    readonly sinceS: number | null
  }
  readonly lastRunAtS: number | null
  readonly isGap: boolean
  readonly suspended: 'off' | 'salt-check' | 'power-off' | 'flight' | null
  readonly isWet: boolean
  readonly flightAtS: number | null
  readonly cycles: number
  readonly readings: number
  readonly exposure: ExposureH
  readonly fill: Fill | null
  readonly forecast: Forecast | null
  /** Learned days between flights; `null` while none was logged. */
  readonly daysPerFlight: number | null
  /** How the floor of this fill's runs has moved; `null` while there are too few weeks. */
  readonly floorTrend: FloorTrend | null
  readonly open: readonly OpenAlert[]
  readonly unknown: readonly Unknown[]
  readonly assumed: readonly string[]
}

function latestSamples(memory: Memory): Sample[] {
  const found: Sample[] = []
  for (const place of PLACES) {
    const sample = memory.places[place].latest
    if (sample !== null) found.push(sample)
  }
  return found
}

/** Exposure up to `atS`: what is not accounted yet goes on as it was, or is a gap, or off. */
function exposureAt(memory: Memory, atS: number): ExposureH {
  const copy = cloneJson(memory.exposure)
  const last = copy.recent.at(-1)
  if (isRigAway(memory.log, atS)) account(copy, atS, 'off', false)
  else if (memory.inGap || last === undefined) account(copy, atS, 'gap', false)
  else account(copy, atS, last[1], last[2])
  return hoursOf(copy.total)
}

/** What is assumed because nobody has said it and nothing measures it. */
function assumedTemp(memory: Memory): string {
  const { settings, places } = memory
  if (places.ambient.heldTempC !== null) return "the hangar's temperature for the air"
  return settings?.ambient === null || settings === null
    ? `temperature ${ASSUMED_TEMP_C} degC`
    : `temperature ${settings.ambient.tempC} degC, the stated climate's`
}

function assumptions(memory: Memory): string[] {
  const found: string[] = []
  const { settings, places } = memory
  if (places.return.latest !== null && places.return.latest.tempC === null) found.push(assumedTemp(memory))
  if (places.ambient.latest === null && settings?.ambient === null) found.push('hangar air 60 % at 15 degC')
  return found
}

function missing(memory: Memory): Unknown[] {
  const found: Unknown[] = []
  const { settings } = memory
  if (isSwapAsked(memory))
    found.push({ what: 'forecast', why: 'the beads may have been changed: the logbook has to say' })
  if (settings === null) return found
  if (settings.flowLPerMin === null) found.push({ what: 'water moved', why: 'no flow stated' })
  if (settings.beadMassG === null) found.push({ what: 'forecast', why: 'no bead mass stated' })
  const { fill } = memory.beads
  if (fill !== null && !fill.isKnown)
    found.push({
      what: 'forecast',
      why: 'the beads were already in use when first seen: known from the next bake on',
    })
  if (settings.volumeL === null) found.push({ what: 'leak in L/h', why: 'no volume stated' })
  else if (settings.flowLPerMin === null) found.push({ what: 'leak in L/h', why: 'no flow stated' })
  return found
}

/** What is known at `atS` (Unix s, at or after the memory's grid time). Changes nothing. */
export function lookAt(memory: Memory, atS: number): View {
  const { pump, engineAir } = memory
  const { fill } = memory.beads
  return {
    atS,
    gridS: memory.gridS,
    heardAtS: memory.heardAtS,
    latest: latestSamples(memory),
    engineAir: engineAir === null ? null : { ...engineAir },
    metalTempC: memory.metal.tempC,
    pump: { state: pump.state, basis: pump.basis, sinceS: pump.sinceS },
    lastRunAtS: memory.lastRunAtS,
    isGap: memory.inGap,
    suspended: suspension(memory.log, atS),
    isWet: memory.gate.isOpen,
    flightAtS: memory.log.flightAtS,
    cycles: memory.totals.cycles,
    readings: memory.totals.readings,
    exposure: exposureAt(memory, atS),
    fill: fill === null ? null : fillOf(fill, null),
    forecast: isSwapAsked(memory) ? null : (fill?.forecast ?? null),
    daysPerFlight: flightEveryDays(memory.beads.uptake, atS),
    floorTrend: fill === null ? null : floorTrend(fill.floors),
    open: memory.rules.open,
    unknown: [...missing(memory), ...memory.rules.unknown],
    assumed: assumptions(memory),
  }
}
