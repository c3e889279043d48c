import { forgetEvidence } from '../beads/ensemble-evidence.ts'
import { scaleBelief } from '../beads/ensemble.ts'
import { restateColumns } from '../beads/restate.ts'
import { arrivalAir } from '../beads/uptake.ts'
import { heldSaturationGm3 } from '../air/held-saturation.ts'
import { detailNumber } from './detail.ts'
import { flushAir } from './fill-air.ts'
import { takenG } from './fill.ts'
import type { FillMemory, GrossMemory } from './fill-memory.ts'
import type { LogEntry } from './inputs.ts'
import { ledgerSdG } from './ledger-error.ts'
import { countedLnSd, seasonLnSd } from './counted-error.ts'
import { SCALE_SD_G, SCALE_SD_SHARE, takeWeighing, taughtShare, weighByScale } from './weighing.ts'
import type { Work } from './work.ts'

/** Less between two weighings says nothing of the flow beside the scale's error, g. */
const WEIGHED_LEAST_G = 10
/** So far apart scale and ledger are not of one fill: the ledger is what missed something, more likely than the scale. */
const ODD_SDS = 3
/** One such weighing in ten is a slip of the pen or a lid on the jar: a value of 0 or D with 0.1 and 0.9 scatters by 0.3 D. */
const SLIP_SHARE = 0.3
/** Saturated gel of any kind holds no more, kg/kg. */
const SATURATED_KGKG = 0.45

function startGross(work: Work, fill: FillMemory, grams: number): GrossMemory {
  const takenNowG = takenG(fill)
  const sdG = ledgerSdG(work, fill)
  const first = { grams, takenG: takenNowG, sdG }
  return {
    first,
    grams,
    takenG: takenNowG,
    isUsed: fill.gross?.isUsed ?? false,
    toldG: takenNowG,
    atGrams: grams,
    sdG,
    sinceSdG: 0,
  }
}

/**
 * A `weighing` of the whole jar in use. What it has gained since the fill's first weighing is water, whatever the ledger has
 * counted: the columns are brought to it. What it has gained since the one before also tells of the flow: between two it
 * was believed to be one and the same, and no water counts twice.
 */
export function takeGross(work: Work, entry: LogEntry): void {
  const { fill } = work.memory.beads
  const grams = detailNumber(entry, 'grossG')
  if (fill === null || fill.ensemble === null || grams === null) return
  flushAir(work)
  const { gross } = fill
  if (gross === null) {
    fill.gross = startGross(work, fill, grams)
    return
  }
  const gainedG = grams - gross.first.grams
  if (isImpossible(fill, gross, gainedG)) {
    fill.gross = startGross(work, fill, grams)
    return
  }
  weighByScale(fill.ensemble, {
    gainedG: grams - gross.atGrams,
    sinceG: gross.toldG,
    countedLnSd: countedLnSd(work),
  })
  const seen = compare(work, fill, gross, gainedG)
  const shift = seen.isOdd ? 0 : learnFlow(work, gross, grams, takenG(fill))
  // What was counted before the first weighing was counted with the same flow.
  gross.first.takenG *= Math.exp(shift)
  setTaken(work, fill, Math.max(0, gross.first.takenG + seen.gainG), shift)
  gross.sinceSdG = seen.sdG
  gross.sdG = Math.hypot(gross.first.sdG, seen.sdG)
  gross.toldG = takenG(fill)
  gross.atGrams = grams
  if (!seen.isOdd) return
  Object.assign(gross, { grams, takenG: gross.toldG })
  forgetEvidence(fill.ensemble, 'scale')
}

const scaleSdG = (gainedG: number): number => Math.hypot(SCALE_SD_G, SCALE_SD_SHARE * gainedG)

/** Lighter than it came from the oven, or heavier than any gel: from now on something else is on the scale. */
function isImpossible(fill: FillMemory, { first }: GrossMemory, gainedG: number): boolean {
  const wholeG = first.takenG + gainedG
  const leastG = -ODD_SDS * Math.hypot(scaleSdG(gainedG), first.sdG)
  return wholeG < leastG || wholeG > SATURATED_KGKG * (fill.massG ?? 0)
}

/** Water since the first weighing by the scale and the ledger together, g, its error, and whether they are of one fill. */
type Compared = { readonly gainG: number; readonly sdG: number; readonly isOdd: boolean }

function compare(work: Work, fill: FillMemory, gross: GrossMemory, gainedG: number): Compared {
  const ofScaleG = scaleSdG(gainedG)
  const ledgerG = takenG(fill) - gross.first.takenG
  const sinceSdG = Math.sqrt(Math.max(0, ledgerSdG(work, fill) ** 2 - gross.sdG ** 2) + gross.sinceSdG ** 2)
  const apartG = gainedG - ledgerG
  const bothSdG = Math.hypot(ofScaleG, sinceSdG)
  if (Math.abs(apartG) > ODD_SDS * bothSdG)
    return { gainG: gainedG, sdG: Math.hypot(ofScaleG, SLIP_SHARE * apartG), isOdd: true }
  const gain = (sinceSdG / bothSdG) ** 2
  return { gainG: ledgerG + gain * apartG, sdG: ofScaleG * Math.sqrt(gain), isOdd: false }
}

/** The flow by the water since the weighing before; by how much its belief has moved, ln. */
function learnFlow(work: Work, gross: GrossMemory, grams: number, nowG: number): number {
  const { beads } = work.memory
  const ledgerG = nowG - gross.takenG
  if (ledgerG < WEIGHED_LEAST_G) return 0
  const weighedG = grams - gross.grams
  const { shift } = takeWeighing(beads, {
    weighedG,
    ledgerG,
    countedLn: beads.flowLn.mean,
    seasonLnSd: seasonLnSd(work),
  })
  gross.grams = grams
  gross.takenG = nowG
  // A jar that has got lighter was weighed with something else on it: that told nothing, and the bake may still.
  if (weighedG > 0) gross.isUsed = true
  return shift
}

/** The fill has taken up `toG`, g. What runs have taught of its columns was in grams of a ledger `shift` (ln) too small. */
function setTaken(work: Work, fill: FillMemory, toG: number, shift: number): void {
  const { memory, settings } = work
  const { ensemble, gross } = fill
  if (ensemble === null || gross === null) return
  const nowG = takenG(fill)
  const tempC = memory.beads.tempC ?? 15
  const air = arrivalAir(memory.beads.uptake, (settings.band.startPct + settings.band.stopPct) / 2)
  const inPct = air.wetShareOfAll * air.wetPct + (1 - air.wetShareOfAll) * air.dryPct
  restateColumns(ensemble, {
    takenG: toG,
    lnShift: taughtShare(scaleBelief(ensemble).sd) * shift,
    inGm3: (inPct / 100) * heldSaturationGm3(tempC),
    tempC,
  })
  const factor = nowG > 0 ? toG / nowG : 1
  fill.flightG *= factor
  fill.idleG *= factor
  fill.wetG *= factor
  if (fill.overAtG !== null) fill.overAtG *= factor
  // The water until the next weighing is counted from here.
  gross.takenG += toG - nowG
  fill.saturatedG = 0
  fill.gapVariance = 0
  fill.left = null
  work.beds = null
  memory.beads.forecastDay = 0
}
