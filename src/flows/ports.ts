/**
 * What the flows of the data path need from outside: one `ShardPorts` a database, and the few things that are not pure.
 * Times are Unix seconds (`...S`), ids are public ids unless a name says key. "Not there" is `null` or `false`.
 */
import type { Place, Reading } from '../core/fold/inputs.ts'
import type { AlertEvent, Cycle, ExposureDay, Fill, Rollup, RuleName, Urgency } from '../core/fold/outputs.ts'
import type { HistoryStore } from './history.ts'
import type { IngestStore } from './ingest-ports.ts'
import type { CheckStore } from './check-ports.ts'

/** rig.json as it was given and checked; `readRigFile` turns it into the settings of the analysis. */
export type RigFile = Readonly<Record<string, unknown>>

/** A cursor is opaque: hand back what the last page gave. */
export type Page = { readonly after: string | null; readonly limit: number }
export type Paged<T> = { readonly items: readonly T[]; readonly next: string | null }

export type RigRow = {
  readonly id: string
  readonly hangar: string
  readonly slug: string
  readonly name: string
  readonly madeS: number
}

export type DatedRigFile = { readonly fromS: number; readonly settings: RigFile }

export type RigStore = {
  readonly add: (rig: {
    readonly hangar: string
    readonly slug: string
    readonly name: string
    readonly settings: RigFile
    readonly nowS: number
  }) => Promise<{ readonly rig: RigRow } | { readonly reason: 'slug_taken' }>
  readonly ofHangar: (hangar: string) => Promise<readonly RigRow[]>
  readonly byId: (id: string) => Promise<RigRow | null>
  readonly change: (
    id: string,
    change: { readonly name?: string; readonly slug?: string },
  ) => Promise<'done' | 'slug_taken' | 'none'>
  /** Oldest first. The first one holds for everything before it too. */
  readonly settings: (id: string) => Promise<readonly DatedRigFile[]>
  /** The same for all rigs of a hangar, by rig, in one query. */
  readonly settingsOfHangar: (hangar: string) => Promise<ReadonlyMap<string, readonly DatedRigFile[]>>
  /** Replaces what was said for the same `fromS`; rewinds the analysis if that time has passed. */
  readonly setSettings: (
    id: string,
    change: { readonly fromS: number; readonly settings: RigFile },
  ) => Promise<void>
  /** Those that begin at just this time; a rig's first ones stay. */
  readonly removeSettings: (id: string, fromS: number) => Promise<void>
  /** Rigs that are being deleted, of one hangar or (`null`) of all. */
  readonly leaving: (hangar: string | null, limit: number) => Promise<readonly string[]>
  /**
   * Hides the rig at once, then removes up to about `budget` rows of what belongs to it, itself last. Call again until
   * done.
   */
  readonly removeStep: (
    id: string,
    budget: number,
    nowS: number,
  ) => Promise<{ readonly isDone: boolean; readonly removed: number }>
}

export type SourceRow = {
  readonly id: string
  readonly hangar: string
  readonly name: string
  readonly rigs: readonly string[]
  readonly isKeyInQuery: boolean
  readonly recipe: unknown
  readonly recipeVersion: number
  readonly madeS: number
  readonly keys: readonly { readonly id: string; readonly madeS: number; readonly revokedS: number | null }[]
  /** Newest reading of its rigs, s. */
  readonly heardS: number | null
}

export type SourceStore = {
  /** `rigs` are slugs of the same hangar. */
  readonly add: (source: {
    readonly hangar: string
    readonly name: string
    readonly rigs: readonly string[]
    readonly isKeyInQuery: boolean
    readonly recipe: unknown
    readonly nowS: number
  }) => Promise<{ readonly id: string } | { readonly reason: 'unknown_rig'; readonly slug: string }>
  readonly ofHangar: (hangar: string) => Promise<readonly SourceRow[]>
  readonly byId: (id: string) => Promise<SourceRow | null>
  readonly change: (
    id: string,
    change: { readonly name?: string; readonly rigs?: readonly string[]; readonly isKeyInQuery?: boolean },
  ) => Promise<'done' | 'none' | { readonly reason: 'unknown_rig'; readonly slug: string }>
  readonly remove: (id: string) => Promise<boolean>
  /** Saves the next version; `null` goes back to native names. Gives the version. */
  readonly setRecipe: (id: string, recipe: unknown, nowS: number) => Promise<number | null>
  /** The key is shown this once. Two may be live at a time. */
  readonly addKey: (
    id: string,
    nowS: number,
  ) => Promise<{ readonly id: string; readonly key: string } | { readonly reason: 'two_live' | 'none' }>
  readonly revokeKey: (id: string, key: string, nowS: number) => Promise<boolean>
}

export type LogRow = {
  readonly id: string
  readonly atS: number
  readonly what: string
  readonly detail: Readonly<Record<string, string>>
  readonly by: string | null
  readonly madeS: number
}

/** Each change rewinds the analysis to before the entry, in the same transaction. */
export type LogbookStore = {
  /** Newest first. */
  readonly ofRig: (
    rig: string,
    page: Page & { readonly fromS?: number; readonly toS?: number },
  ) => Promise<Paged<LogRow>>
  readonly add: (
    rig: string,
    entry: {
      readonly atS: number
      readonly what: string
      readonly detail: Readonly<Record<string, string>>
      readonly by: string | null
      readonly nowS: number
    },
  ) => Promise<LogRow | null>
  readonly change: (
    rig: string,
    entry: string,
    change: {
      readonly atS?: number
      readonly what?: string
      readonly detail?: Readonly<Record<string, string>>
    },
  ) => Promise<LogRow | null>
  readonly remove: (rig: string, entry: string) => Promise<boolean>
}

