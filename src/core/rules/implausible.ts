import type { OpenAlert } from '../fold/outputs.ts'
import type { Moment, Rule, Sample, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'

const HOUR_S = 3600
const DAY_S = 86_400

/**
 * A spike: one reading away from both its neighbours, which agree with each other. Air at rest in a box cannot go and
 * come back between two readings, and unhooking the rig goes but does not come back. Near a switch of the pump a surge
 * can, so it does not count there. 15 % is far outside noise (30 sigma at 0.5 %), and 15 K outside any sun on a box.
 */
const SPIKE_PCT = 15
const SPIKE_C = 15
const AGREE_SHARE = 1 / 5
const SURGE_S = 1800

/** One is a radio; three in a day are a sensor, its wiring or its hub. */
const SPIKES = 3
const WITHIN_S = DAY_S
const CLEAN_S = 7 * DAY_S

type Seen = { readonly atS: number; readonly pct: number | null; readonly tempC: number | null }

type ImplausibleMemory = {
  before: Seen | null
  last: Seen | null
  /** Times of the last spikes, at most `SPIKES`. */
  spikesAtS: number[]
  spikePct: number | null
  spikeC: number | null
}

const start = (): ImplausibleMemory => ({
  before: null,
  last: null,
  spikesAtS: [],
  spikePct: null,
  spikeC: null,
})

function isSpike(a: number | null, b: number | null, c: number | null, by: number): boolean {
  if (a === null || b === null || c === null) return false
  const away = Math.min(Math.abs(b - a), Math.abs(b - c))
  return away >= by && (b - a) * (b - c) > 0 && Math.abs(a - c) <= AGREE_SHARE * away
}

function isNearSwitch(moment: Moment, atS: number): boolean {
  return moment.pump.sinceS !== null && atS - moment.pump.sinceS < SURGE_S
}

function look(memory: ImplausibleMemory, moment: Moment, sample: Sample): void {
  const now: Seen = { atS: sample.atS, pct: sample.humidityPct, tempC: sample.tempC }
  const { before, last } = memory
  memory.before = last
  memory.last = now
  if (before === null || last === null || now.atS - before.atS > 2 * moment.gapMaxS) return
  const inPct = !isNearSwitch(moment, before.atS) && isSpike(before.pct, last.pct, now.pct, SPIKE_PCT)
  const inTemp = isSpike(before.tempC, last.tempC, now.tempC, SPIKE_C)
  if (!inPct && !inTemp) return
  memory.spikePct = inPct ? last.pct : null
  memory.spikeC = inTemp ? last.tempC : null
  memory.spikesAtS.push(last.atS)
  if (memory.spikesAtS.length > SPIKES) memory.spikesAtS.shift()
}

function step(memory: ImplausibleMemory, moment: Moment, open: OpenAlert | null): Verdict {
  for (const sample of moment.fresh) if (sample.place === 'return') look(memory, moment, sample)
  const lastSpikeS = memory.spikesAtS.at(-1)
  if (lastSpikeS === undefined) return open === null ? CLEAR : SAME
  if (open !== null) return moment.atS - lastSpikeS > CLEAN_S ? CLEAR : SAME
  const firstS = memory.spikesAtS[0] ?? lastSpikeS
  const isRow = memory.spikesAtS.length === SPIKES && lastSpikeS - firstS <= WITHIN_S
  if (!isRow || moment.atS - lastSpikeS > HOUR_S) return CLEAR
  return {
    kind: 'holds',
    urgency: 'note',
    sinceS: firstS,
    evidence: { spikes: SPIKES, spikePct: memory.spikePct, spikeC: memory.spikeC, lastSpikeS },
  }
}

/** Readings that jump away and back as no air does. Needs only readings. Over after a week without. */
export const implausible: Rule<ImplausibleMemory> = {
  name: 'implausible',
  start,
  step,
  pause: (memory) => {
    memory.before = null
    memory.last = null
  },
}
