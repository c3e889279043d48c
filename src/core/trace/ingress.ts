import { median } from '../stats/quantile.ts'
import { rounded } from '../stats/rounded.ts'

/**
 * Ingress of hangar air during a rest: lambda = ln[(rho_amb - rho_end)/(rho_amb - rho_0)]/t, 1/h, the well-mixed box.
 * `endGm3` is the air at the end of one run, `laterGm3` the engine's air at the start of the next. Not clipped at zero:
 * a warm engine siphons dry air through a pump without valves. `null` where the ambient air is too near or too dry to
 * tell, or the rest is shorter than a quarter of an hour.
 */
export function ingressPerH(rest: {
  readonly ambientGm3: number
  readonly endGm3: number
  readonly laterGm3: number
  readonly hours: number
}): number | null {
  const { ambientGm3, endGm3, laterGm3, hours } = rest
  const before = ambientGm3 - endGm3
  const after = ambientGm3 - laterGm3
  // Within a tenth of ambient the logarithm only measures the error of the ambient value.
  if (hours < 0.25 || !(before > 0.1 * ambientGm3) || !(after > 0.1 * ambientGm3)) return null
  return Math.log(before / after) / hours
}

/**
 * Vapour density that the same water would have at another temperature, g/m3. In a sealed engine walls, hoses and oil
 * give and take: what stays is x (rho_s(T) + r rho_s(15 degC)), r the rig's sorption ratio.
 */
export function movedGm3(
  densityGm3: number,
  from: { readonly saturationGm3: number },
  to: { readonly saturationGm3: number },
  sorption: { readonly ratio: number; readonly saturation15Gm3: number },
): number {
  const bound = sorption.ratio * sorption.saturation15Gm3
  return (
    densityGm3 *
    ((from.saturationGm3 + bound) / from.saturationGm3) *
    (to.saturationGm3 / (to.saturationGm3 + bound))
  )
}

/** Ingress per cycle, kept apart by days since the last flight: films give off water for days and look like a leak. */
export type IngressMemory = {
  /** Lists for under 3, 3 to 7 and over 7 days since a flight; the first 28 days. */
  first: [number[], number[], number[]]
  reference: [number | null, number | null, number | null]
  fromS: number
  /** The last eight, whatever the class. */
  last: number[]
}

const DAY_S = 86_400
const LEARNING_S = 28 * DAY_S
const FIRST_MAX = 40
const LAST_MAX = 8
const REFERENCE_MIN = 4

export function startIngress(atS: number): IngressMemory {
  return { first: [[], [], []], reference: [null, null, null], fromS: atS, last: [] }
}

export function flightClass(daysSinceFlight: number | null): 0 | 1 | 2 {
  if (daysSinceFlight === null || daysSinceFlight > 7) return 2
  return daysSinceFlight < 3 ? 0 : 1
}

export function takeIngress(
  memory: IngressMemory,
  atS: number,
  perH: number,
  daysSinceFlight: number | null,
): void {
  const kept = rounded(perH, 6)
  memory.last.push(kept)
  if (memory.last.length > LAST_MAX) memory.last.shift()
  const kind = flightClass(daysSinceFlight)
  const first = memory.first[kind]
  const isLearning = atS - memory.fromS <= LEARNING_S || first.length < REFERENCE_MIN
  if (!isLearning || first.length >= FIRST_MAX) return
  first.push(kept)
  memory.reference[kind] = first.length < REFERENCE_MIN ? null : median(first)
}

/** The rig's own ingress, 1/h, for the class of days since a flight; the longest class where that one is not learned. */
export function referencePerH(memory: IngressMemory, daysSinceFlight: number | null): number | null {
  return memory.reference[flightClass(daysSinceFlight)] ?? memory.reference[2]
}

/** Scatter of one cycle's ingress about the rig's own, ln: weather and films. */
const CYCLE_LN_SD = 0.4
/** Air that gets in at less than a tenth of the rig's own is as much as none. */
const LEAST_SHARE = 0.1

/** ln of the ingress of the last cycles over the rig's own, with its standard error; `null` until both are known. */
export function ingressChange(
  memory: IngressMemory,
  daysSinceFlight: number | null,
): { readonly mid: number; readonly se: number } | null {
  const own = referencePerH(memory, daysSinceFlight)
  const recent = memory.last.length < REFERENCE_MIN ? null : median(memory.last)
  if (own === null || recent === null || !(own > 0)) return null
  // A median scatters by a quarter more than a mean.
  return {
    mid: Math.log(Math.max(LEAST_SHARE, recent / own)),
    se: (1.25 * CYCLE_LN_SD) / Math.sqrt(memory.last.length),
  }
}
