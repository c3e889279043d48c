/**
 * The API as types, for callers in TypeScript: `Api['GET /v1/me']['answer']`. Worked out from the schemas of the
 * operations alone, so that checking a caller does not drag the server's handlers along.
 */
import type { AnswerOf, BodyInOf, ParamsOf, QueryInOf } from '../operation.ts'
import type { deviceOperations } from './devices.ts'
import type { exportOperations } from './exports.ts'
import type { hangarOperations, inviteOperations } from './hangars.ts'
import type { healthOperations } from './health.ts'
import type { historyOperations } from './history.ts'
import type { alertOperations } from './alerts.ts'
import type { logbookOperations } from './logbook.ts'
import type { meOperations, passkeyOperations } from './me.ts'
import type { rigOperations } from './rigs.ts'
import type { sizingOperations } from './sizing.ts'
import type { sourceOperations } from './sources.ts'

type All = typeof hangarOperations &
  typeof inviteOperations &
  typeof healthOperations &
  typeof meOperations &
  typeof passkeyOperations &
  typeof rigOperations &
  typeof alertOperations &
  typeof logbookOperations &
  typeof exportOperations &
  typeof historyOperations &
  typeof sizingOperations &
  typeof sourceOperations &
  typeof deviceOperations

type Each = All[keyof All]

export type Api = {
  [O in Each as `${Uppercase<O['method']>} ${O['path']}`]: {
    readonly params: ParamsOf<O>
    /** As sent: what has a default may be left out. */
    readonly query: QueryInOf<O>
    readonly body: BodyInOf<O>
    readonly answer: AnswerOf<O>
  }
}

export type { Problem } from './problem.ts'
