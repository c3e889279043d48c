/**
 * What an isolate remembers about the sources that post to it: for a minute, and never trusted for writing, because the
 * insert checks key and version again. It also counts what each source stores, and adds that up in the database with
 * the next load: once a minute instead of once a post. An isolate that dies takes at most a minute's count with it.
 */
import { SOURCE_CACHE_MAX, SOURCE_CACHE_S } from '../core/limits.ts'
import type { IngestStore, SourceConfig } from './ingest-ports.ts'

type Known = {
  config: SourceConfig
  readS: number
  dayS: number
  /** Stored by this isolate since the config was read. */
  rows: number
  goodKeptS: number
}

export type SourceCache = {
  readonly get: (keyHash: string, nowS: number) => Promise<SourceConfig | null>
  readonly forget: (keyHash: string) => void
  readonly addRows: (keyHash: string, rows: number, nowS: number) => void
  readonly rowsToday: (keyHash: string, nowS: number) => number
  readonly goodKeptS: (keyHash: string) => number
  readonly keptGood: (keyHash: string, nowS: number) => void
}

const DAY_S = 86_400

export function sourceCache(store: Pick<IngestStore, 'load'>): SourceCache {
  const known = new Map<string, Known>()
  const load = async (
    keyHash: string,
    before: Known | undefined,
    nowS: number,
  ): Promise<SourceConfig | null> => {
    const count =
      before === undefined || before.rows === 0
        ? null
        : { sourceKey: before.config.sourceKey, dayS: before.dayS, rows: before.rows }
    known.delete(keyHash)
    const config = await store.load(keyHash, count, nowS)
    if (config === null) return null
    if (known.size >= SOURCE_CACHE_MAX) forgetOldest(known)
    known.set(keyHash, { config, readS: nowS, dayS: dayOf(nowS), rows: 0, goodKeptS: config.goodKeptS })
    return config
  }
  return {
    get: async (keyHash, nowS) => {
      const entry = known.get(keyHash)
      if (entry !== undefined && nowS - entry.readS < SOURCE_CACHE_S && nowS >= entry.readS)
        return entry.config
      return load(keyHash, entry, nowS)
    },
    forget: (keyHash) => {
      const entry = known.get(keyHash)
      if (entry !== undefined) entry.readS = Number.NEGATIVE_INFINITY
    },
    addRows: (keyHash, rows, nowS) => {
      const entry = known.get(keyHash)
      if (entry === undefined) return
      if (entry.dayS !== dayOf(nowS)) Object.assign(entry, { dayS: dayOf(nowS), rows: 0 })
      entry.rows += rows
    },
    rowsToday: (keyHash, nowS) => {
      const entry = known.get(keyHash)
      if (entry === undefined) return 0
      const counted = entry.config.dayS === dayOf(nowS) ? entry.config.dayRows : 0
      return counted + (entry.dayS === dayOf(nowS) ? entry.rows : 0)
    },
    goodKeptS: (keyHash) => known.get(keyHash)?.goodKeptS ?? 0,
    keptGood: (keyHash, nowS) => {
      const entry = known.get(keyHash)
      if (entry !== undefined) entry.goodKeptS = nowS
    },
  }
}

function dayOf(nowS: number): number {
  return nowS - (nowS % DAY_S)
}

function forgetOldest(known: Map<string, Known>): void {
  const oldest = known.keys().next()
  if (oldest.done !== true) known.delete(oldest.value)
}
