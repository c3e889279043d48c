import { weigh } from '../beads/ensemble-evidence.ts'
import { bedOf, type EnsembleMemory, memberTakenG, SCALE_PRIOR } from '../beads/ensemble.ts'
import { restateUptake } from '../beads/uptake.ts'
import type { BeadsMemory } from './fill-memory.ts'

/** Error of a kitchen or luggage scale on a difference: 5 g, with what hands, lids and hoses add, and 2 %. */
export const SCALE_SD_G = 5
export const SCALE_SD_SHARE = 0.02
/** What one fill's ledger is off beside the flow, ln, before this rig's weighings have shown it; as if seen on so many. */
const LEDGER_SCATTER = 0.08
const SCATTER_PRIOR_COUNT = 2
/**
 * One bake in ten is entered by nobody: the scale then shows any part of what the ledger has counted, none of them likelier than
 * another, which is exp(ln) of its logarithm.
 */
const UNLOGGED_SHARE = 0.1
/** One weighing in fifty is of another jar, without its lid, or a slip of the pen: off by a factor of two or three either way. */
const SLIP_SHARE = 0.02
const SLIP_LN_SD = Math.log(2)
const RATIO_LN_MAX = 1
const FLOW_SD_MIN = 0.03
/** A ledger of less says nothing of the flow, g. */
const LEDGER_LEAST_G = 5

/** Water by weight and by the ledger, g; the flow belief, ln, that the ledger was counted with; what the season adds to it, ln. */
export type Weighed = {
  readonly weighedG: number
  readonly ledgerG: number
  readonly countedLn: number
  readonly seasonLnSd: number
}

const density = (miss: number, sd: number): number =>
  Math.exp(-0.5 * (miss / sd) ** 2) / (sd * Math.sqrt(2 * Math.PI))

/** How likely it is that a weighing was of what the ledger has counted, 0 to 1, `miss` (ln) off with an error of `sd`. */
function trustOf(miss: number, sd: number): number {
  const asFlow = (1 - UNLOGGED_SHARE - SLIP_SHARE) * density(miss, sd)
  const unlogged = miss < 0 ? UNLOGGED_SHARE * Math.exp(miss) : 0
  return asFlow / (asFlow + unlogged + SLIP_SHARE * density(miss, Math.hypot(sd, SLIP_LN_SD)))
}

/** What a fill's ledger is off beside the flow, ln: as this rig's weighings contradict each other. */
export function ledgerScatter({ weighings }: Pick<BeadsMemory, 'weighings'>): number {
  const squares = SCATTER_PRIOR_COUNT * LEDGER_SCATTER ** 2 + weighings.squares
  return Math.sqrt(squares / (SCATTER_PRIOR_COUNT + weighings.count))
}

/**
 * True water per ledger gram, by a weighing: the flow's belief moves, and with it what was counted of the pace and what the jars
 * are believed to hold. It has two explanations, the flow or something else; the belief after it is that of both, each as
 * likely as it fits. Returns by how much the belief has moved, ln, and how likely the ledger was of the water weighed.
 */
export function takeWeighing(beads: BeadsMemory, seen: Weighed): { shift: number; trust: number } {
  const { weighedG, ledgerG, countedLn, seasonLnSd } = seen
  if (!(weighedG > 0) || !(ledgerG > LEDGER_LEAST_G)) return { shift: 0, trust: 1 }
  const { flowLn } = beads
  const scatter = ledgerScatter(beads)
  const sd = Math.hypot(SCALE_SD_G / weighedG, SCALE_SD_SHARE, scatter, seasonLnSd)
  const ratioLn = Math.max(-RATIO_LN_MAX, Math.min(RATIO_LN_MAX, Math.log(weighedG / ledgerG)))
  // The ledger already carries the belief that it was counted with.
  const miss = countedLn + ratioLn - flowLn.mean
  const missSd = Math.hypot(flowLn.sd, sd)
  const trust = trustOf(miss, missSd)
  takeScatter(beads, { miss, missSd, scatter, trust })
  const gain = (flowLn.sd / missSd) ** 2
  const shift = trust * gain * miss
  // Of two explanations: the mean of both variances, and how far apart their means lie.
  const apart = trust * (1 - trust) * (gain * miss) ** 2
  const sdAfter = Math.sqrt(flowLn.sd ** 2 * (1 - trust * gain) + apart)
  moveFlow(beads, shift, Math.max(FLOW_SD_MIN, sdAfter))
  return { shift, trust }
}

/** So much of a misfit as is expected to be the ledger's scatter, as far as the weighing was of what was counted. */
function takeScatter(
  { weighings }: BeadsMemory,
  seen: {
    readonly miss: number
    readonly missSd: number
    readonly scatter: number
    readonly trust: number
  },
): void {
  const variance = seen.scatter ** 2
  const share = variance / seen.missSd ** 2
  weighings.squares += seen.trust * ((share * seen.miss) ** 2 + variance * (1 - share))
  weighings.count += seen.trust
}

/** Of what is believed of a jar, the part that runs taught was in ledger grams; what the prior says is in true ones. */
export function taughtShare(sd: number): number {
  return 1 - Math.min(1, (sd / SCALE_PRIOR.sd) ** 2)
}

function moveFlow(beads: BeadsMemory, shift: number, sd: number): void {
  beads.flowLn = { mean: beads.flowLn.mean + shift, sd }
  restateUptake(beads.uptake, Math.exp(shift))
  for (const { belief } of beads.jars) belief.mean += taughtShare(belief.sd) * shift
}

/**
 * Weighs the members by what each has taken up since it had `sinceG`: columns that were as good as used up have taken little, and
 * lose if the scale shows that the beads went on.
 */
export function weighByScale(
  ensemble: EnsembleMemory,
  seen: { readonly gainedG: number; readonly sinceG: number; readonly countedLnSd: number },
): void {
  const sd = Math.hypot(SCALE_SD_G, seen.countedLnSd * seen.gainedG)
  weigh(ensemble, 'scale', (member) => {
    const takenG = memberTakenG(ensemble, member, bedOf(ensemble, member))
    return (seen.gainedG - (takenG - seen.sinceG)) / sd
  })
}
