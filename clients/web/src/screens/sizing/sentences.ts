/** What the model says, in sentences and in ranges. */
import type { Interval, OpenInterval, Sizing } from '../../shapes.ts'
import { number } from '../../units.ts'

/** Under one in a hundred is not worth a sentence. */
const toldFrom = 0.01

/** A loop whose air does not come down to where the pump stops: said before anything else. `null` where it does. */
export function restlessSentence({ neverRestsShare, settlesPct, runMin }: Sizing): string | null {
  const why = 'the air settles at or above the limit at which the pump stops'
  const mend = 'Less leakage, a stronger pump or a higher limit to stop at would change that.'
  if (runMin.mid === null)
    return `This loop never rests: with the pump always on ${why}, at about ${number(settlesPct.mid, 1)}\u202f%. ${mend}`
  if (neverRestsShare < toldFrom) return null
  return `Of a hundred such rigs about ${number(100 * neverRestsShare, 0)} would never rest: ${why}. ${mend}`
}

export function fillSentence({ flightsPerFill, daysPerFill, dryDownH }: Sizing): string {
  if (flightsPerFill === null) return `About ${number(daysPerFill.mid, 0)} days from bake to bake.`
  const flights = `About ${number(flightsPerFill.mid, 0)} flights from bake to bake`
  return dryDownH === null || dryDownH.mid === null
    ? `${flights}.`
    : `${flights}, and dry again ${number(dryDownH.mid, 0)} hours after each.`
}

/** "26 (14 to 61) min"; an end that is not there is said in words. `null` where there is nothing to say. */
export function range(value: Interval | OpenInterval | null, unit: string): string | null {
  if (value === null) return null
  const { low, mid, high } = value
  if (low === null) return 'without end'
  const tail = unit === '' ? '' : ` ${unit}`
  const digits = (mid ?? low) < 10 ? 1 : 0
  const from = number(low, digits)
  if (mid === null) return `${from}${tail} or more, most often without end`
  const to = high === null ? 'without end' : `to ${number(high, digits)}`
  return `${number(mid, digits)} (${from} ${to})${tail}`
}
