/**
 * How water reaches the beads of one rig: grams a flight, grams an idle day, days between flights. Both ways are
 * learned from the rig; either may dominate.
 */
export type UptakeMemory = {
  /** Fading sums of the water of whole flights, g, and their count. */
  flightG: number
  flightCount: number
  /** The same sum of squares, g2: how much flights differ. */
  flightSquares: number
  /** All water since the last flight, g, `null` where not all of it was counted; fading sum of the same from one flight to the next, and their count. */
  sinceFlightG: number | null
  betweenG: number
  betweenCount: number
  /** Fading sums of idle water, g, and idle time, days. */
  idleG: number
  idleDays: number
  fadedDay: number
  /** Fading sums of the water that came in wet air and in air near the band, g, and of the same times its RH, g %. */
  wetG: number
  wetSum: number
  dryG: number
  drySum: number
  /** Of the water of flights, what came in wet air. */
  flightWetG: number
  /** Days between the last flights, newest last. */
  intervals: number[]
  lastFlightS: number | null
  /** The days after a flight in which what comes out is the flight's. */
  window: { fromS: number; takenG: number; wetG: number; knownH: number } | null
}

/** Water of a flight before any is known, g: median of a factor of two either way. */
const FLIGHT_PRIOR_G = 6
/** Scatter of one flight's water about its mean, as a share, before it is known; as if seen on so many flights. */
const FLIGHT_SCATTER = 0.6
const SCATTER_PRIOR_FLIGHTS = 3
/** Old flights fade: about the last twelve count. */
const FLIGHTS_KEPT = 12
/** Idle uptake before it is known, g/day, as if seen for one day: a sealed engine in a temperate hangar. */
const IDLE_PRIOR_G = 0.3
const IDLE_PRIOR_DAYS = 1
/** Idle uptake follows the season: half of it is forgotten in 30 days. */
const IDLE_HALF_DAYS = 30
/** Scatter of one idle day about the mean, as a share; neighbouring days are alike, so it averages slowly. */
const IDLE_SCATTER = 0.8
/** Films and oil give back a flight's water over days. */
const WINDOW_S = 4 * 86_400
const INTERVALS_KEPT = 10
/** Days between flights before two are known, as one interval seen. */
export const INTERVAL_PRIOR_DAYS = 14
const INTERVAL_SCATTER = 0.6
const DAY_S = 86_400

export function startUptake(): UptakeMemory {
  return {
    flightG: 0,
    flightCount: 0,
    flightSquares: 0,
    sinceFlightG: null,
    betweenG: 0,
    betweenCount: 0,
    idleG: 0,
    idleDays: 0,
    fadedDay: 0,
    wetG: 0,
    wetSum: 0,
    dryG: 0,
    drySum: 0,
    flightWetG: 0,
    intervals: [],
    lastFlightS: null,
    window: null,
  }
}

/** Idle water, g/day; none where dry air has taken more out of the beads than wet air brought. */
export function idleGPerDay(memory: UptakeMemory): number {
  return Math.max(0, memory.idleG + IDLE_PRIOR_G * IDLE_PRIOR_DAYS) / (memory.idleDays + IDLE_PRIOR_DAYS)
}

/**
 * Mean water of a flight, g. The first one counts as soon as it has brought more than was thought: the prior is a guess, and
 * the days until it is whole are those in which a small load may be used up.
 */
export function gPerFlight(memory: UptakeMemory): number {
  const soFarG = memory.window?.takenG ?? 0
  if (memory.flightCount < 1 && soFarG > FLIGHT_PRIOR_G) return (soFarG + FLIGHT_PRIOR_G) / 2
  return (memory.flightG + FLIGHT_PRIOR_G) / (memory.flightCount + 1)
}

/**
 * All water from one flight to the next, g: the flight's own and what idle days add, without having to tell them apart. As
 * many intervals as were seen, and the sum of the two parts as one more.
 */
