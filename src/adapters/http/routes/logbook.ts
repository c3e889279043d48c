/** What people enter. */
import { LOG_AHEAD_MAX_S, LOG_FROM_S, LOG_UNTIL_AHEAD_MAX_S } from '../../../core/limits.ts'
import { readTimestamp } from '../../../core/ingest/instant.ts'
import { readDetail } from '../../../core/logbook/read-detail.ts'
import { personOf } from '../caller.ts'
import type { App } from '../context.ts'
import { refuse, type Refusal } from '../problem.ts'
import { logbookOperations as operations } from '../schemas/logbook.ts'
import { serve } from '../serve.ts'
import { shardOf } from '../shard.ts'
import { secondsOf } from '../time.ts'
import { logView } from '../rig-views.ts'

export function serveLogbook(app: App): void {
  serve(app, operations.listLog, async ({ params, ports, query }) => {
    const page = await shardOf(ports, params.rig).logbook.ofRig(params.rig, {
      after: query.after ?? null,
      limit: query.limit,
      ...(query.from === undefined ? {} : { fromS: secondsOf(query.from) }),
      ...(query.to === undefined ? {} : { toS: secondsOf(query.to) }),
    })
    return { items: page.items.map(logView), next: page.next }
  })
  serve(app, operations.addLog, async ({ params, ports, body, caller, nowS }) => {
    const refusal = refuseTime(body.at, nowS)
    if (refusal !== null) return refusal
    const read = readDetail(body.what, body.detail)
    if (!read.ok) return refuse('invalid', { errors: read.problems })
    const tooFar = refuseUntil(read.detail, nowS)
    if (tooFar !== null) return tooFar
    const by = personOf(caller)?.id ?? null
    const entry = { atS: secondsOf(body.at), what: body.what, detail: read.detail, by, nowS }
    const row = await shardOf(ports, params.rig).logbook.add(params.rig, entry)
    return row === null ? refuse('not-found') : logView(row)
  })
  serve(app, operations.changeLog, async ({ params, ports, body, nowS }) => {
    const { at, what } = body
    const refusal = at === undefined ? null : refuseTime(at, nowS)
    if (refusal !== null) return refusal
    const read = what === undefined ? null : readDetail(what, body.detail ?? {})
    if (read?.ok === false) return refuse('invalid', { errors: read.problems })
    const tooFar = read === null ? null : refuseUntil(read.detail, nowS)
    if (tooFar !== null) return tooFar
    const row = await shardOf(ports, params.rig).logbook.change(params.rig, params.entry, {
      ...(at === undefined ? {} : { atS: secondsOf(at) }),
      ...(what === undefined ? {} : { what }),
      ...(read === null ? {} : { detail: read.detail }),
    })
    return row === null ? refuse('not-found') : logView(row)
  })
  serve(app, operations.removeLog, async ({ params, ports }) => {
    const isGone = await shardOf(ports, params.rig).logbook.remove(params.rig, params.entry)
    return isGone ? undefined : refuse('not-found')
  })
}

/** A slip of the month or year: such an entry would take part in nothing until its time comes, and then be believed. */
function refuseTime(at: string, nowS: number): Refusal | null {
  const atS = secondsOf(at)
  if (atS < LOG_FROM_S) return refuseAt('/at', 'the time is before the year 2000')
  if (atS <= nowS + LOG_AHEAD_MAX_S) return null
  const minutes = LOG_AHEAD_MAX_S / 60
  return refuseAt('/at', `the time is more than ${minutes} minutes ahead of the server’s clock`)
}

function refuseUntil({ until }: Readonly<Record<string, string>>, nowS: number): Refusal | null {
  const end = readTimestamp(until ?? '')
  if (end.kind !== 'instant' || end.atS <= nowS + LOG_UNTIL_AHEAD_MAX_S) return null
  return refuseAt('/detail/until', 'the time is more than a year ahead')
}

function refuseAt(pointer: string, detail: string): Refusal {
  return refuse('invalid', { errors: [{ pointer, detail }] })
}
