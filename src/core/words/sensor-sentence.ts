import type { SensorMemory } from '../fold/sensor-memory.ts'
import type { Correction } from '../sensor/correction.ts'
import { SALT_CHECK_MIN_S, SALT_OFFSET_MAX_PCT, type SensorPoint } from '../sensor/salt-check.ts'
import { date, number, pct, type Tongue } from './tongue.ts'

/** Why a salt check was not taken. */
const REFUSED: Readonly<Record<string, string>> = {
  too_short: `it was shorter than ${SALT_CHECK_MIN_S / 3600} hours`,
  temperature_out_of_range: 'no value of this salt is published for its temperature',
  not_steady: 'the humidity was not steady over its last two hours',
  temperature_drifts: 'the temperature was not steady over its last two hours',
  too_far_off: `the sensor was more than ${SALT_OFFSET_MAX_PCT} % off: another salt, a pot without crystals, or a broken sensor`,
  unknown_salt: 'the entry does not say which salt it was',
  nothing_shown: 'nobody entered what the sensor showed or how warm it was, and no reading tells',
}

/** Why of two good checks the newer alone counts. */
const ALONE: Readonly<Record<string, string>> = {
  points_too_close: 'The salts are too near to each other for a line: the newest alone counts.',
  slope_out_of_range: 'No sensor in order shows both salts so: the newest alone counts.',
}

/**
 * What the salt checks of the return sensor came to: "The salt check of 3 March was accepted: the sensor showed 13.1 %
 * where the salt has 11.3 %. Readings are corrected by -1.8 %." `null` where there was none since it was put in.
 */
export function sensorSentence(
  { points, correction, refusal }: Pick<SensorMemory, 'points' | 'correction' | 'refusal'>,
  tongue: Tongue,
  nowS: number,
): string | null {
  const newest = points.at(-1)
  const why = refusal === null ? undefined : REFUSED[refusal]
  if (why !== undefined) {
    const still =
      newest === undefined
        ? 'Nothing is corrected.'
        : `The one of ${date(newest.atS, tongue, nowS)} holds on. ${corrected(correction)}`
    return `The last salt check was not accepted: ${why}. ${still}`
  }
  if (newest === undefined) return null
  const alone = refusal === null ? undefined : ALONE[refusal]
  return [accepted(newest, tongue, nowS), alone, corrected(correction)]
    .filter((part) => part !== undefined)
    .join(' ')
}

function accepted({ atS, shownPct, truePct }: SensorPoint, tongue: Tongue, nowS: number): string {
  return `The salt check of ${date(atS, tongue, nowS)} was accepted: the sensor showed ${pct(shownPct)} where the salt has ${pct(truePct)}.`
}

function corrected(correction: Correction): string {
  if (correction.kind === 'none') return 'Nothing is corrected: so wet a salt only confirms the sensor.'
  if (correction.kind === 'line') return 'Readings are corrected by a line through two salts.'
  const { shownPct, truePct } = correction.point
  const byPct = truePct - shownPct
  return `Readings are corrected by ${byPct > 0 ? '+' : ''}${number(byPct, 1)} %.`
}
