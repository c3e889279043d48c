/** Composition: from what the platform binds to the ports that the flows and the API ask for. */
import { peoplePorts } from './adapters/d1/people.ts'
import { healthPort } from './adapters/d1/health.ts'
import { shardPorts } from './adapters/d1/shard.ts'
import type { HttpPorts } from './adapters/http/context.ts'
import { BUDGETS } from './core/limits.ts'
import type { Budgets } from './core/limits.ts'
import type { Env } from './env.ts'
import { openLog } from './wire-log.ts'
import { openDevices, openPush, sweeps } from './wire-messages.ts'
import { spreadBatches } from './wire-schedule.ts'
import type { ScheduleWork } from './wire-schedule.ts'
import { burstGate } from './flows/burst.ts'
import { cachedHealth } from './flows/health.ts'
import type { IngestPorts } from './flows/ingest.ts'
import { sweepPeople } from './flows/people/sweep.ts'
import type { ShardPorts } from './flows/ports.ts'
import { sourceCache } from './flows/source-cache.ts'

/** One set of ports an isolate and environment: the few things they remember stay useful from request to request. */
const opened = new WeakMap<object, Opened>()

export function openHttp(env: Env): HttpPorts {
  return openAll(env).http
}

export function openSchedule(env: Env): ScheduleWork {
  return openAll(env).schedule
}

type Opened = { readonly http: HttpPorts; readonly schedule: ScheduleWork }

function openAll(env: Env): Opened {
  const known = opened.get(env)
  if (known !== undefined) return known
  const databases = databasesOf(env)
  const shards = databases.map((db, shard) => shardPorts(db, shard, randomBytes))
  const log = openLog(env.DB)
  const push = openPush(env, log)
  const http: HttpPorts = {
    people: peoplePorts(databases),
    ingest: ingestPorts(env, shards),
    shards,
    health: cachedHealth(healthPort(databases)),
    messages: openDevices(env, push),
    attempts: { allow: async (address) => (await env.ATTEMPTS.limit({ key: address })).success },
    log,
    nowS: () => Math.floor(Date.now() / 1000),
    hostToken: env.HOST_TOKEN === undefined || env.HOST_TOKEN === '' ? null : env.HOST_TOKEN,
    publicOrigin: env.PUBLIC_ORIGIN === undefined || env.PUBLIC_ORIGIN === '' ? null : env.PUBLIC_ORIGIN,
  }
  const budgets = budgetsOf(env)
  const cleaning = { rowsMax: budgets.retentionRowsMax, rigsMax: budgets.retentionRigsMax }
  const sendMessages = sweeps({ databases, push, budgets, log, queue: env.WORK })
  const schedule: ScheduleWork = {
    checks: { budgets, randomBytes, shards, spread: (batches) => spreadBatches(env.WORK, batches), log },
    budgets,
    log,
    sendMessages,
    after: [
      ['messages', (nowS) => sendMessages({ scheduledS: nowS, nth: 0 })],
      ['retention', (nowS) => Promise.all(shards.map(({ retention }) => retention.clean(nowS, cleaning)))],
      ['people', (nowS) => sweepPeople({ people: http.people, shards }, nowS)],
    ],
  }
  const all = { http, schedule }
  opened.set(env, all)
  return all
}

/** `DB` is shard 0 and holds the directory; further ones are bound as `DB_1`, `DB_2`, without a hole. */
function databasesOf(env: Env): readonly [D1Database, ...D1Database[]] {
  const databases: [D1Database, ...D1Database[]] = [env.DB]
  for (let shard = 1; ; shard++) {
    const next: unknown = Reflect.get(env, `DB_${shard}`)
    if (!isDatabase(next)) return databases
    databases.push(next)
  }
}

function isDatabase(value: unknown): value is D1Database {
  return typeof value === 'object' && value !== null && 'prepare' in value && 'batch' in value
}

function ingestPorts(env: Env, shards: readonly ShardPorts[]): IngestPorts {
  return {
    budgets: budgetsOf(env),
    randomBytes,
    burst: burstGate(async (source) => (await env.BURST.limit({ key: source })).success),
    shards: shards.map(({ shard, ingest }) => ({ shard, ingest, cache: sourceCache(ingest) })),
  }
}

function budgetsOf(env: Env): Budgets {
  return env.PLAN === 'paid' ? BUDGETS.paid : BUDGETS.free
}

function randomBytes(bytes: number): Uint8Array {
  return crypto.getRandomValues(new Uint8Array(bytes))
}
