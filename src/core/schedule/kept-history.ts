/**
 * Where the past stays as it was told. Readings are removed after their time, what was worked out from them is kept for
 * ever: to tell it anew from less would put gaps where there were days.
 */
import { TELL_WARM_UP_S } from '../limits.ts'

const DAY_S = 86_400

/**
 * From here on results may be told anew: the first midnight (UTC) by which an analysis that begins with the first readings
 * left knows the rig again. 0 where nothing has been removed. `readingsFromS`: readings are complete from here on.
 */
export function toldFromS(readingsFromS: number): number {
  return readingsFromS === 0 ? 0 : Math.ceil((readingsFromS + TELL_WARM_UP_S) / DAY_S) * DAY_S
}
