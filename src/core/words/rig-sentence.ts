import { humidityPctOfDensity } from '../air/vapour.ts'
import type { Reading } from '../fold/inputs.ts'
import type { Sample } from '../rules/rule.ts'
import type { RuleName } from '../fold/outputs.ts'
import type { View } from '../fold/view.ts'
import { shortForecast } from './forecast-sentence.ts'
import { moment, pct, span, temp, type Tongue } from './tongue.ts'

const HOUR_S = 3600

/** What the sentence needs of a view. */
export type RigNow = Pick<
  View,
  | 'heardAtS'
  | 'latest'
  | 'engineAir'
  | 'metalTempC'
  | 'pump'
  | 'isGap'
  | 'suspended'
  | 'isWet'
  | 'lastRunAtS'
  | 'open'
> & { readonly forecast: View['forecast'] }

/** A rest this long and nobody knows the engine's air any more: a short run stirs it. */
const STIR_AFTER_S = 24 * HOUR_S

const SUSPENDED = {
  off: 'The rig is logged off: nothing is judged.',
  'salt-check': 'Salt check: nothing is judged until it ends.',
  'power-off': 'The power is logged off: nothing is judged.',
  flight: 'Flown, and the rig is not back on yet.',
} as const

function returnSample(view: RigNow): Sample | null {
  return view.latest.find((sample) => sample.place === 'return' && sample.humidityPct !== null) ?? null
}

/** RH that the sampled air has at the metal, % (at most 100); `null` where a temperature is missing. */
function atMetal(view: RigNow): number | null {
  const { engineAir, metalTempC } = view
  if (engineAir === null || engineAir.tempC === null || metalTempC === null) return null
  return Math.min(100, humidityPctOfDensity(engineAir.densityGm3, metalTempC))
}

/** A pump that moves no engine air samples none, however long it runs. */
const NOT_SAMPLED: Partial<Record<RuleName, string>> = {
  'no-drop': 'the pump moves none of it',
  'open-loop': 'the loop is open',
}

function notSampled({ open }: RigNow): string | null {
  for (const { rule } of open) {
    const why = NOT_SAMPLED[rule]
    if (why !== undefined) return why
  }
  return null
}

function airText(view: RigNow, tongue: Tongue, nowS: number): string {
  const { engineAir } = view
  const sample = returnSample(view)
  if (engineAir === null) {
    if (sample === null || sample.humidityPct === null) return 'No reading has come yet.'
    return `${pct(sample.humidityPct)} beside the pump at ${moment(sample.atS, tongue, nowS)}; engine air not sampled yet, the pump has not run.`
  }
  const why = notSampled(view)
  if (why !== null && sample !== null && sample.humidityPct !== null)
    return `${pct(sample.humidityPct)} beside the pump at ${moment(sample.atS, tongue, nowS)}; the engine's air is not sampled, ${why}.`
  const warm = engineAir.tempC === null ? '' : ` at ${temp(engineAir.tempC, tongue)}`
  const metal = atMetal(view)
  const cold = metal === null ? '' : `; metal about ${pct(Math.round(metal))}`
  return `Air ${pct(engineAir.humidityPct)}${warm} when last sampled at ${moment(engineAir.atS, tongue, nowS)}${cold}.`
}

function pumpText(view: RigNow, tongue: Tongue, nowS: number): string {
  const { pump } = view
  if (view.isWet) return ' Water is coming out: a high plateau is normal now.'
  if (pump.state === 'run' && pump.sinceS !== null)
    return ` Pump ${pump.basis === 'inferred' ? 'seems to run' : 'on'} since ${moment(pump.sinceS, tongue, nowS)}.`
  const { lastRunAtS } = view
  if (pump.state === 'rest' && lastRunAtS !== null && nowS - lastRunAtS > STIR_AFTER_S) {
    return ` No run for ${span((nowS - lastRunAtS) / HOUR_S)}: ten minutes of pump would show the engine's air.`
  }
  return ''
}

/**
 * One rig in a few plain sentences: the air when it was last sampled with the pump running, what holds now, and what the
 * beads are good for. Says when nothing was heard; never that the engine is dry.
 */
export function rigSentence(view: RigNow, tongue: Tongue, nowS: number): string {
  const { heardAtS, forecast } = view
  if (heardAtS === null) return 'No reading has come yet.'
  const lead = view.isGap ? `Nothing heard since ${moment(heardAtS, tongue, nowS)}. ` : ''
  const air = airText(view, tongue, nowS)
  const state = view.suspended === null ? pumpText(view, tongue, nowS) : ` ${SUSPENDED[view.suspended]}`
  // Who has to drive out now does not plan the next bake.
  const isUrgent = view.open.some(({ urgency }) => urgency === 'now')
  const beads = forecast === null || isUrgent ? null : shortForecast(forecast, tongue, nowS)
  return `${lead}${air}${view.isGap ? '' : state}${beads === null ? '' : ` ${beadsText(beads)}`}`
}

function beadsText(beads: string): string {
  return beads.startsWith('the beads') ? `By the ledger ${beads}.` : `At your pace the beads are ${beads}.`
}

/** Before the analysis has come to a rig's first reading: that it arrived is what its owner waits to see. */
export function firstReadingSentence(reading: Reading | null, tongue: Tongue, nowS: number): string {
  if (reading === null) return 'No reading has come yet.'
  const value = reading.humidityPct === null ? '' : `${pct(reading.humidityPct)} `
  return `The first readings are here, the last ${value}at ${moment(reading.atS, tongue, nowS)}. They are judged within a quarter of an hour.`
}
