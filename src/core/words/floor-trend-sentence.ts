import type { FloorTrend } from '../trace/floor-trend.ts'
import { number, plural } from './tongue.ts'

/** Less often by chance than this, and a direction is named; a description only, so the usual one in twenty will do. */
const NAMED_CHANCE = 0.05
const WEEK_S = 7 * 86_400

function oneIn(chance: number): string {
  const times = 1 / Math.max(chance, 1e-4)
  return times > 1000 ? 'under once in a thousand times' : `once in ${number(times, 0)} times`
}

/** Two decimals under a tenth of a percent a week, one above. */
function slopeText(pctPerWeek: number): string {
  return number(pctPerWeek, Math.abs(pctPerWeek) < 0.1 ? 2 : 1)
}

/**
 * "Over 9 weeks the floor that runs head for has risen by 0.3 % RH a week (0.2 to 0.4); chance alone would look so
 * once in 400 times." Where no direction is clear it says that, with the limits. Limits are 95 %. It describes and calls
 * for nothing: what alarms is the run-time ratio and the ledger. `null` while there are too few weeks.
 */
export function floorTrendSentence(trend: FloorTrend | null): string | null {
  if (trend === null) return null
  const { low, mid, high } = trend.pctPerWeek
  const weeks = `Over ${plural(Math.max(1, Math.round((trend.toS - trend.fromS) / WEEK_S)), 'week')}`
  if (trend.chance >= NAMED_CHANCE || mid === 0)
    return `${weeks} the floor that runs head for shows no clear trend (between ${slopeText(low)} and ${slopeText(high)} % RH a week).`
  const [way, from, to] = mid > 0 ? (['risen', low, high] as const) : (['fallen', -high, -low] as const)
  return (
    `${weeks} the floor that runs head for has ${way} by ${slopeText(Math.abs(mid))} % RH a week ` +
    `(${slopeText(from)} to ${slopeText(to)}); chance alone would look so ${oneIn(trend.chance)}.`
  )
}
