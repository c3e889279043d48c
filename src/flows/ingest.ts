/** A post becomes readings: find the records, read each, keep what can be kept, say what happened to the rest. */
import { shardOfKey } from '../core/ids/source-key.ts'
import { findRecords } from '../core/ingest/find-records.ts'
import type { BodyProblem, Found } from '../core/ingest/found.ts'
import type { KeptReading, Note, SetAside } from '../core/ingest/reading-record.ts'
import type { PumpAdvice, TakenIn } from '../core/ingest/take-in.ts'
import { conflictsIn, pumpAdvice, takeIn } from '../core/ingest/take-in.ts'
import type { Budgets } from '../core/limits.ts'
import { SET_ASIDE_SHOWN_MAX } from '../core/limits.ts'
import type { BurstGate } from './burst.ts'
import type { IngestStore, PostToKeep, SourceConfig, Stored } from './ingest-ports.ts'
import { postToKeep, wantsGoodPost } from './keep-post.ts'
import type { SourceCache } from './source-cache.ts'

export type IngestPorts = {
  readonly budgets: Budgets
  readonly randomBytes: (bytes: number) => Uint8Array
  readonly burst: BurstGate
  /** By shard; `undefined`: this deployment has no such database. */
  readonly shards: readonly {
    readonly shard: number
    readonly ingest: IngestStore
    readonly cache: SourceCache
  }[]
}

export type Post = {
  readonly contentType: string | null
  readonly mediaType: string | null
  /** Unzipped, as it came. */
  readonly bytes: Uint8Array<ArrayBuffer>
  readonly text: string | null
  /** Why there is no text. */
  readonly whyNoText: string | null
}

export type IngestAnswer = {
  readonly readAs: string
  readonly received: number
  readonly stored: number
  readonly repeated: number
  readonly setAsideTotal: number
  readonly setAside: readonly SetAside[]
  readonly notes?: readonly Note[]
  readonly pump: PumpAdvice
}

export type IngestRefusal =
  | { readonly refused: 'key' }
  | { readonly refused: 'burst'; readonly retryAfterS: number }
  | { readonly refused: 'allowance'; readonly retryAfterS: number; readonly limit: number }
  | { readonly refused: 'too_many_records'; readonly limit: number; readonly found: number }
  | ({ readonly refused: 'body' } & BodyProblem)

export type IngestResult = { readonly answer: IngestAnswer } | IngestRefusal

/** A source that is let in: whose post it is, before a byte of it has been read. */
export type Admitted = {
  readonly keyHash: string
  readonly store: IngestStore
  readonly cache: SourceCache
  readonly config: SourceConfig
  /** The limiter has answered. Never rejects. */
  readonly asked: Promise<void>
}

const BURST_RETRY_S = 60
const DAY_S = 86_400

export async function admit(
  ports: IngestPorts,
  ask: { readonly key: string; readonly isFromQuery: boolean; readonly nowS: number },
): Promise<Admitted | IngestRefusal> {
  const shard = ports.shards.find((candidate) => candidate.shard === shardOfKey(ask.key))
  if (shard === undefined) return { refused: 'key' }
  const keyHash = await sha256Hex(ask.key)
  const config = await shard.cache.get(keyHash, ask.nowS)
  if (config === null || (ask.isFromQuery && !config.isKeyInQuery)) return { refused: 'key' }
  const burst = await ports.burst.ask(config.id, ask.nowS)
  if (burst.isOver) return { refused: 'burst', retryAfterS: BURST_RETRY_S }
  if (shard.cache.rowsToday(keyHash, ask.nowS) >= ports.budgets.sourceRowsPerDay)
    return {
      refused: 'allowance',
      retryAfterS: DAY_S - (ask.nowS % DAY_S),
      limit: ports.budgets.sourceRowsPerDay,
    }
  return { keyHash, store: shard.ingest, cache: shard.cache, config, asked: burst.asked }
}

/** Times without their own get `receivedS`. Throws only if the database fails: then nothing is kept and the hub retries. */
export async function ingest(
  ports: IngestPorts,
  admitted: Admitted,
  work: { readonly post: Post; readonly receivedS: number; readonly nowS: number },
): Promise<IngestResult> {
  const [result] = await Promise.all([ingestOnce(ports, admitted, work), admitted.asked])
  if (result !== 'stale') return result
  // Recipe, rigs or band were changed since they were read: once more with the new ones.
  admitted.cache.forget(admitted.keyHash)
  const config = await admitted.cache.get(admitted.keyHash, work.nowS)
  if (config === null) return { refused: 'key' }
  const second = await ingestOnce(ports, { ...admitted, config }, work)
  if (second === 'stale') throw new Error('the source kept changing while its post was read')
  return second
}

type Work = { readonly post: Post; readonly receivedS: number; readonly nowS: number }

