import type { Evidence } from '../fold/outputs.ts'
import type { Moment } from './rule.ts'

/** A probability as an alert keeps it: three places are more than it is good for. */
const shareOf = (probability: number | undefined): number | null =>
  probability === undefined ? null : Math.round(1000 * probability) / 1000

/** What may have lifted the floor, as probabilities for the alert's words. */
export function causeShares(moment: Moment): Evidence {
  const causes = moment.causes()
  return {
    beadsShare: shareOf(causes?.beads),
    leakShare: shareOf(causes?.leak),
    suctionLeakShare: shareOf(causes?.suctionLeak),
    sensorShare: shareOf(causes?.sensor),
  }
}
