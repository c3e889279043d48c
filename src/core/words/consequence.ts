import type { Say } from './say.ts'
import { pct, span } from './tongue.ts'

/**
 * The consequence that an urgency was judged from: " Left alone, the air at ..."; empty where nothing is known. The time is the
 * urgency's own, from the upper end of what may get in: told as what it is, for most rigs take longer.
 */
export function consequence(say: Say): string {
  const metalPct = say.number('metalPct')
  const t40H = say.number('t40H')
  if (metalPct === null) return ''
  if (t40H === 0)
    return ` The air at the coldest metal is at about ${pct(Math.min(100, Math.round(metalPct)))} and not drying.`
  const limitPct = say.number('metalLimitPct')
  if (t40H === null) {
    return limitPct === null
      ? ''
      : ` In this hangar air the coldest metal stays under 40 % (about ${pct(limitPct)} at most).`
  }
  // The evidence is of the day; whoever reads it later has less time left.
  const atS = say.number('passes40AtS')
  const leftH = atS === null ? t40H : (atS - say.nowS) / 3600
  return leftH <= 0
    ? ' Left alone, the air at the coldest metal may be past 40 % by now.'
    : ` Left alone, the air at the coldest metal passes 40 % in ${span(leftH)} at the earliest.`
}

/** What the consequence rests on, where it was not measured. */
export function assumedFor(say: Say): readonly string[] {
  const assumed = say.text('assumed')
  return assumed === null ? [] : [`The hangar air: taken from ${assumed}.`]
}

export function noTemperature(say: Say): readonly string[] {
  return say.number('tempC') === null ? ['The temperature: humidity was judged as if it never changed.'] : []
}

export function pumpSource(say: Say): readonly string[] {
  const basis = say.text('pumpBasis')
  if (basis === 'inferred') return ['Whether the pump has power: its runs are inferred from the humidity.']
  return basis === 'power' ? [] : ['Whether the motor turns: the outlet says only that it is on.']
}

/** Beads, leak, sensor: the likeliest cause at 0.8 probability or more, else what would tell. */
export function causesByShare(say: Say): readonly string[] {
  const shares = [
    { cause: 'The beads are nearly used up', share: say.number('beadsShare') },
    { cause: 'An engine leak: a plug, a cap, a seal', share: say.number('leakShare') },
    { cause: 'A leak on the suction side, between engine and pump', share: say.number('suctionLeakShare') },
    { cause: 'The sensor reads high', share: say.number('sensorShare') },
  ]
  const known = shares.filter((s): s is { cause: string; share: number } => s.share !== null)
  if (known.length === 0) {
    return ['The beads are nearly used up.', 'A leak on the suction side, or the sensor reading high.']
  }
  known.sort((a, b) => b.share - a.share)
  const said = known
    .filter((s) => s.share >= 0.05)
    .map((s) => `${s.cause} (${Math.round(s.share * 100)} in 100).`)
  const best = known[0]
  return best !== undefined && best.share >= 0.8 ? said : ["Can't tell yet which of these it is.", ...said]
}

export const WHAT_TELLS =
  'A loop test (beads straight to the sensor for 15 minutes) tells beads from leaks, a salt check tells the sensor, a floor check after a full bake tells both.'
