/** When the shape of a rise shows, s: by then moved air has arrived, and air that creeps has not. */
export const EARLY_AFTER_S = 900
/** A hub that posts its last value again shows at first what was there a quarter of an hour before: a new one is waited for, s. */
const EARLY_AT_LAST_S = 1800

/**
 * Whether a reading `sinceS` into a rise may stand for its first quarter of an hour, s. `isNew`: it differs from the one before.
 */
export function isEarlyEnough(sinceS: number, isNew: boolean): boolean {
  return sinceS >= (isNew ? EARLY_AFTER_S : EARLY_AT_LAST_S)
}
