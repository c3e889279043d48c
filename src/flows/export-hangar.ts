/**
 * Everything a hangar owns, as JSON Lines: what people entered, in the forms that the API takes, then what was worked
 * out, then the readings as CSV text that ingest takes. Results go first because those older than the readings have to
 * be there before the readings are looked at. Secrets are not in it: a source gets a new key where it is
 * brought in. Made in pieces, so that neither side has to hold it.
 */
import { exportCsv } from './export-rig.ts'
import type { Hangar } from './people/ports.ts'
import type { LogRow, Page, Paged, RigRow, ShardPorts } from './ports.ts'
import { timeText } from './time-text.ts'

type Shard = Pick<ShardPorts, 'rigs' | 'sources' | 'logbook' | 'alerts' | 'traces' | 'exports'>

const PAGE = 200

export async function* exportHangar(shard: Shard, hangar: Hangar, nowS: number): AsyncGenerator<string> {
  yield line('hangar', { name: hangar.name, exportedAt: timeText(nowS) })
  const rigs = await shard.rigs.ofHangar(hangar.id)
  for (const rig of rigs) yield* described(shard, rig)
  for (const source of await shard.sources.ofHangar(hangar.id)) {
    const { name, rigs: slugs, recipe, isKeyInQuery } = source
    yield line('source', { name, rigs: slugs, recipe, keyInQuery: isKeyInQuery })
  }
  for (const rig of rigs) yield* workedOut(shard, rig)
  for (const rig of rigs) yield* readings(shard, rig)
  // The last line says that nothing is missing: without it the file was cut off.
  yield line('end', { rigs: rigs.length })
}

async function* described(shard: Shard, rig: RigRow): AsyncGenerator<string> {
  const settings = await shard.rigs.settings(rig.id)
  const dated = settings.map(({ fromS, settings: file }) => ({ from: timeText(fromS), settings: file }))
  const memory = await shard.traces.memory(rig.id)
  const isCut = memory !== null && memory.readingsFromS > 0
  yield line('rig', {
    name: rig.name,
    slug: rig.slug,
    madeAt: timeText(rig.madeS),
    history: dated,
    readingsFrom: isCut ? timeText(memory.readingsFromS) : null,
    checkedTo: isCut ? timeText(memory.reachedS) : null,
  })
  // The oldest first: who brings them in makes them in the order in which they were made.
  const entries: LogRow[] = []
  for await (const entry of everyPage((page) => shard.logbook.ofRig(rig.id, page))) entries.push(entry)
  for (const entry of entries.toReversed())
    yield line('log', {
      rig: rig.slug,
      at: timeText(entry.atS),
      what: entry.what,
      detail: entry.detail,
    })
}

async function* readings(shard: Shard, rig: RigRow): AsyncGenerator<string> {
  for await (const csv of exportCsv(shard, rig)) yield line('readings', { rig: rig.slug, csv })
}

async function* workedOut(shard: Shard, rig: RigRow): AsyncGenerator<string> {
  for (const fill of await shard.traces.fills(rig.id)) yield line('fill', { rig: rig.slug, ...fill })
  for await (const cycle of everyPage((page) => shard.traces.cycles(rig.id, page)))
    yield line('cycle', { rig: rig.slug, ...cycle })
  const { days } = await shard.traces.exposure(rig.id, { fromS: 0, toS: Number.MAX_SAFE_INTEGER })
  for (const day of days) yield line('exposure', { rig: rig.slug, ...day })
  for await (const page of shard.exports.rollups(rig.id))
    yield page.map((rollup) => line('rollup', { rig: rig.slug, ...rollup })).join('')
  for await (const alert of everyPage((page) => shard.alerts.ofRig(rig.id, page))) {
    const { rule, urgency, state, sinceS, raisedAtS, overAtS, overWhy, seenAtS, evidence } = alert
    yield line('alert', {
      rig: rig.slug,
      rule,
      urgency,
      state,
      sinceS,
      raisedAtS,
      overAtS,
      overWhy,
      seenAtS,
      evidence,
    })
  }
}

async function* everyPage<T>(read: (page: Page) => Promise<Paged<T>>): AsyncGenerator<T> {
  let after: string | null = null
  do {
    const page: Paged<T> = await read({ after, limit: PAGE })
    yield* page.items
    after = page.next
  } while (after !== null)
}

function line(kind: string, body: Readonly<Record<string, unknown>>): string {
  return `${JSON.stringify({ kind, ...body })}\n`
}
