import type { Hangar, Role } from '../../flows/people/ports.ts'
import type { HttpEnv } from './context.ts'

type At = HttpEnv['Variables']['at']

/** The hangar that the access check found on the path. Throws if it was bypassed: a broken invariant. */
export function hangarAt(at: At): Hangar {
  return placeAt(at).hangar
}

export function roleAt(at: At): Role {
  return placeAt(at).role
}

function placeAt(at: At): NonNullable<At> {
  if (at === null) throw new Error('an operation of a hangar was reached without its access check')
  return at
}
