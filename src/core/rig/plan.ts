import type { LogEntry, RigSettings } from '../fold/inputs.ts'
import { CLIMATES, type Climate } from './weather.ts'

/** What is wrong with a simulated rig, and when. */
export type FaultKind =
  /** The pump is on and moves no air. `size` 1: its coil is open; 2: it hums along and draws its power. */
  | 'pump-dead'
  /** The hose from the beads to the engine is off: dry air goes to the hangar, the engine draws hangar air. */
  | 'supply-off'
  /** The filler cap or breather fitting is off: hangar air finds its way into the crankcase at `size` L/h. */
  | 'cap-off'
  /** The hose from the engine is off: the pump draws hangar air through the sensor and the beads. */
  | 'return-off'
  /** The outlet does not switch on. */
  | 'stuck-off'
  /** The outlet does not switch off. */
  | 'stuck-on'
  /** Nothing is posted. */
  | 'silent'
  /** The sensor repeats one value. */
  | 'frozen'
  /** All the hangar air that the loop takes in is `size` times what it was in the days before, by a larger leak. */
  | 'leak'
  /** A share `size` of the pump's air is drawn in from the hangar before it. */
  | 'suction-leak'
  /** The sensor reads `size` % RH too high. */
  | 'shift'

export type Fault = {
  readonly kind: FaultKind
  readonly fromS: number
  readonly untilS: number
  readonly size: number
}

export type Flight = {
  /** The rig is taken off. */
  readonly offS: number
  readonly landS: number
  /** The rig is hooked up again, s; infinite if nobody does. */
  readonly onS: number
  /** Liquid water left in the crankcase, g. */
  readonly waterG: number
  /** Engine temperature above the hangar at landing, K. */
  readonly heatK: number
  readonly isLogged: boolean
  /** Whether taking the rig off and putting it on are logged too. */
  readonly isRigLogged: boolean
  /** What the hub does meanwhile: goes on with the pump switched off, or is unplugged and silent. */
  readonly hub: 'on' | 'silent'
}

export type Bake = {
  readonly atS: number
  readonly tempC: number
  readonly isLogged: boolean
  readonly isWeighed: boolean
}

/** Everything that stays as it is over a rig's life, and what happens to it. Plain data. */
export type RigPlan = {
  readonly seed: number
  readonly startS: number
  readonly volumeL: number
  readonly boxL: number
  readonly flowLPerMin: number
  readonly beads: {
    readonly kind: string
    readonly massG: number
    /** Loading over that of the published curve. */
    readonly scale: number
    readonly cells: number
    /** Share of the way to equilibrium that air makes in one cell: a short or badly packed column has less. */
    readonly approach: number
    readonly firstBakeC: number
    /** Water in them at the start beyond the bake residual, kg/kg. */
    readonly firstLoadingKgKg: number
    readonly jar: string
    /** Used beads are noticed and baked when the exit air has come up to this, % RH; `null`: never by themselves. */
    readonly bakeAtExitPct: number | null
    readonly bakeC: number
    readonly isBakeLogged: boolean
    readonly isWeighed: boolean
  }
  readonly engine: {
    /** Water in films on metal and hoses over that in the air, and how fast they answer. */
    readonly filmRatio: number
    readonly filmHours: number
    readonly oilRatio: number
    readonly oilHours: number
    /** Lag of the metal behind the hangar's air, h. */
    readonly metalLagH: number
    /** How fast liquid water evaporates: litres of air a minute that it keeps saturated. */
    readonly evaporationLPerMin: number
    /** Cooling of a hot engine, h. */
    readonly coolingH: number
  }
  readonly leaks: {
    readonly engineLPerH: number
    readonly boxLPerH: number
    readonly suctionShare: number
    /** 1: the crankcase breathes all of its thermal expansion; 0: it holds pressure. */
    readonly breathing: number
    /** Flow through a resting pump, L/h for each K that the engine is warmer than the hangar. */
    readonly siphonLPerHK: number
    /** Air that finds its way between engine and box at rest, L/h. */
    readonly restLPerH: number
  }
  readonly pump: { readonly heatK: number; readonly powerW: number }
  /** Exchange of a box whose hoses are off, 1/h. */
  readonly openHosesPerH: number
  readonly climate: Climate
  readonly sensor: {
    readonly sits: 'box' | 'engine'
    readonly noisePct: number
    readonly stepPct: number
    readonly offsetPct: number
    readonly gain: number
    readonly lagS: number
    readonly tempStepC: number
  }
  readonly outlet: {
    readonly startPct: number
    readonly stopPct: number
    /** The report of the pump's state is this old, s. */
    readonly stateLagS: number
  }
  readonly hub: {
    readonly everyS: number
    /** steady: every `everyS`; on-change: when a value moves; cached: every `everyS`, but values renewed every `renewS`. */
    readonly mode: 'steady' | 'on-change' | 'cached'
    readonly quietMaxS: number
    readonly renewS: number
    readonly hasTemp: boolean
    readonly hasPump: boolean
    readonly hasPower: boolean
    readonly hasAmbient: boolean
    readonly hasSupply: boolean
    readonly hasEngine: boolean
    /** Share of posts that never arrive. */
    readonly lostShare: number
  }
  readonly flights: readonly Flight[]
  readonly bakes: readonly Bake[]
  readonly faults: readonly Fault[]
  /** Entries that come out as they are; a floor check keeps the pump on, a salt check shows its salt. */
  readonly log: readonly LogEntry[]
}

