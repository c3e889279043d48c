import { rounded } from '../stats/rounded.ts'
import {
  EVIDENCE_KINDS,
  type EnsembleMemory,
  type EvidenceKind,
  memberExitPct,
  normalise,
  priorWeight,
  WEIGHT_DECIMALS,
} from './ensemble.ts'

/** Student's t with 4 degrees of freedom, 1 at its middle: how likely a misfit of `z` scales is. */
export const studentLikelihood = (z: number): number => (1 + (z * z) / 4) ** -2.5

/**
 * Weighs the members by one kind of evidence: how far each member's prediction is from what was seen, in units of its
 * scale; Student's t with 4 degrees of freedom. The newest evidence of a kind takes the place of the one before: most of
 * its error (films, season, sensor offset) stays the same from one to the next, so a product would claim what it cannot.
 * `wetShare`: the probability that water in the engine has lifted what was seen, by any amount.
 */
export function weigh(
  ensemble: EnsembleMemory,
  kind: EvidenceKind,
  misfit: (member: number) => number,
  wetShare = 0,
): void {
  ensemble.evidence[kind] = ensemble.weights.map((_, member) => {
    const z = misfit(member)
    const dry = studentLikelihood(z)
    // No member dies for good: evidence can turn, and the sum must not vanish.
    return rounded((z > 0 ? wetShare + (1 - wetShare) * dry : dry) + 1e-4, WEIGHT_DECIMALS)
  })
  weighAnew(ensemble)
}

/** What was seen of one kind no longer counts. */
export function forgetEvidence(ensemble: EnsembleMemory, kind: EvidenceKind): void {
  delete ensemble.evidence[kind]
  weighAnew(ensemble)
}

function weighAnew(ensemble: EnsembleMemory): void {
  for (let member = 0; member < ensemble.weights.length; member++) {
    ensemble.weights[member] = weightBy(ensemble, member, EVIDENCE_KINDS)
  }
  normalise(ensemble)
}

/** Weight of a member by its prior and so much of the evidence; not normalised. */
export function weightBy(ensemble: EnsembleMemory, member: number, kinds: readonly EvidenceKind[]): number {
  const shapes = ensemble.counts.length
  let weight = priorWeight(Math.floor(member / shapes), ensemble.shares[member % shapes] ?? 0)
  for (const kind of kinds) weight *= ensemble.evidence[kind]?.[member] ?? 1
  return weight
}

/** Probability that the exit air lies above `limitPct`, % RH at `tempC`; and what the ledger alone makes of it. */
export function exitOverShare(
  ensemble: EnsembleMemory,
  limitPct: number,
  tempC: number,
): { readonly share: number; readonly byLedger: number } {
  let share = 0
  let over = 0
  let all = 0
  for (let member = 0; member < ensemble.weights.length; member++) {
    const unseen = weightBy(ensemble, member, [])
    all += unseen
    if (memberExitPct(ensemble, member, tempC) <= limitPct) continue
    share += ensemble.weights[member] ?? 0
    over += unseen
  }
  return { share, byLedger: over / all }
}
