/** All that is stored about people, in the first database. */
import type { PeoplePorts } from '../../flows/people/ports.ts'
import { accessPort } from './people-access.ts'
import { hangarPort } from './people-hangars.ts'
import { invitePort } from './people-invites.ts'
import { passkeyPort, personPort, sessionPort, tokenPort } from './people-sign-in.ts'

export function peoplePorts(db: D1Database): PeoplePorts {
  return {
    access: accessPort(db),
    persons: personPort(db),
    hangars: hangarPort(db),
    invites: invitePort(db),
    sessions: sessionPort(db),
    passkeys: passkeyPort(db),
    tokens: tokenPort(db),
  }
}
