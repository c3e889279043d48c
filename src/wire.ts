/** Composition: from what the platform binds to the ports that the flows and the API ask for. */
import { peoplePorts } from './adapters/d1/people.ts'
import { healthPort } from './adapters/d1/health.ts'
import type { HttpPorts } from './adapters/http/context.ts'
import type { Env } from './env.ts'
import { cachedHealth } from './flows/health.ts'

/** One set of ports an isolate and environment: the few things they remember stay useful from request to request. */
const opened = new WeakMap<object, HttpPorts>()

export function openHttp(env: Env): HttpPorts {
  const known = opened.get(env)
  if (known !== undefined) return known
  const ports: HttpPorts = {
    people: peoplePorts(env.DB),
    belongings: { removeStep: () => Promise.resolve({ isDone: true, removed: 0 }) },
    health: cachedHealth(healthPort([env.DB])),
    attempts: { allow: async (address) => (await env.ATTEMPTS.limit({ key: address })).success },
    // oxlint-disable-next-line no-console -- the platform collects what is written here
    log: (line) => console.log(JSON.stringify(line)),
    nowS: () => Math.floor(Date.now() / 1000),
    hostToken: env.HOST_TOKEN === undefined || env.HOST_TOKEN === '' ? null : env.HOST_TOKEN,
    publicOrigin: env.PUBLIC_ORIGIN === undefined || env.PUBLIC_ORIGIN === '' ? null : env.PUBLIC_ORIGIN,
  }
  opened.set(env, ports)
  return ports
}