/** A well-made rig in a temperate hangar. */
const TYPICAL: Omit<RigPlan, 'seed' | 'startS'> = {
  volumeL: 45,
  boxL: 2,
  flowLPerMin: 2.5,
  beads: {
    kind: 'regular-gel',
    massG: 2000,
    scale: 0.85,
    cells: 16,
    approach: 0.9,
    firstBakeC: 120,
    firstLoadingKgKg: 0,
    jar: 'A',
    bakeAtExitPct: null,
    bakeC: 120,
    isBakeLogged: true,
    isWeighed: false,
  },
  engine: {
    filmRatio: 1,
    filmHours: 1,
    oilRatio: 2,
    oilHours: 12,
    metalLagH: 4,
    evaporationLPerMin: 60,
    coolingH: 2.5,
  },
  leaks: {
    engineLPerH: 1.1,
    boxLPerH: 0.02,
    suctionShare: 0,
    breathing: 0.5,
    siphonLPerHK: 0,
    restLPerH: 0.1,
  },
  pump: { heatK: 4, powerW: 4 },
  openHosesPerH: 1,
  climate: CLIMATES.temperate,
  sensor: { sits: 'box', noisePct: 0.1, stepPct: 0.1, offsetPct: 0, gain: 1, lagS: 30, tempStepC: 0.1 },
  outlet: { startPct: 15, stopPct: 6, stateLagS: 0 },
  hub: {
    everyS: 300,
    mode: 'steady',
    quietMaxS: 1800,
    renewS: 300,
    hasTemp: true,
    hasPump: true,
    hasPower: false,
    hasAmbient: true,
    hasSupply: false,
    hasEngine: false,
    lostShare: 0,
  },
  flights: [],
  bakes: [],
  faults: [],
  log: [],
}

/** A well-made rig in a temperate hangar without flights or faults, to be changed part by part. */
export function typicalPlan(seed: number, startS: number): RigPlan {
  return { ...TYPICAL, seed, startS }
}

/** What the owner of such a rig writes down: rounded, and silent on what owners do not know. */
export function settingsOfPlan(plan: RigPlan): RigSettings {
  return {
    band: { startPct: plan.outlet.startPct, stopPct: plan.outlet.stopPct },
    beadMassG: Math.round(plan.beads.massG / 50) * 50,
    beadKind: 'regular-gel',
    volumeL: Math.round(plan.volumeL),
    flowLPerMin: Math.round(plan.flowLPerMin * 2) / 2,
    reportEveryS: plan.hub.mode === 'on-change' ? plan.hub.quietMaxS : plan.hub.everyS,
    elevationM: 0,
    pumpOnW: plan.hub.hasPower ? plan.pump.powerW / 2 : null,
    switchTolPct: 1,
    sensorSits: plan.sensor.sits,
    boxL: 2,
    ambient: { humidityPct: plan.climate.humidityPct, tempC: plan.climate.meanC },
  }
}
