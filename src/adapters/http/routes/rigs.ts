/** Rigs and their dated settings. */
import {
  DELETE_ROWS_PER_STEP,
  FIRST_SETTINGS_S,
  SETTINGS_AHEAD_MAX_S,
  LOG_FROM_S,
  RIGS_PER_HANGAR_MAX,
  SETTINGS_MAX_BYTES,
  SETTINGS_PER_RIG_MAX,
} from '../../../core/limits.ts'
import type { DatedRigFile, RigFile } from '../../../flows/ports.ts'
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

const SLUG_TAKEN = refuse('conflict', {
  detail: 'Another rig of this hangar has this slug.',
  errors: [{ pointer: '/slug', detail: 'another rig of this hangar is called so' }],
})

/** The ranges, by the reader that replay uses too. */
function refuseSettings(settings: unknown): Refusal | null {
  const read = readRigFile(settings)
  if (!read.ok) {
    const errors = read.problems.map(({ pointer, detail, range }) => ({
      pointer: `/settings${pointer}`,
      detail,
      range,
    }))
    return refuse('invalid', { errors })
  }
  const isShort = new TextEncoder().encode(JSON.stringify(settings)).length <= SETTINGS_MAX_BYTES
  return isShort ? null : refuseAt('/settings', `at most ${SETTINGS_MAX_BYTES} bytes as JSON`)
}

function refuseAt(pointer: string, detail: string): Refusal {
  return refuse('invalid', { errors: [{ pointer, detail }] })
}

type Dating = { readonly settings: RigFile | null; readonly fromS: number | null; readonly nowS: number }

/** May these be the settings from then on, beside those that there are? `null` takes away those that begin then. */
function refuseDating(there: readonly DatedRigFile[], { settings, fromS, nowS }: Dating): Refusal | null {
  const isThere = there.some((dated) => dated.fromS === (fromS ?? nowS))
  if (settings === null) {
    if (fromS === FIRST_SETTINGS_S)
      return refuseAt('/from', 'the first settings can be changed, not taken back')
    return isThere ? null : refuseAt('/from', 'no settings begin at this time')
  }
  if (isThere) return null
  if (fromS !== null && (fromS < LOG_FROM_S || fromS > nowS + SETTINGS_AHEAD_MAX_S))
    return refuseAt('/from', 'from 2000 to a year ahead')
  if (there.length < SETTINGS_PER_RIG_MAX) return null
  return refuse('conflict', {
    detail: `At most ${SETTINGS_PER_RIG_MAX} dated settings a rig: take some back.`,
  })
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
    const fromS = from === undefined ? null : secondsOf(from)
    if (settings === undefined && fromS !== null) return refuseAt('/from', 'needs "settings" beside it')
    if (settings !== undefined) {
      const dating = { settings, fromS, nowS }
      const refusal =
        (settings === null ? null : refuseSettings(settings)) ??
        refuseDating(await rigs.settings(params.rig), dating)
      if (refusal !== null) return refusal
    }
    if (name !== undefined || slug !== undefined) {
      const change = { ...(name === undefined ? {} : { name }), ...(slug === undefined ? {} : { slug }) }
      const done = await rigs.change(params.rig, change)
      if (done !== 'done') return done === 'none' ? refuse('not-found') : SLUG_TAKEN
    }
    if (settings === null) await rigs.removeSettings(params.rig, fromS ?? nowS)
    else if (settings !== undefined) await rigs.setSettings(params.rig, { fromS: fromS ?? nowS, settings })
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