export function gBetweenFlights(memory: UptakeMemory, everyDays: number): number {
  const partsG = gPerFlight(memory) + idleGPerDay(memory) * everyDays
  return (memory.betweenG + partsG) / (memory.betweenCount + 1)
}

/** How wet the air is that water arrives in: beads hold more from wet air. A gram or two stand for what is not known. */
export type ArrivalAir = {
  /** Share of a flight's water that comes in wet air. */
  readonly wetShare: number
  /** Share of all water that does, for a rig in whose logbook no flight is. */
  readonly wetShareOfAll: number
  readonly wetPct: number
  readonly dryPct: number
}

/**
 * Of the water of a flight. Gas, films and oil of 45 L hold 0.7 g and about four times as much again at saturation, and give
 * half of it in air below the limit: 1.5 to 2 g of 6 come late. The rest is liquid and evaporates at the plateau.
 */
const WET_PRIOR_SHARE = 0.75
const WET_PRIOR_PCT = 90
const ARRIVAL_PRIOR_G = 2

/**
 * What is not known yet is as if one flight after a usual interval had been seen: an engine that has not flown in the first
 * days of its rig will, and a column that is told from leakage alone is told half as large as it is.
 */
export function arrivalAir(memory: UptakeMemory, bandMiddlePct: number): ArrivalAir {
  const prior = ARRIVAL_PRIOR_G
  const { wetG, dryG } = memory
  const oneG = FLIGHT_PRIOR_G + IDLE_PRIOR_G * INTERVAL_PRIOR_DAYS
  return {
    wetShare: (memory.flightWetG + WET_PRIOR_SHARE * prior) / (memory.flightG + prior),
    wetShareOfAll: (wetG + WET_PRIOR_SHARE * FLIGHT_PRIOR_G) / (wetG + dryG + oneG),
    wetPct: (memory.wetSum + WET_PRIOR_PCT * prior) / (wetG + prior),
    dryPct: (memory.drySum + bandMiddlePct * prior) / (dryG + prior),
  }
}

/** Days between flights; `null` while none was logged. A pause longer than usual counts as an interval. */
export function flightEveryDays(memory: UptakeMemory, atS: number): number | null {
  if (memory.lastFlightS === null) return null
  let sum = INTERVAL_PRIOR_DAYS
  let count = 1
  for (const days of memory.intervals) {
    sum += days
    count += 1
  }
  const pauseDays = (atS - memory.lastFlightS) / DAY_S
  return pauseDays > sum / count ? (sum + pauseDays) / (count + 1) : sum / count
}

/** Error of ln(uptake per time at this pace), one standard deviation. */
export function uptakeLnSd(memory: UptakeMemory): {
  readonly flight: number
  readonly idle: number
  readonly every: number
} {
  return {
    flight: oneFlightScatter(memory) / Math.sqrt(memory.flightCount + 1),
    idle: Math.max(0.15, IDLE_SCATTER / Math.sqrt(1 + memory.idleDays / 3)),
    every: INTERVAL_SCATTER / Math.sqrt(memory.intervals.length + 1),
  }
}

/** The scatter of a single flight about this rig's mean, as a share: the next few flights average over it. */
export function oneFlightScatter(memory: UptakeMemory): number {
  const { flightG, flightSquares, flightCount } = memory
  if (flightCount < 1 || !(flightG > 0)) return FLIGHT_SCATTER
  const meanG = flightG / flightCount
  const seen = Math.max(0, flightSquares / flightCount - meanG * meanG) / (meanG * meanG)
  const prior = SCATTER_PRIOR_FLIGHTS
  return Math.sqrt((prior * FLIGHT_SCATTER ** 2 + flightCount * seen) / (prior + flightCount))
}

function closeWindow(memory: UptakeMemory): void {
  const { window } = memory
  memory.window = null
  if (window === null || window.knownH < 12) return
  const flightG = Math.max(0.1, window.takenG - (idleGPerDay(memory) * window.knownH) / 24)
  const keep = Math.min(1, (FLIGHTS_KEPT - 1) / Math.max(1, memory.flightCount))
  memory.flightG = memory.flightG * keep + flightG
  memory.flightSquares = memory.flightSquares * keep + flightG * flightG
  memory.flightWetG = memory.flightWetG * keep + Math.min(flightG, window.wetG)
  memory.flightCount = memory.flightCount * keep + 1
}

