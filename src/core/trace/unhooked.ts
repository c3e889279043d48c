import { isEarlyEnough } from './early-reading.ts'

/**
 * A rig taken off the engine while its hub goes on: at rest the air at the sensor jumps towards the hangar's. A closed
 * box takes in 0.05 of itself an hour, and films that even out after a run stay inside the band, because the pump would
 * start; open hoses let the hangar in within the hour. Nobody has to log it for the analysis to see it.
 */
export type UnhookedMemory = {
  /** Readings at rest of the last hour, ten minutes apart: time, % RH, g/m3. */
  marks: [atS: number, humidityPct: number, densityGm3: number][]
  sinceS: number | null
  /** When the rig was last seen to be off, whether or not it is back, s. */
  lastAtS: number | null
  /** The reading that jumped, s. */
  jumpAtS: number
  /** The reading before jumped too: one alone is a glitch. */
  hasJumped: boolean
  /** Since when the air has jumped without passing the limit, s. */
  jumpedBelowS: number | null
  /** The last reading before an inferred run, or its first after a gap, % RH and g/m3; and the run's start, s. */
  fromPct: number
  fromGm3: number
  /** The first reading from a quarter of an hour into that run on: g/m3, and how far into it, s. */
  earlyGm3: number | null
  earlyAfterS: number
  earlyOfS: number
  /** It only looked so, in a run that is itself inferred: believed for a shorter time. */
  isGuess: boolean
  /** The run that seems to go on began with air that sprang from where no pump starts (see `sprung.ts`). */
  isSprung: boolean
}

const WINDOW_S = 3600
const MARK_EVERY_S = 600
/** In an hour a closed box in 100 % air gains 4.5 %; a cooling one gains RH but no water. */
const RISE_MIN_PCT = 8
const RISE_SIGMAS = 6
const RISE_FACTOR = 1.4
/** Longer than any flight with the night after it: then an outlet that does not start explains it better. */
const UNHOOKED_MAX_S = 36 * 3600
/** A flight until its landing is logged; a supply hose or cap that came off looks the same, and has to be known within half a day. */
const GUESS_MAX_S = 6 * 3600
/**
 * While the logbook has no flight at all nobody may ever log a landing, and only the hook-up ends it, some hours later: as
 * long as can be waited and a hose still be known in half a day.
 */
const GUESS_EMPTY_MAX_S = 9 * 3600

export function startUnhooked(): UnhookedMemory {
  return {
    marks: [],
    sinceS: null,
    lastAtS: null,
    jumpAtS: 0,
    hasJumped: false,
    jumpedBelowS: null,
    fromPct: 0,
    fromGm3: 0,
    earlyGm3: null,
    earlyAfterS: 0,
    earlyOfS: 0,
    isGuess: false,
    isSprung: false,
  }
}

/** The pump runs, a gap, or a suspension: what was before says nothing of what comes. */
export function endUnhooked(memory: UnhookedMemory): void {
  if (memory.marks.length > 0) memory.marks = []
  memory.sinceS = null
  memory.hasJumped = false
  memory.jumpedBelowS = null
  memory.isGuess = false
  memory.isSprung = false
}

/**
 * A run is over. Who takes a rig off while its pump runs stops it, and the air leaps from what it was in the run; an outlet
 * may report the stop only after the leap, so it is the driest of the `trail`, the last twenty minutes' readings.
 */
export function restFromRun(memory: UnhookedMemory, trail: UnhookedMemory['marks']): void {
  let driest = trail[0]
  for (const mark of trail) if (mark[2] < (driest?.[2] ?? 0)) driest = mark
  memory.marks = driest === undefined ? [] : [[...driest]]
}

/**
 * So far below the limit no outlet in order starts its pump, % RH: one and a half percent is a cheap hysteresis, four deviations
 * what its own noisy sample may be off by, once in 30,000 looks.
 */
const IDLE_BELOW_PCT = 1.5
export const IDLE_SIGMAS = 4

/** Below this no outlet in order starts its pump, % RH: air that gets past the limit from there was let in. */
export const idleBelowPct = (limits: { readonly startPct: number; readonly sigmaPct: number }): number =>
  limits.startPct - Math.max(IDLE_BELOW_PCT, IDLE_SIGMAS * limits.sigmaPct)

/**
 * Where the pump's state is only inferred, a rig that was taken off looks like a run: the air passes the start limit.
 * It comes from well below, while a pump starts from just under the limit; but a loop that draws hangar air passes it as
 * fast, so nothing is made of it for the wet gate. `recent` are the readings
 * of the last twenty minutes and the one before, oldest first. True when the rig is seen to have been taken off.
 */
