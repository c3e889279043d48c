import {
  bedOf,
  type Load,
  memberTakenG,
  nextBelief,
  SCALE_PRIOR,
  scaleBelief,
  type ScaleBelief,
  startEnsemble,
} from '../beads/ensemble.ts'
import { PATH_SHARE } from '../beads/forecast.ts'
import { startLine } from '../stats/line-fit.ts'
import { startFloorTrend } from '../trace/floor-trend.ts'
import { startFillRunTime } from '../trace/run-time.ts'
import type { BeadsMemory, FillMemory, JarMemory } from './fill-memory.ts'
import type { LogEntry } from './inputs.ts'
import type { Memory } from './memory.ts'
import type { Fill, Forecast } from './outputs.ts'
import { detailNumber } from './detail.ts'
import { countedLnSd, seasonLnSd } from './counted-error.ts'
import { takeWeighing, taughtShare, weighByScale } from './weighing.ts'
import type { Work } from './work.ts'

/** A bake whose heat nobody noted, degC (common practice for indicating gel, no published source). */
const BAKE_USUAL_C = 120
/** Jars remembered: a rig has two or three. */
const JARS_MAX = 4
const NOTHING: Forecast = {
  takenUpG: null,
  capacityG: null,
  flightsLeft: null,
  daysLeft: null,
  emptyAtS: null,
  noFlightsUntilS: null,
}

/** The fill as others see it. */
export function fillOf(fill: FillMemory, toS: number | null): Fill {
  const isLedger = fill.ensemble !== null
  return {
    fromS: fill.fromS,
    toS,
    jar: fill.jar,
    beadMassG: fill.massG,
    beadKind: fill.kind,
    bakeTempC: fill.bakeTempC,
    flights: fill.flights,
    takenUpByFlightsG: isLedger ? fill.flightG : null,
    takenUpIdleG: isLedger ? fill.idleG : null,
    forecast: fill.forecast ?? NOTHING,
  }
}

/** Runs that are suddenly shorter may be beads that nobody entered: until somebody says, no ledger speaks for the column. */
export function isSwapAsked({ rules }: Memory): boolean {
  for (const { rule } of rules.open) if (rule === 'swapped') return true
  return false
}

/** The load in the column as it was baked; `null` where nobody stated its mass. */
export function loadOf({
  kind,
  massG,
  bakeTempC,
}: Pick<FillMemory, 'kind' | 'massG' | 'bakeTempC'>): Load | null {
  return massG === null ? null : { kind, massG, bakeTempC: bakeTempC ?? BAKE_USUAL_C }
}

/** Weighted water taken up since the bake, g. */
export function takenG(fill: Pick<FillMemory, 'ensemble'>): number {
  const { ensemble } = fill
  if (ensemble === null) return 0
  let sum = 0
  for (let member = 0; member < ensemble.weights.length; member++) {
    sum += (ensemble.weights[member] ?? 0) * memberTakenG(ensemble, member, bedOf(ensemble, member))
  }
  return sum
}

/** What the scale has told of a fill at its bake. */
type Told = { readonly shift: number; readonly trust: number; readonly out: JarMemory['out'] }

/** More likely than not the ledger was not of the water weighed: what it has taught of the jar is not the jar's. */
const TRUST_LEAST = 0.5

function rememberJar(beads: BeadsMemory, fill: FillMemory, { shift, trust, out }: Told): void {
  if (fill.ensemble === null || fill.massG === null) return
  const now = scaleBelief(fill.ensemble)
  const name = fill.jar ?? ''
  const before = beads.jars.find((jar) => jar.name === name)
  beads.jars = beads.jars.filter((jar) => jar !== before)
  const { pathShare, statedMassG, kind, fromS } = fill
  const isOwn = trust >= TRUST_LEAST
  const belief = isOwn
    ? nextBelief({ mean: now.mean + taughtShare(now.sd) * shift, sd: now.sd })
    : (before?.belief ?? { ...SCALE_PRIOR })
  const holds = isOwn ? fill.holds : (before?.holds ?? null)
  beads.jars.push({ name, belief, pathShare, holds, statedMassG, kind, usedAtS: fromS, out })
  if (beads.jars.length > JARS_MAX) beads.jars.shift()
}

/** Ends the fill in the column. `weighedG`: water that the bake drove out of it, by weight. */
function endFill(work: Work, atS: number, weighedG: number | null): void {
  const { beads } = work.memory
  const { fill } = beads
  if (fill === null) return
  const out = { takenG: takenG(fill), flowLn: beads.flowLn.mean }
  const isUsed = fill.gross?.isUsed === true
  const told =
    weighedG === null || isUsed || !fill.isKnown ? { shift: 0, trust: 1 } : weighOut(work, weighedG, out)
  if (fill.isKnown) rememberJar(beads, fill, { ...told, out: weighedG === null && !isUsed ? out : null })
  work.fills.push(fillOf(fill, atS))
  beads.fill = null
}

