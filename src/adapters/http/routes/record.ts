/** What is known about a rig over time: trace, cycles, fills, exposure. */
import { exposureRecord } from '../../../flows/exposure-record.ts'
import type { App } from '../context.ts'
import { pageOf } from '../page-of.ts'
import { refuse } from '../problem.ts'
import { cycleView, exposureView, fillView, traceView } from '../rig-views.ts'
import { rigOperations as operations } from '../schemas/rigs.ts'
import { serve } from '../serve.ts'
import { shardOf } from '../shard.ts'
import { secondsOf, timeOf } from '../time.ts'

const WEEK_S = 7 * 86_400

type Span = { readonly from?: string | undefined; readonly to?: string | undefined }

/** The last week, unless said. */
function spanOf(query: Span, nowS: number): { readonly fromS: number; readonly toS: number } {
  // The end is exclusive, and a reading of this very second belongs to it.
  const toS = query.to === undefined ? nowS + 1 : secondsOf(query.to)
  return { toS, fromS: query.from === undefined ? toS - WEEK_S : secondsOf(query.from) }
}

const BACKWARDS = refuse('invalid', {
  errors: [{ pointer: '#query/from', detail: 'The period ends before it begins.' }],
})

export function serveRecord(app: App): void {
  serve(app, operations.readTrace, async ({ params, ports, query, nowS }) => {
    const span = spanOf(query, nowS)
    if (span.fromS >= span.toS) return BACKWARDS
    const trace = await shardOf(ports, params.rig).traces.trace(params.rig, { ...span, points: query.points })
    return trace === null ? refuse('not-found') : traceView(trace)
  })
  serve(app, operations.listCycles, async ({ params, ports, query }) => {
    const page = { after: query.after ?? null, limit: query.limit }
    const { items, next } = await shardOf(ports, params.rig).traces.cycles(params.rig, page)
    return { items: items.map(cycleView), next }
  })
  serve(app, operations.listFills, async ({ params, ports, query }) => {
    const fills = await shardOf(ports, params.rig).traces.fills(params.rig)
    const { items, next } = pageOf(fills, (fill) => String(fill.fromS), query)
    return { items: items.map(fillView), next }
  })
  serve(app, operations.readExposure, async ({ params, ports, query, nowS }) => {
    const span = spanOf(query, nowS)
    if (span.fromS >= span.toS) return BACKWARDS
    const { traces } = shardOf(ports, params.rig)
    const { fromS, toS, hours, days } = await exposureRecord(traces, params.rig, { ...span, nowS })
    return {
      from: timeOf(fromS),
      to: timeOf(toS),
      ...exposureView(hours),
      days: days.map((day) => Object.assign({ from: timeOf(day.fromS) }, exposureView(day))),
    }
  })
}