export function judgePassing(
  memory: UnhookedMemory,
  recent: readonly (readonly [atS: number, humidityPct: number, densityGm3: number])[],
  limits: { readonly startPct: number; readonly sigmaPct: number },
): boolean {
  const before = recent[0]
  if (before === undefined || before[1] >= idleBelowPct(limits)) return false
  memory.sinceS = before[0]
  memory.isGuess = true
  return true
}

/**
 * The air is back in the band, or it has been too long for a flight: the rig counts as hooked up. `hasFlights`: the logbook
 * has some.
 */
export function settleUnhooked(
  memory: UnhookedMemory,
  { atS, humidityPct }: { readonly atS: number; readonly humidityPct: number },
  limitPct: number,
  hasFlights: boolean,
): void {
  if (memory.sinceS === null) return
  const guessMaxS = hasFlights ? GUESS_MAX_S : GUESS_EMPTY_MAX_S
  const maxS = memory.isGuess ? guessMaxS : UNHOOKED_MAX_S
  if (humidityPct > limitPct && atS - memory.sinceS <= maxS) return
  memory.sinceS = null
  memory.isGuess = false
  memory.isSprung = false
}

/**
 * A pump fills its box with other air within minutes: a few litres at litres a minute. Open hoses let the hangar in at
 * most five times an hour. A first reading after a quarter of an hour, or as late as a hub posts it, tells the two apart
 * halfway between; a value that is only shown again is waited out. It is water that is compared: by noon the same air reads a tenth
 * of its humidity less than an hour before.
 */
const CREEP_AFTER_S = 3600
const CREEP_UNTIL_S = 2 * 3600
const HOSES_PER_S = 5 / 3600

/** The air has sprung from where no pump starts: where nobody reports one, the rig was taken off at `atS`. */
export function takeSpring(memory: UnhookedMemory, atS: number, isInferred: boolean): void {
  memory.isSprung = true
  if (!isInferred) return
  memory.sinceS = atS
  memory.isGuess = true
}

export type CreepPoint = {
  readonly atS: number
  readonly humidityPct: number
  /** The reading differs from the one before. */
  readonly isNew: boolean
  readonly densityGm3: number
  readonly runFromS: number
  /** Last reading before the run; `null` after a gap. */
  readonly fromPct: number | null
  readonly fromGm3: number | null
  readonly sigmaPct: number
}

/**
 * A reading of an inferred run. Where its air has crept up as only open hoses let it, the rig is taken to be off; but an
 * engine that fills through an open cap creeps up too, so nothing is made of it for the wet gate.
 */
export function judgeCreeping(memory: UnhookedMemory, point: CreepPoint): void {
  const intoS = point.atS - point.runFromS
  if (memory.earlyOfS !== point.runFromS) {
    memory.earlyOfS = point.runFromS
    memory.fromPct = point.fromPct ?? point.humidityPct
    memory.fromGm3 = point.fromGm3 ?? point.densityGm3
    memory.earlyGm3 = null
  }
  if (memory.earlyGm3 === null && isEarlyEnough(intoS, point.isNew)) {
    memory.earlyGm3 = point.densityGm3
    memory.earlyAfterS = intoS
  }
  if (memory.earlyGm3 === null || intoS < CREEP_AFTER_S || intoS > CREEP_UNTIL_S) return
  const { fromGm3 } = memory
  const risePct = point.humidityPct - memory.fromPct
  const isRise =
    risePct >= Math.max(RISE_MIN_PCT, RISE_SIGMAS * point.sigmaPct) &&
    point.densityGm3 >= RISE_FACTOR * fromGm3
  if (!isRise) return
  const movedShare = 1 - Math.exp(-HOSES_PER_S * memory.earlyAfterS) / 2
  if (memory.earlyGm3 - fromGm3 >= movedShare * (point.densityGm3 - fromGm3)) {
    // Moved air after all: a pump that draws from the hangar passes the limit as fast. But a sensor that was drawn out, or a box
    // that was opened, is as quick, and no pump had started where such air came from.
    if (memory.isGuess && !memory.isSprung) endUnhooked(memory)
    return
  }
  if (memory.sinceS !== null) return
  memory.sinceS = point.runFromS
  memory.isGuess = true
}