/** What a bake drove out of a jar, g by weight, beside what its fill was counted at. */
function weighOut(
  work: Work,
  weighedG: number,
  out: NonNullable<JarMemory['out']>,
): ReturnType<typeof takeWeighing> {
  return takeWeighing(work.memory.beads, {
    weighedG,
    ledgerG: out.takenG,
    countedLn: out.flowLn,
    seasonLnSd: seasonLnSd(work),
  })
}

function startFill(
  work: Work,
  fill: Pick<
    FillMemory,
    'fromS' | 'jar' | 'massG' | 'statedMassG' | 'kind' | 'bakeTempC' | 'isKnown' | 'pathShare' | 'holds'
  >,
  belief: ScaleBelief,
): void {
  const { memory, settings } = work
  const load = fill.isKnown && settings.flowLPerMin !== null ? loadOf(fill) : null
  memory.beads.fill = {
    ...fill,
    overAtG: null,
    flights: 0,
    flightG: 0,
    idleG: 0,
    wetG: 0,
    ensemble: load === null ? null : startEnsemble(load, belief),
    pendingL: 0,
    pendingSum: 0,
    pendingTempC: 20,
    exitGm3: null,
    saturatedG: 0,
    gapVariance: 0,
    weighedAtS: null,
    freshFloorPct: 0,
    freshCount: 0,
    longRunAtS: null,
    isFloorUnsure: false,
    floors: startFloorTrend(),
    floorOnAmbient: startLine(),
    left: null,
    leftAtS: 0,
    leftTakenG: 0,
    leftPace: [0, 0, 0],
    forecast: null,
    odds: null,
    spentAtS: null,
    gross: null,
  }
  work.beds = null
  memory.beads.forecastDay = 0
  startFillRunTime(memory.runTime, fill.fromS)
  work.fills.push(fillOf(memory.beads.fill, null))
}

/** The load that runs when the rig is first seen: it has a name and a mass, but nobody knows what it holds. */
export function startUnknownFill(work: Work, atS: number): void {
  const { settings } = work
  startFill(
    work,
    {
      fromS: atS,
      jar: null,
      massG: settings.beadMassG,
      statedMassG: null,
      kind: settings.beadKind,
      bakeTempC: null,
      isKnown: false,
      pathShare: PATH_SHARE,
      holds: null,
    },
    SCALE_PRIOR,
  )
}

/** The jar that goes into the column with this entry. */
function jarOf({ what, detail }: LogEntry, old: FillMemory | null): string | null {
  return detail['jar']?.trim() || (what === 'bake' ? (old?.jar ?? null) : null)
}

/** Water that a bake drove out of its jar, g by weight. */
function lossG(entry: LogEntry): number | null {
  const beforeG = detailNumber(entry, 'beforeG')
  const afterG = detailNumber(entry, 'afterG')
  return beforeG === null || afterG === null ? null : beforeG - afterG
}

/** Before the fill in the column has taught anything: its columns are weighed by what its own bake drove out. */
export function weighColumns(work: Work, entry: LogEntry): void {
  const { fill } = work.memory.beads
  const weighedG = lossG(entry)
  if (fill === null || fill.ensemble === null || weighedG === null) return
  if (fill.gross?.isUsed === true || jarOf(entry, fill) !== fill.jar) return
  weighByScale(fill.ensemble, { gainedG: weighedG, sinceG: 0, countedLnSd: countedLnSd(work) })
}

/** A `bake` or `beads` entry: the fill in the column ends, a fresh one begins. */
export function takeBake(work: Work, entry: LogEntry): void {
  const { memory, settings } = work
  const { beads } = memory
  const old = beads.fill
  const jar = jarOf(entry, old)
  // A difference of weights belongs to the load that was baked: in this column now, or when it was last in one.
  const isSame = jar === (old?.jar ?? null)
  const weighedG = lossG(entry)
  endFill(work, entry.atS, isSame ? weighedG : null)
  const known = beads.jars.find(({ name }) => name === (jar ?? ''))
  if (!isSame && weighedG !== null && known !== undefined && known.out !== null)
    weighOut(work, weighedG, known.out)
  if (known !== undefined) known.out = null
  const isNewBeads = entry.what === 'beads'
  const statedMassG = detailNumber(entry, 'massG') ?? (isNewBeads ? null : (known?.statedMassG ?? null))
  const kind = entry.detail['kind']?.trim() || (isNewBeads ? undefined : known?.kind) || settings.beadKind
  // Beads that were weighed in, or of another kind, are others than the jar held before.
  const isWeighedIn = isNewBeads && detailNumber(entry, 'massG') !== null
  const isOther = isWeighedIn || (known !== undefined && known.kind !== kind)
  const belief = isOther ? SCALE_PRIOR : (known?.belief ?? SCALE_PRIOR)
  const bakeTempC = detailNumber(entry, 'tempC')
  startFill(
    work,
    {
      fromS: entry.atS,
      jar,
      massG: statedMassG ?? settings.beadMassG,
      statedMassG,
      kind,
      bakeTempC,
      isKnown: true,
      pathShare: known?.pathShare ?? PATH_SHARE,
      holds: isOther ? null : (known?.holds ?? null),
    },
    belief,
  )
}
