/** Taking everything along, streaming. */
import { exportHangar } from '../../../flows/export-hangar.ts'
import { exportCsv } from '../../../flows/export-rig.ts'
import type { App } from '../context.ts'
import { hangarAt } from '../place.ts'
import { refuse } from '../problem.ts'
import { exportOperations as operations } from '../schemas/exports.ts'
import { serve } from '../serve.ts'
import { shardNumbered, shardOf } from '../shard.ts'
import { streamText } from '../stream.ts'

export function serveExports(app: App): void {
  serve(app, operations.exportRig, async ({ params, ports }) => {
    const shard = shardOf(ports, params.rig)
    const rig = await shard.rigs.byId(params.rig)
    if (rig === null) return refuse('not-found')
    return streamText(exportCsv(shard, rig), {
      'content-type': 'text/csv; charset=utf-8; header=present',
      'content-disposition': `attachment; filename="${rig.slug}.csv"`,
    })
  })
  serve(app, operations.exportHangar, ({ at, ports, nowS }) => {
    const hangar = hangarAt(at)
    const shard = shardNumbered(ports, hangar.shard)
    if (shard === null) return refuse('unavailable')
    return streamText(exportHangar(shard, hangar, nowS), {
      'content-type': 'application/jsonl; charset=utf-8',
      'content-disposition': 'attachment; filename="hangar.jsonl"',
    })
  })
}