export type RestPoint = {
  readonly atS: number
  readonly humidityPct: number
  readonly densityGm3: number
  /** Above this the pump should have started, % RH. */
  readonly limitPct: number
  readonly sigmaPct: number
  /** The wettest that the hangar's air may be, % RH. */
  readonly wettestPct: number
  /** Since when the pump has rested, s. */
  readonly restsSinceS: number
  /** The density is from a measured temperature: what only cools gains no water. */
  readonly isTempMeasured: boolean
}

/** A box that is closed takes in so much of the difference to its hangar, 1/h; twice that is no closed box. */
export const CLOSED_PER_H = 0.05
/** Neither is less than this between two readings of one sensor, % RH; and some of them are off by two deviations each. */
const RISE_LEAST_PCT = 3
const CLOSED_SIGMAS = 4
/** Of a rise in RH so much may be air that cools; the rest is water. */
const COOLING_SHARE = 0.5
/** So long after a run films and engine are in balance with the box, s; before, they even out, and faster than hoses let air in. */
const EVENED_OUT_S = 2 * 3600
/** A flight's day: air that jumped, stayed below the limit and passes it by then is still that of a rig taken off, s. */
const BELOW_MAX_S = 12 * 3600

/**
 * A sensor that was drawn out of a preheated engine reads drier water in colder air. A box whose pump has stopped cools by the
 * 8 K of its pump and an hour's weather, an engine 30 K above its hangar by 7 K an hour: 12 K within the hour, a factor of 2.2
 * in saturated density from there down, is another place.
 */
const COLDER_FACTOR = 2.2

type Mark = UnhookedMemory['marks'][number]

function hasJumpedFrom([atS, pct, gm3]: Mark, point: RestPoint): boolean {
  const { humidityPct, densityGm3, sigmaPct, limitPct, isTempMeasured } = point
  const risePct = humidityPct - pct
  if (risePct < RISE_SIGMAS * sigmaPct) return false
  const isEvenedOut = atS >= point.restsSinceS + EVENED_OUT_S
  const isFar = humidityPct > limitPct && risePct >= RISE_MIN_PCT
  if (isFar && isTempMeasured && gm3 / pct >= (COLDER_FACTOR * densityGm3) / humidityPct) return true
  if (!isEvenedOut || !isTempMeasured) return isFar && densityGm3 >= RISE_FACTOR * gm3
  const isWater = densityGm3 / gm3 - 1 >= COOLING_SHARE * (humidityPct / pct - 1)
  const closedPct = Math.max(RISE_LEAST_PCT, 2 * CLOSED_PER_H * (point.wettestPct - pct))
  return isWater && risePct >= closedPct + CLOSED_SIGMAS * sigmaPct
}

function hasJumped({ marks }: UnhookedMemory, point: RestPoint): boolean {
  for (const mark of marks) if (hasJumpedFrom(mark, point)) return true
  return false
}

/**
 * A leak lets the air jump too, but then the pump starts: only above the limit and at rest for longer than any outlet is
 * late, s, is the rig surely off.
 */
const SURE_AFTER_S = 2700

/** A reading at rest. True once, when the rig is surely off. */
export function takeRestPoint(memory: UnhookedMemory, point: RestPoint): boolean {
  const { atS, humidityPct, densityGm3, limitPct } = point
  if (memory.sinceS !== null) {
    settleUnhooked(memory, point, limitPct, true)
    if (memory.sinceS === null || atS - memory.jumpAtS < SURE_AFTER_S) return false
    const isFirst = (memory.lastAtS ?? 0) < memory.jumpAtS
    memory.lastAtS = atS
    return isFirst
  }
  const { marks } = memory
  while ((marks[0]?.[0] ?? atS) < atS - WINDOW_S) marks.shift()
  const isJump = hasJumped(memory, point)
  const isGlitch = isJump && !memory.hasJumped
  memory.hasJumped = isJump
  if (isGlitch) return false
  if (isJump) memory.jumpedBelowS ??= marks[0]?.[0] ?? atS
  const { jumpedBelowS } = memory
  if (jumpedBelowS !== null && humidityPct > limitPct && atS - jumpedBelowS <= BELOW_MAX_S) {
    memory.sinceS = jumpedBelowS
    memory.jumpAtS = atS
    memory.jumpedBelowS = null
    memory.marks = []
    return false
  }
  if (atS - (marks.at(-1)?.[0] ?? 0) >= MARK_EVERY_S) marks.push([atS, humidityPct, densityGm3])
  return false
}
