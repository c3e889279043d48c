/** Rigs and their dated settings. */
import { DELETE_ROWS_PER_STEP, RIGS_PER_HANGAR_MAX } from '../../../core/limits.ts'
import { readRigFile } from '../../../core/rig-file/rig-file.ts'
import type { App, HttpPorts } from '../context.ts'
import { pageOf } from '../page-of.ts'
import { hangarAt } from '../place.ts'
import { refuse, type Refusal } from '../problem.ts'
import { historyView, rigView } from '../rig-views.ts'
import { rigOperations as operations } from '../schemas/rigs.ts'
import { serve } from '../serve.ts'
import { shardNumbered, shardOf } from '../shard.ts'
import { secondsOf } from '../time.ts'

const SLUG_TAKEN = refuse('conflict', { detail: 'Another rig of this hangar has this slug.' })

/** The ranges, by the reader that replay uses too. */
function refuseSettings(settings: unknown): Refusal | null {
  const read = readRigFile(settings)
  if (read.ok) return null
  const errors = read.problems.map(({ pointer, detail }) => ({ pointer: `/settings${pointer}`, detail }))
  return refuse('invalid', { errors })
}

async function rigOrNothing(ports: HttpPorts, id: string, nowS: number) {
  const { rigs } = shardOf(ports, id)
  const [rig, settings] = await Promise.all([rigs.byId(id), rigs.settings(id)])
  if (rig === null) return refuse('not-found')
  return { ...rigView(rig, settings, nowS), history: historyView(settings) }
}

export function serveRigs(app: App): void {
  serve(app, operations.listRigs, async ({ at, ports, query, nowS }) => {
    const hangar = hangarAt(at)
    const rigs = shardNumbered(ports, hangar.shard)?.rigs
    if (rigs === undefined) return refuse('unavailable')
    const [rows, settings] = await Promise.all([rigs.ofHangar(hangar.id), rigs.settingsOfHangar(hangar.id)])
    const { items, next } = pageOf(rows, ({ id }) => id, query)
    return { items: items.map((row) => rigView(row, settings.get(row.id) ?? [], nowS)), next }
  })
  serve(app, operations.addRig, async ({ at, ports, body, nowS }) => {
    const refusal = refuseSettings(body.settings)
    if (refusal !== null) return refusal
    const hangar = hangarAt(at)
    const rigs = shardNumbered(ports, hangar.shard)?.rigs
    if (rigs === undefined) return refuse('unavailable')
    if ((await rigs.ofHangar(hangar.id)).length >= RIGS_PER_HANGAR_MAX)
      return refuse('conflict', { detail: `At most ${RIGS_PER_HANGAR_MAX} rigs a hangar.` })
    const { name, slug, settings } = body
    const added = await rigs.add({ hangar: hangar.id, slug, name, settings, nowS })
    if ('reason' in added) return SLUG_TAKEN
    return rigView(added.rig, [{ fromS: nowS, settings }], nowS)
  })
  serve(app, operations.readRig, ({ params, ports, nowS }) => rigOrNothing(ports, params.rig, nowS))
  serveChanges(app)
}

function serveChanges(app: App): void {
  serve(app, operations.changeRig, async ({ params, ports, body, nowS }) => {
    const { rigs } = shardOf(ports, params.rig)
    const { name, slug, settings, from } = body
    const refusal = settings === undefined ? null : refuseSettings(settings)
    if (refusal !== null) return refusal
    if (name !== undefined || slug !== undefined) {
      const change = { ...(name === undefined ? {} : { name }), ...(slug === undefined ? {} : { slug }) }
      const done = await rigs.change(params.rig, change)
      if (done !== 'done') return done === 'none' ? refuse('not-found') : SLUG_TAKEN
    }
    if (settings !== undefined) {
      const fromS = from === undefined ? nowS : secondsOf(from)
      await rigs.setSettings(params.rig, { fromS, settings })
    }
    return rigOrNothing(ports, params.rig, nowS)
  })
  serve(app, operations.removeRig, async ({ params, ports, body, nowS, context }) => {
    const { rigs } = shardOf(ports, params.rig)
    const rig = await rigs.byId(params.rig)
    if (rig === null) return refuse('not-found')
    if (body.name !== rig.name)
      return refuse('invalid', { errors: [{ pointer: '/name', detail: 'This is not the name of the rig.' }] })
    const step = await rigs.removeStep(params.rig, DELETE_ROWS_PER_STEP, nowS)
    return context.json(step, step.isDone ? 200 : 202)
  })
}
