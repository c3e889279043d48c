/** The caller, narrowed to what an operation's `access` has already made sure of. */
import type { Person, Session } from '../../flows/people/ports.ts'
import type { Caller } from './context.ts'

export type AtBrowser = { readonly person: Person; readonly session: Session }

/** For operations with `access: 'session'`. Throws if the access check was bypassed: a broken invariant. */
export function atBrowser(caller: Caller): AtBrowser {
  if (caller.kind === 'person' && caller.by.kind === 'session')
    return { person: caller.person, session: caller.by.session }
  throw new Error('an operation for a session was reached without one')
}

/** The person, or `null` for the host. */
export function personOf(caller: Caller): Person | null {
  return caller.kind === 'person' ? caller.person : null
}
