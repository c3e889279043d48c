/** Water that a wet flight leaves, g (common practice, no published source). */
export const WET_FLIGHT_G = 10
/** Water an engine holds after a flight at the very most, g: that of four wet ones (argued, no published source). */
export const WATER_MAX_G = 4 * WET_FLIGHT_G
/** So many flights have to be known before they say anything of the next. */
const FLIGHTS_MIN = 2
/**
 * So many times the largest is exceeded once in sixty flights: those of one engine differ by x/ 1.6 to x/ 2 (log-normal), for
 * which the next exceeds 2.9 to 4.6 times the larger of two, 2.2 to 2.9 times the largest of four, 1.8 to 2.4 times that of
 * six.
 */
const FACTOR_LEAST = 2
const factorOf = (flights: number) => Math.max(FACTOR_LEAST, 1 + 6 / flights)

/**
 * Water that may be pumped out of a wet engine before air that is still wet is no plateau, g, from how many flights' water is
 * known and the largest of it, g.
 */
export function waterBudgetG(known: { readonly flightsKnown: number; readonly largestG: number }): number {
  const { flightsKnown, largestG } = known
  if (flightsKnown < FLIGHTS_MIN) return WATER_MAX_G
  const mostG = Math.max(WATER_MAX_G, FACTOR_LEAST * largestG)
  return Math.min(mostG, Math.max(WET_FLIGHT_G, factorOf(flightsKnown) * largestG))
}

/** What the next of a rig's flights exceeds once in sixty, in whatever goes with its water; `null` until two are known. */
export function longestOf(known: readonly number[]): number | null {
  return known.length < FLIGHTS_MIN ? null : factorOf(known.length) * Math.max(...known)
}
