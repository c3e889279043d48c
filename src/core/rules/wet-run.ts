import { vapourDensityGm3 } from '../air/vapour.ts'
import { hangarGm3 } from './ingress-window.ts'
import type { EndedRun, Moment } from './rule.ts'

/**
 * Air that an hour of open hoses lets in and a closed box does not, % RH, or six sigma; and what is no longer just under a
 * limit.
 */
const FAR_PCT = 8
const FAR_SIGMAS = 6
const BELOW_PCT = 1.5
const BELOW_SIGMAS = 4
/**
 * A leak fills the engine ahead of the box, so that its runs begin with a surge to twice the limit and more; but long before
 * the engine is three times as wet as the limit, or halfway from there to wet air, the box is at it.
 */
const FLOWN_TIMES = 3
const FLOWN_SHARE = 0.5

/** What gets in is hangar air: no leak makes the engine's air wetter. Some hours' weather and two sensors lie between them. */
const WETTER_TIMES = 1.25

function isWetterThanHangar(run: EndedRun, pct: number, moment: Moment): boolean {
  const hangar = hangarGm3(moment)
  const tempC = run.tempC ?? moment.metalTempC
  if (hangar === null || tempC === null) return false
  // A stated climate has a mean humidity and a mean dew point: on a cold day the second lets in more, on a warm one the first.
  const wettest = Math.max(hangar, moment.ambientGm3 ?? hangar)
  return vapourDensityGm3(pct, tempC) > WETTER_TIMES * wettest
}

/**
 * An outlet starts its pump at the limit, however fast the air gets there. A run that began far above it, whose air got wet
 * only in its course or was wetter than the hangar's, or that is only inferred and passed the limit from well below, was a
 * flight that nobody wrote down.
 */
function isFromElsewhere(run: EndedRun, moment: Moment): boolean {
  const { startPct, peakPct, topPct } = run
  if (startPct === null || peakPct === null) return false
  const { sigmaPct } = moment.sensor
  const limitPct = moment.settings.band.startPct
  const marginPct = Math.max(FAR_PCT, FAR_SIGMAS * sigmaPct)
  const farPct = limitPct + marginPct
  if (startPct > Math.max(farPct, moment.switchStartPct + FAR_PCT)) return true
  // What climbs once the surge is over was no surge.
  if (topPct > Math.max(farPct, peakPct + marginPct)) return true
  const isBelow = startPct < limitPct - Math.max(BELOW_PCT, BELOW_SIGMAS * sigmaPct)
  const flownPct = Math.min(FLOWN_TIMES * limitPct, limitPct + FLOWN_SHARE * (100 - limitPct))
  if (peakPct <= Math.max(farPct, flownPct)) return false
  return (moment.pump.basis === 'inferred' && isBelow) || isWetterThanHangar(run, peakPct, moment)
}

/** A flight's water was in the run: the stretch right after one, the wet plateau, or a rig back from where nobody said. */
export function isWetRun(run: EndedRun, moment: Moment): boolean {
  const isPlateau = !run.isWhole && (run.peakPct ?? 0) > 1.5 * moment.settings.band.startPct
  return run.afterFlight || isPlateau || isFromElsewhere(run, moment)
}