function takeBetween(memory: UptakeMemory, grams: number): void {
  const keep = Math.min(1, (FLIGHTS_KEPT - 1) / Math.max(1, memory.betweenCount))
  memory.betweenG = memory.betweenG * keep + Math.max(0, grams)
  memory.betweenCount = memory.betweenCount * keep + 1
}

export function takeFlightUptake(memory: UptakeMemory, atS: number): void {
  closeWindow(memory)
  if (memory.lastFlightS !== null) {
    memory.intervals.push((atS - memory.lastFlightS) / DAY_S)
    if (memory.intervals.length > INTERVALS_KEPT) memory.intervals.shift()
    if (memory.sinceFlightG !== null) takeBetween(memory, memory.sinceFlightG)
  }
  memory.lastFlightS = atS
  memory.sinceFlightG = 0
  memory.window = { fromS: atS, takenG: 0, wetG: 0, knownH: 0 }
}

/** Air over this carries water that evaporates, % RH; under it, what films, oil and leaks give to a dry engine. */
const WET_AIR_PCT = 50

export const isWetAir = (inPct: number): boolean => inPct >= WET_AIR_PCT

/** Water between two flights, g, however it is known. */
export function addSinceFlight(memory: UptakeMemory, grams: number): void {
  if (memory.sinceFlightG !== null) memory.sinceFlightG += grams
}

/** Water that the beads took up from air of `inPct` RH, g. Returns whether it was a flight's. */
export function takeUptake(memory: UptakeMemory, grams: number, inPct: number): boolean {
  addSinceFlight(memory, grams)
  const isWet = isWetAir(inPct)
  // Water that dry air takes back out of the beads arrives in no air: as a negative weight it would bend the mean.
  const arrivedG = Math.max(0, grams)
  if (isWet) {
    memory.wetG += arrivedG
    memory.wetSum += arrivedG * inPct
  } else {
    memory.dryG += arrivedG
    memory.drySum += arrivedG * inPct
  }
  if (memory.window !== null) {
    if (isWet) memory.window.wetG += grams
    memory.window.takenG += grams
    return true
  }
  memory.idleG += grams
  return false
}

/**
 * Time that passed with the rig on and heard, h; closes the flight's days and fades what is old. `isCounted`: there is a
 * flow to count its water by. Without one the time says nothing: no water in it would be learned as a dry rig.
 */
export function passUptakeTime(memory: UptakeMemory, atS: number, hours: number, isCounted: boolean): void {
  if (!isCounted) {
    memory.window = null
    memory.sinceFlightG = null
  } else if (memory.window === null) memory.idleDays += hours / 24
  else {
    memory.window.knownH += hours
    if (atS - memory.window.fromS >= WINDOW_S) closeWindow(memory)
  }
  const day = Math.floor(atS / DAY_S)
  if (day === memory.fadedDay) return
  memory.fadedDay = day
  const keep = 0.5 ** (1 / IDLE_HALF_DAYS)
  memory.idleG *= keep
  memory.idleDays *= keep
  memory.wetG *= keep
  memory.wetSum *= keep
  memory.dryG *= keep
  memory.drySum *= keep
}

/** All water so far was `factor` times what was counted. */
export function restateUptake(memory: UptakeMemory, factor: number): void {
  memory.flightG *= factor
  memory.flightSquares *= factor * factor
  memory.flightWetG *= factor
  if (memory.sinceFlightG !== null) memory.sinceFlightG *= factor
  memory.betweenG *= factor
  memory.idleG *= factor
  memory.wetG *= factor
  memory.wetSum *= factor
  memory.dryG *= factor
  memory.drySum *= factor
  if (memory.window === null) return
  memory.window.takenG *= factor
  memory.window.wetG *= factor
}