export type AlertRow = {
  readonly id: string
  readonly rig: string
  readonly hangar: string
  readonly rule: RuleName
  readonly urgency: Urgency
  readonly state: 'open' | 'seen' | 'over'
  readonly sinceS: number
  readonly raisedAtS: number
  readonly overAtS: number | null
  /** Set when a late reading or entry showed that it never held. */
  readonly overWhy: 'late-input' | null
  readonly seenAtS: number | null
  readonly seenBy: string | null
  readonly evidence: AlertEvent['evidence']
}

export type AlertStore = {
  /** All that are not over, of these hangars: urgency first, then oldest. */
  readonly open: (hangars: readonly string[]) => Promise<readonly AlertRow[]>
  /** Newest first. */
  readonly ofRig: (rig: string, page: Page) => Promise<Paged<AlertRow>>
  readonly byId: (id: string) => Promise<AlertRow | null>
  /** For the whole hangar. A rise in urgency opens it again. False if it is not there; true again is no change. */
  readonly markSeen: (id: string, by: string, nowS: number) => Promise<boolean>
}

export type TracePoint = {
  readonly atS: number
  readonly humidityPct: number | null
  readonly tempC: number | null
  /** Over the stretch that this point stands for, % RH. */
  readonly minPct: number | null
  readonly maxPct: number | null
}

export type Trace = {
  readonly series: readonly { readonly place: Place; readonly points: readonly TracePoint[] }[]
  readonly gaps: readonly { readonly fromS: number; readonly toS: number }[]
  readonly runs: readonly { readonly fromS: number; readonly toS: number; readonly basis: Cycle['basis'] }[]
  readonly marks: readonly LogRow[]
  /** What the points were made from. */
  readonly basis: 'readings' | 'hours' | 'days'
}

export type TraceStore = {
  /** At most `points` a place; extremes are kept. `null` if there is no such rig. */
  readonly trace: (
    rig: string,
    span: { readonly fromS: number; readonly toS: number; readonly points: number },
  ) => Promise<Trace | null>
  /** Newest first. */
  readonly cycles: (rig: string, page: Page) => Promise<Paged<Cycle>>
  readonly fills: (rig: string) => Promise<readonly Fill[]>
  /** Closed UTC days that begin in [fromS, toS), and the start of the last there is; `null`: none. */
  readonly exposure: (
    rig: string,
    span: { readonly fromS: number; readonly toS: number },
  ) => Promise<{ readonly days: readonly ExposureDay[]; readonly lastS: number | null }>
  readonly rollups: (
    rig: string,
    span: {
      readonly place: Place
      readonly spanS: 3600 | 86400
      readonly fromS: number
      readonly toS: number
    },
  ) => Promise<readonly Rollup[]>
  /** The newest reading of each place. */
  readonly latest: (rig: string) => Promise<readonly Reading[]>
  /** What the analysis holds now: its body (JSON), its grid time, and the oldest late input not yet worked in. */
  readonly memory: (rig: string) => Promise<{
    readonly gridS: number
    readonly reachedS: number
    /** Readings before this were removed; 0: none were. */
    readonly readingsFromS: number
    readonly rewindFromS: number | null
    readonly setBackUntilS: number | null
    readonly body: string | null
  } | null>
}

export type KeptPost = {
  readonly id: string
  readonly kind: 'set-aside' | 'good'
  readonly atS: number
  readonly contentType: string | null
  readonly body: string
  readonly isCut: boolean
  readonly readAs: string | null
  readonly recipeVersion: number
  readonly result: unknown
  readonly replayedS: number | null
}

/** A post in a list: of a long body only the start. */
export type ShownPost = KeptPost & { readonly isBodyCut: boolean }

export type PostStore = {
  /** Newest first; counts as having the Hub page open. `null`: no such source. */
  readonly ofSource: (
    source: string,
    page: { readonly after: string | null; readonly limit: number },
    nowS: number,
  ) => Promise<Paged<ShownPost> | null>
  readonly byId: (source: string, post: string) => Promise<KeptPost | null>
}

export type ExportStore = {
  /** All readings in the order of place and time, a page at a time. */
  readonly readings: (rig: string) => AsyncIterable<readonly Reading[]>
  /** All hours and days, likewise. */
  readonly rollups: (rig: string) => AsyncIterable<readonly Rollup[]>
}

export type OwnerStore = {
  /** The hangar a rig, source or alert belongs to. */
  readonly hangarOf: (kind: 'rig' | 'source' | 'alert', id: string) => Promise<string | null>
}

export type HealthStore = {
  readonly schedule: () => Promise<{ readonly checkedS: number; readonly behind: number }>
  readonly setBack: (
    nowS: number,
  ) => Promise<readonly { readonly rig: string; readonly untilS: number; readonly failure: string | null }[]>
}

export type RetentionStore = {
  /** Removes up to `rowsMax` readings older than they are kept, of the next `rigsMax` rigs. Gives how many. */
  readonly clean: (
    nowS: number,
    most: { readonly rowsMax: number; readonly rigsMax: number },
  ) => Promise<number>
}

export type ShardPorts = {
  readonly retention: RetentionStore
  readonly shard: number
  readonly ingest: IngestStore
  readonly checks: CheckStore
  readonly rigs: RigStore
  readonly sources: SourceStore
  readonly logbook: LogbookStore
  readonly alerts: AlertStore
  readonly traces: TraceStore
  readonly exports: ExportStore
  readonly history: HistoryStore
  readonly posts: PostStore
}

export type LaterPorts = {
  readonly owners: OwnerStore
  readonly health: HealthStore
}
