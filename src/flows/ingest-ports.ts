/** What taking in a post needs from the database of its hangar. */
import type { Recipe } from '../core/ingest/recipe.ts'
import type { KeptReading } from '../core/ingest/reading-record.ts'

export type SourceRig = {
  readonly key: number
  readonly slug: string
  readonly band: { readonly startPct: number; readonly stopPct: number }
  /** Logged off: the pump is nobody's business. */
  readonly isOff: boolean
}

/** All that is known about a source while reading its posts; the version tells whether it still holds. */
export type SourceConfig = {
  readonly sourceKey: number
  readonly id: string
  readonly version: number
  readonly isKeyInQuery: boolean
  /** Checked when it was saved; `null`: native names. */
  readonly recipe: Recipe | null
  readonly recipeVersion: number
  readonly rigs: readonly SourceRig[]
  /** Readings stored so far on the UTC day that begins at `dayS`. */
  readonly dayS: number
  readonly dayRows: number
  readonly goodKeptS: number
  readonly watchedUntilS: number
}

/** A post to be kept: the whole body as it came. */
export type PostToKeep = {
  readonly kind: 'set-aside' | 'good'
  readonly id: string
  readonly atS: number
  readonly contentType: string | null
  readonly body: Uint8Array
  readonly isZipped: boolean
  readonly isCut: boolean
  readonly readAs: string | null
  readonly recipeVersion: number
  readonly result: unknown
}

export type StoreRequest = {
  readonly keyHash: string
  readonly version: number
  readonly sourceKey: number
  readonly readings: readonly KeptReading[]
  readonly nowS: number
  readonly keep: PostToKeep | null
}

/** A reading as it is in the database now. */
export type HeldReading = Omit<KeptReading, 'index'>

export type Stored = {
  /** Readings that were new or filled something. */
  readonly stored: number
  /** Where some were neither: what is there now of the identities in the request. */
  readonly held: readonly HeldReading[]
}

export type StoreResult =
  | ({ readonly kind: 'stored' } & Stored)
  /** The key is no longer good: nothing was written. */
  | { readonly kind: 'revoked' }
  /** Recipe, rigs or band have changed since the config was read: nothing was written. */
  | { readonly kind: 'stale' }

/** A kept post read again. `token` is random and new. */
export type ReplayRequest = {
  readonly post: string
  readonly token: string
  /** Nothing is set aside so far: kept with the post, which is then done with, unless the database refuses a reading. */
  readonly wholeResult: unknown
  readonly readings: readonly KeptReading[]
  readonly nowS: number
}

export type ReplayResult =
  | ({ readonly kind: 'stored' } & Stored)
  /** Nothing was written. */
  | { readonly kind: 'replayed_before' }

export type IngestStore = {
  /** The same for a source by its public id, whatever keys it has. */
  readonly loadOf: (source: string, nowS: number) => Promise<SourceConfig | null>
  /** One round trip, one transaction. */
  readonly replay: (request: ReplayRequest) => Promise<ReplayResult>
  /** What is still set aside of a post after its replay with this token, kept unless another came after. */
  readonly leaveOpen: (
    post: Pick<ReplayRequest, 'post' | 'token'> & { readonly result: unknown },
  ) => Promise<void>
  /** `null`: no such key, or revoked. Adds `rows` to the day's count of a source in the same round trip. */
  readonly load: (
    keyHash: string,
    count: { readonly sourceKey: number; readonly dayS: number; readonly rows: number } | null,
    nowS: number,
  ) => Promise<SourceConfig | null>
  /** One round trip, one transaction. */
  readonly store: (request: StoreRequest) => Promise<StoreResult>
  /** For a post whose conflicts only the database knew, or that could not be read at all. */
  readonly keepPost: (sourceKey: number, post: PostToKeep) => Promise<void>
}
