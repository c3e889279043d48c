/** What a body reader hands on: the records it found, and how their fields are to be taken. */
import type { RawRecord, SetAsideReason } from './reading-record.ts'
import type { ReadingTerms } from './read-record.ts'
import { SAME } from './units.ts'

/** A record that its body reader already knows cannot be taken. */
export type Unfit = { readonly pointer: string; readonly reason: SetAsideReason; readonly detail: string }

export type BodyTerms = Omit<ReadingTerms, 'rigs' | 'receivedS'>

export type Found = {
  /** In words, for the answer. */
  readonly readAs: string
  readonly records: readonly (RawRecord | Unfit)[]
  readonly terms: BodyTerms
}

export type BodyProblem = {
  readonly problem: 'not_parseable' | 'no_record' | 'unsupported_type'
  readonly detail: string
  readonly errors?: readonly { readonly pointer: string; readonly detail: string }[]
}

export type FindResult = Found | BodyProblem

export function isUnfit(record: RawRecord | Unfit): record is Unfit {
  return 'reason' in record
}

export const NATIVE_TERMS: BodyTerms = {
  pointers: {
    at: '/at',
    humidity: '/humidity',
    temperature: '/temperature',
    pump: '/pump',
    power: '/power',
    place: '/place',
    rig: '/rig',
  },
  humidity: SAME,
  temperature: SAME,
  power: SAME,
  timeUnit: null,
  pumpWords: null,
  localToUtcS: null,
  clockOffsetS: 0,
  isEmptyMissing: false,
}
