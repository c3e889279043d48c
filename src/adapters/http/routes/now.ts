/** What is known about a rig at this moment. */
import type { z } from '@hono/zod-openapi'
import type { View } from '../../../core/fold/view.ts'
import { forecastSentence } from '../../../core/words/forecast-sentence.ts'
import { floorTrendSentence } from '../../../core/words/floor-trend-sentence.ts'
import { firstReadingSentence, rigSentence } from '../../../core/words/rig-sentence.ts'
import { sensorSentence } from '../../../core/words/sensor-sentence.ts'
import type { Tongue } from '../../../core/words/tongue.ts'
import { lookAtRig, type RigNow } from '../../../flows/look-at-rig.ts'
import { alertView, tongueOf } from '../alert-view.ts'
import type { App } from '../context.ts'
import { hangarAt } from '../place.ts'
import { fillView, floorTrendView, forecastView, readingView } from '../rig-views.ts'
import { rigOperations as operations, type now } from '../schemas/rigs.ts'
import { serve } from '../serve.ts'
import { shardOf } from '../shard.ts'
import { timeOrNull } from '../time.ts'

type Now = z.input<typeof now>

export function serveNow(app: App): void {
  serve(app, operations.readNow, async ({ at, params, ports, caller, nowS }) => {
    const of = { rig: params.rig, hangar: hangarAt(at).id, nowS }
    return nowView(await lookAtRig(shardOf(ports, params.rig), of), tongueOf(caller), nowS)
  })
}

function nowView(known: RigNow, tongue: Tongue, nowS: number): Now {
  const { view, sensor, latest, alerts } = known
  const newest = latest.toSorted((a, b) => b.atS - a.atS)[0] ?? null
  return {
    heardAt: timeOrNull(newest?.atS ?? view?.heardAtS ?? null),
    readings: latest.map(readingView),
    alerts: alerts.map((row) => alertView(row, tongue, nowS)),
    sensorSentence: sensor === null ? null : sensorSentence(sensor, tongue, nowS),
    ...(view === null || view.heardAtS === null
      ? { ...NOTHING_JUDGED, sentence: firstReadingSentence(newest, tongue, nowS) }
      : judged(view, tongue, nowS)),
  }
}

type Judged = Omit<Now, 'heardAt' | 'readings' | 'alerts' | 'sensorSentence'>

const NOTHING_JUDGED: Omit<Judged, 'sentence'> = {
  state: 'unheard',
  checkedAt: null,
  fill: null,
  forecast: null,
  forecastSentence: null,
  floorTrend: null,
  floorTrendSentence: null,
  unknown: [],
  assumed: [],
}

function judged(view: View, tongue: Tongue, nowS: number): Judged {
  return {
    sentence: rigSentence(view, tongue, nowS),
    state: stateOf(view),
    checkedAt: timeOrNull(view.gridS),
    fill: view.fill === null ? null : fillView(view.fill),
    forecast: view.forecast === null ? null : forecastView(view.forecast),
    forecastSentence: forecastSentence(view.forecast, tongue, nowS, view.daysPerFlight),
    floorTrend: view.floorTrend === null ? null : floorTrendView(view.floorTrend),
    floorTrendSentence: floorTrendSentence(view.floorTrend),
    unknown: view.unknown.map(({ what, why }) => ({ what, why })),
    assumed: [...view.assumed],
  }
}

function stateOf(view: View): Now['state'] {
  if (view.suspended !== null && view.suspended !== 'salt-check') return 'off'
  return view.isGap ? 'unheard' : view.pump.state
}