async function ingestOnce(
  ports: IngestPorts,
  admitted: Admitted,
  work: Work,
): Promise<IngestResult | 'stale'> {
  const { post, receivedS } = work
  const { config } = admitted
  const found =
    post.text === null
      ? ({ problem: 'not_parseable', detail: post.whyNoText ?? 'the body is no text' } as const)
      : findRecords({
          mediaType: post.mediaType,
          text: post.text,
          recipe: config.recipe,
          recipeVersion: config.recipeVersion,
          rigs: config.rigs.map((rig) => rig.slug),
          receivedS,
        })
  if ('problem' in found) return refuseBody(ports, admitted, work, found)
  if (found.records.length > ports.budgets.postRecordsMax)
    return { refused: 'too_many_records', limit: ports.budgets.postRecordsMax, found: found.records.length }
  const taken = takeIn(found, { rigs: config.rigs, receivedS })
  return storeTaken(ports, admitted, work, { found, taken })
}

async function refuseBody(
  ports: IngestPorts,
  admitted: Admitted,
  work: Work,
  problem: BodyProblem,
): Promise<IngestRefusal | 'stale'> {
  if (await isOutOfDate(admitted, work.nowS)) return 'stale'
  const keep = await postToKeep(ports, {
    kind: 'set-aside',
    ...work,
    config: admitted.config,
    readAs: null,
    result: problem,
  })
  await admitted.store.keepPost(admitted.config.sourceKey, keep)
  return { refused: 'body', ...problem }
}

/** No insert notices here that the recipe has just been mended: a body that cannot be read asks the database itself. */
async function isOutOfDate({ cache, keyHash, config }: Admitted, nowS: number): Promise<boolean> {
  cache.forget(keyHash)
  const now = await cache.get(keyHash, nowS)
  return now?.version !== config.version
}

async function storeTaken(
  ports: IngestPorts,
  admitted: Admitted,
  work: Work,
  read: { readonly found: Found; readonly taken: TakenIn },
): Promise<IngestResult | 'stale'> {
  const { keyHash, store, cache, config } = admitted
  const { taken, found } = read
  const early = {
    setAsideTotal: taken.setAside.length,
    setAside: taken.setAside.slice(0, SET_ASIDE_SHOWN_MAX),
  }
  const isGoodWanted = wantsGoodPost(config, cache.goodKeptS(keyHash), work.nowS)
  const kind = taken.setAside.length > 0 ? 'set-aside' : isGoodWanted ? 'good' : null
  const keepAs = (keepKind: 'set-aside' | 'good', result: unknown): Promise<PostToKeep> =>
    postToKeep(ports, { kind: keepKind, ...work, config, readAs: found.readAs, result })
  const result = await store.store({
    keyHash,
    version: config.version,
    sourceKey: config.sourceKey,
    readings: taken.readings,
    nowS: work.nowS,
    keep: kind === null ? null : await keepAs(kind, { received: found.records.length, ...early }),
  })
  if (result.kind === 'revoked') {
    cache.forget(keyHash)
    return { refused: 'key' }
  }
  if (result.kind === 'stale') return 'stale'
  if (kind === 'good') cache.keptGood(keyHash, work.nowS)
  const answer = answerOf(read, result, config)
  cache.addRows(keyHash, answer.stored, work.nowS)
  // The database alone knew of the conflicts: the post is kept now, and a failure here makes the hub send it again.
  if (kind !== 'set-aside' && answer.setAsideTotal > 0)
    await store.keepPost(config.sourceKey, await keepAs('set-aside', answer))
  return { answer }
}

/** What became of the records, once the database has said what it stored and what it holds. */
export function answerOf(
  read: { readonly found: Found; readonly taken: TakenIn },
  done: Stored,
  config: SourceConfig,
): IngestAnswer {
  const { taken, found } = read
  const refused = conflictsIn(taken.readings, done.held)
  const accepted = refused.size === 0 ? taken.readings : taken.readings.filter((_, at) => !refused.has(at))
  const conflicts =
    refused.size === 0 ? [] : taken.readings.filter((_, at) => refused.has(at)).map(conflictOf)
  const setAside =
    conflicts.length === 0
      ? taken.setAside
      : [...taken.setAside, ...conflicts].sort((a, b) => a.index - b.index)
  return {
    readAs: found.readAs,
    received: found.records.length,
    stored: done.stored,
    repeated: accepted.length - done.stored,
    setAsideTotal: setAside.length,
    setAside: setAside.slice(0, SET_ASIDE_SHOWN_MAX),
    ...(taken.notes.length > 0 ? { notes: taken.notes.slice(0, SET_ASIDE_SHOWN_MAX) } : {}),
    pump: pumpAdvice(accepted, config.rigs),
  }
}

function conflictOf(reading: KeptReading): SetAside {
  return {
    index: reading.index,
    pointer: '',
    reason: 'conflict',
    detail: 'there is already another value at this instant; the first one stays',
  }
}

async function sha256Hex(text: string): Promise<string> {
  const digest = new Uint8Array(await crypto.subtle.digest('SHA-256', new TextEncoder().encode(text)))
  let hex = ''
  for (const byte of digest) hex += byte.toString(16).padStart(2, '0')
  return hex
}
