/**
 * May this caller call this operation? The one place that decides it, from the operation's own description.
 * Somebody else's thing and a thing that is not there get the same answer, after the same single look-up.
 */
import type { Context } from 'hono'
import type { Caller, HttpEnv } from './context.ts'
import { doesWrite, isForTokens, paramNames, scopeOf, type OperationConfig } from './operation.ts'
import { refuse, type Refusal } from './problem.ts'

/** `null`: go ahead; `c.var.at` then holds the hangar and the caller's role in it, if the path leads to one. */
export async function authorize(c: Context<HttpEnv>, config: OperationConfig): Promise<Refusal | null> {
  const { caller } = c.var
  if (config.access === 'public') return null
  if (caller.kind === 'nobody') return refuse('unauthorized')
  const bySecret = refuseBySecret(caller, config)
  if (bySecret !== null) return bySecret
  return refuseByPlace(c, config)
}

const AT_BROWSER = 'This needs a person signed in at a browser.'

function refuseBySecret(caller: Caller, config: OperationConfig): Refusal | null {
  if (config.access === 'host' && caller.kind !== 'host') return refuse('forbidden')
  if (config.access === 'session' && !(caller.kind === 'person' && caller.by.kind === 'session'))
    return refuse('forbidden', { detail: AT_BROWSER })
  const isReader = caller.kind === 'person' && caller.by.kind === 'token' && caller.by.may === 'read'
  if (isReader && doesWrite(config)) return refuse('forbidden', { detail: 'This token may only read.' })
  return null
}

async function refuseByPlace(c: Context<HttpEnv>, config: OperationConfig): Promise<Refusal | null> {
  const scope = scopeOf(config)
  if (scope === null) return null
  const id = c.req.param(paramNames(config.path)[0] ?? '') ?? ''
  const { caller } = c.var
  const person = caller.kind === 'person' ? caller.person.id : null
  const standing = await c.var.ports.people.access.standing(scope, id, person)
  if (standing === null) return refuse('not-found')
  const role = caller.kind === 'host' ? 'keeper' : standing.role
  if (role === null) return refuse('not-found')
  const isDeleting = standing.hangar.deletingAtS !== null || standing.isLeaving
  if (isDeleting && config.whileDeleting !== true) return refuse('not-found')
  if (config.access === 'keeper' && role !== 'keeper') return refuse('forbidden')
  // After the look-up, so that somebody else's hangar still answers like one that is not there.
  if (!isForTokens(config) && caller.kind === 'person' && caller.by.kind === 'token')
    return refuse('forbidden', { detail: AT_BROWSER })
  c.set('at', { hangar: standing.hangar, role })
  return null
}
