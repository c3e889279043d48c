import { heldSaturationGm3 } from '../air/held-saturation.ts'
import { pushEnsemble, SCALE_PRIOR, startEnsemble } from '../beads/ensemble.ts'
import { addSinceFlight, flightEveryDays, gPerFlight, idleGPerDay } from '../beads/uptake.ts'
import { bedsNow } from './fill-air.ts'
import { loadOf } from './fill.ts'
import type { FillMemory } from './fill-memory.ts'
import type { Work } from './work.ts'

/** The scatter of uptake that nobody counted about the usual, as a share. */
const SCATTER = 0.7
/** Air of the band's middle that stands for it: parcels of this size carry a tenth of a gram. */
const PARCEL_L = 100
const PARCELS_MAX = 500
/** Less water than this is none, g; and beads that take less than this share of what is asked are in balance with the air. */
const LEAST_G = 1e-5
const LEAST_SHARE = 1e-3

/** Water that nobody counted, g, goes into the beads as air of the band's middle, with its doubt. */
function takeUncounted(work: Work, grams: number): void {
  const { memory, settings } = work
  const { fill, uptake } = memory.beads
  if (fill === null || fill.ensemble === null) return
  fill.gapVariance += (SCATTER * grams) ** 2
  const tempC = memory.metal.tempC ?? 15
  const middlePct = (settings.band.startPct + settings.band.stopPct) / 2
  const inGm3 = (middlePct / 100) * heldSaturationGm3(tempC)
  const beds = bedsNow(work, fill.ensemble)
  let left = grams
  let exitGm3 = fill.exitGm3 ?? 0
  // Bounded: a very long time ends with beads in balance with the band, and the rest is in the doubt.
  for (let round = 0; round < PARCELS_MAX && left > LEAST_G; round++) {
    // No more than brings what is left: most gaps are of minutes.
    const volumeL = Math.min(PARCEL_L, (1000 * left) / Math.max(LEAST_SHARE * inGm3, inGm3 - exitGm3))
    exitGm3 = pushEnsemble(fill.ensemble, beds, { inGm3, volumeL, tempC })
    const taken = ((inGm3 - exitGm3) * volumeL) / 1000
    if (taken < LEAST_SHARE * left) return
    left -= taken
    fill.idleG += taken
    addSinceFlight(uptake, taken)
  }
}

/** A gap of so many hours: the idle rate, never zero. Without a flow all days are taken so, gaps among them. */
export function takeGap(work: Work, hours: number): void {
  if (work.settings.flowLPerMin === null) return
  takeUncounted(work, (idleGPerDay(work.memory.beads.uptake) * hours) / 24)
}

/** From `fromS` to `toS` (Unix s) no flow was stated to count by: idle days and flights as usual. */
export function takeFlowless(work: Work, fromS: number, toS: number): void {
  const { fill, uptake } = work.memory.beads
  if (fill === null || fill.ensemble === null) return
  const days = Math.max(0, toS - Math.max(fromS, fill.fromS)) / 86_400
  const everyDays = flightEveryDays(uptake, toS)
  const flights = everyDays === null ? 0 : days / Math.max(0.1, everyDays)
  takeUncounted(work, idleGPerDay(uptake) * days + gPerFlight(uptake) * flights)
}

/** All of a fill's days up to `atS` (Unix s) as usual, the flights in them included. */
function takeDays(work: Work, fill: FillMemory, atS: number): void {
  const { uptake } = work.memory.beads
  const days = (atS - fill.fromS) / 86_400
  takeUncounted(work, idleGPerDay(uptake) * days + gPerFlight(uptake) * fill.flights)
}

/** The rig is heard for the first time, at `atS` (Unix s): its beads may have been at work since a bake of long before. */
export function takeUnheard(work: Work, atS: number): void {
  const { fill } = work.memory.beads
  if (fill !== null && fill.fromS < atS) takeDays(work, fill, atS)
}

/**
 * Mass or flow were stated only some time after the bake: the water is counted from `atS` (Unix s) on, and what came before is
 * taken as usual, flights included.
 */
export function startLateLedger(work: Work, atS: number): void {
  const { memory, settings } = work
  const { fill, jars } = memory.beads
  if (fill === null || !fill.isKnown || fill.ensemble !== null || settings.flowLPerMin === null) return
  fill.massG ??= settings.beadMassG
  const load = loadOf(fill)
  if (load === null) return
  const jar = jars.find(({ name }) => name === (fill.jar ?? ''))
  fill.ensemble = startEnsemble(load, jar?.belief ?? SCALE_PRIOR)
  work.beds = null
  memory.beads.forecastDay = 0
  takeDays(work, fill, atS)
}
