/** What somebody has to know about. */
import { alertView, tongueOf } from '../alert-view.ts'
import { personOf } from '../caller.ts'
import type { App, Caller, HttpPorts } from '../context.ts'
import { pageOf } from '../page-of.ts'
import { refuse } from '../problem.ts'
import { alertOperations as operations } from '../schemas/alerts.ts'
import { serve } from '../serve.ts'
import { shardOf } from '../shard.ts'

const RANK = { now: 0, visit: 1, note: 2 } as const

export function serveAlerts(app: App): void {
  serve(app, operations.listAlerts, async ({ caller, ports, query, nowS }) => {
    const hangars = await hangarsOf(caller, ports)
    const found = await Promise.all(
      ports.shards.map(({ shard, alerts }) =>
        alerts.open(hangars.filter((hangar) => hangar.shard === shard).map(({ id }) => id)),
      ),
    )
    const rows = found
      .flat()
      .toSorted(
        (a, b) => RANK[a.urgency] - RANK[b.urgency] || a.sinceS - b.sinceS || a.id.localeCompare(b.id),
      )
    const tongue = tongueOf(caller)
    const { items, next } = pageOf(rows, (row) => row.id, query)
    return { items: items.map((row) => alertView(row, tongue, nowS)), next }
  })
  serve(app, operations.listAlertsOfRig, async ({ caller, params, ports, query, nowS }) => {
    const page = { after: query.after ?? null, limit: query.limit }
    const { items, next } = await shardOf(ports, params.rig).alerts.ofRig(params.rig, page)
    const tongue = tongueOf(caller)
    return { items: items.map((row) => alertView(row, tongue, nowS)), next }
  })
  serve(app, operations.seeAlert, async ({ caller, params, ports, nowS }) => {
    const { alerts } = shardOf(ports, params.alert)
    const by = personOf(caller)?.id ?? 'host'
    if (!(await alerts.markSeen(params.alert, by, nowS))) return refuse('not-found')
    const row = await alerts.byId(params.alert)
    return row === null ? refuse('not-found') : alertView(row, tongueOf(caller), nowS)
  })
}

async function hangarsOf(caller: Caller, ports: HttpPorts) {
  const person = personOf(caller)
  if (person === null) return ports.people.hangars.all({ after: '', limit: 1000 })
  return (await ports.people.hangars.ofPerson(person.id)).map(({ hangar }) => hangar)
}
