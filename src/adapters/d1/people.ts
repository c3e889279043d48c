/** All that is stored about people, in the first of the databases. */
import type { PeoplePorts } from '../../flows/people/ports.ts'
import { accessPort } from './people-access.ts'
import { expiryPort } from './people-expiry.ts'
import { hangarPort } from './people-hangars.ts'
import { invitePort } from './people-invites.ts'
import { passkeyPort, personPort, sessionPort, tokenPort } from './people-sign-in.ts'

export function peoplePorts(databases: readonly [D1Database, ...D1Database[]]): PeoplePorts {
  const [db] = databases
  return {
    access: accessPort(databases),
    persons: personPort(db),
    hangars: hangarPort(db),
    invites: invitePort(db),
    sessions: sessionPort(db),
    passkeys: passkeyPort(db),
    tokens: tokenPort(db),
    expiry: expiryPort(db),
  }
}
