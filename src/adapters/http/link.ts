import type { MadeInvite } from '../../flows/people/invites.ts'
import { timeOf } from './time.ts'

/** The secret stands in the fragment: browsers send it to no server, so it is in no log on the way. */
export function linkView(made: MadeInvite, origin: string) {
  return {
    id: made.invite.id,
    link: `${origin}/join#${made.secret}`,
    token: made.secret,
    expiresAt: timeOf(made.invite.expiresAtS),
  }
}
