/** What the meter of this outlet shows at rest and in a run, W, and how many readings stand behind either. */
export type Levels = { lowW: number; highW: number; lowCount: number; highCount: number }

export function startLevels(): Levels {
  return { lowW: 0, highW: 0, lowCount: 0, highCount: 0 }
}

/** Power that counts as on where the owner has not said, W: above what an idle outlet draws, below any air pump. */
const USUAL_ON_W = 1
/**
 * Owners enter what counts as on, or what is printed on the pump, and a meter shows less than that or swings about it. The
 * smallest pumps draw 2 W, so up to here it is a limit, W; of more, half, until the meter has shown its two levels.
 */
const LIMIT_MAX_W = 1.5
const STATED_SHARE = 0.5
/** Readings at each level before both are believed. */
const LEVEL_MIN = 12
/** A level follows its readings within a dozen; one that is not seen is forgotten in weeks: a pump is exchanged. */
const LEVEL_GAIN = 0.1
const FORGET_GAIN = 1e-4
/** A pump that is on counts as on down to this share of the limit, but an idle outlet does not. */
const HOLDS_SHARE = 0.8

function takeLevel(levels: Levels, powerW: number): void {
  if (levels.lowCount + levels.highCount === 0) levels.lowW = powerW
  const { lowW, highW } = levels
  if (powerW > Math.max(lowW + USUAL_ON_W, (lowW + highW) / 2)) {
    levels.highW = levels.highCount === 0 ? powerW : highW + LEVEL_GAIN * (powerW - highW)
    levels.highCount = Math.min(LEVEL_MIN, levels.highCount + 1)
  } else {
    levels.lowW += LEVEL_GAIN * (powerW - lowW)
    levels.lowCount = Math.min(LEVEL_MIN, levels.lowCount + 1)
    if (levels.highCount > 0) levels.highW -= FORGET_GAIN * (highW - lowW)
  }
}

/** Above this the pump runs, W: never more than what was stated. */
function limitW({ lowW, highW, lowCount, highCount }: Levels, saidW: number): number {
  const areSeen = lowCount >= LEVEL_MIN && highCount >= LEVEL_MIN
  const betweenW = areSeen ? (lowW + highW) / 2 : STATED_SHARE * saidW
  return Math.min(saidW, Math.max(LIMIT_MAX_W, betweenW))
}

/** Whether a metered power, W, is that of a pump that runs; `statedW` is the owner's `pumpOnW`. Takes it into the levels. */
export function takeMetered(levels: Levels, powerW: number, wasOn: boolean, statedW: number | null): boolean {
  const saidW = statedW ?? USUAL_ON_W
  // A stalled motor draws twice its power: above what was stated all is on.
  takeLevel(levels, Math.min(powerW, saidW))
  const onW = limitW(levels, saidW)
  return powerW > (wasOn ? Math.min(onW, Math.max(USUAL_ON_W, HOLDS_SHARE * onW)) : onW)
}
