/** Links into hangars and onto other devices. */
import { INVITES_PER_HANGAR_MAX } from '../../../core/limits.ts'
import { acceptInvite, inviteTo, openInvite } from '../../../flows/people/invites.ts'
import { deviceLabel } from '../../../flows/people/sessions.ts'
import { personOf } from '../caller.ts'
import type { App } from '../context.ts'
import { giveSession } from '../cookie.ts'
import { linkView } from '../link.ts'
import { pageOf } from '../page-of.ts'
import { hangarAt } from '../place.ts'
import { refuse } from '../problem.ts'
import { inviteOperations as operations } from '../schemas/hangars.ts'
import { serve } from '../serve.ts'
import { timeOf } from '../time.ts'
import { inviteView } from '../views.ts'
import { meView } from './me.ts'

export function serveInvites(app: App): void {
  serve(app, operations.inviteMember, async ({ at, ports, body, nowS, origin }) => {
    const hangar = hangarAt(at).id
    const invites = await ports.people.invites.ofHangar(hangar)
    const open = invites.filter(({ usedAtS, expiresAtS }) => usedAtS === null && expiresAtS > nowS)
    if (open.length >= INVITES_PER_HANGAR_MAX)
      return refuse('conflict', {
        detail: `At most ${INVITES_PER_HANGAR_MAX} open invites a hangar: take some back first.`,
      })
    const grants = [{ hangar, role: body.role }]
    const to = { hangar, grants, name: body.name ?? null }
    return linkView(await inviteTo(ports.people.invites, to, nowS), origin)
  })
  serve(app, operations.listInvites, async ({ at, ports, query }) => {
    const invites = await ports.people.invites.ofHangar(hangarAt(at).id)
    const { items, next } = pageOf(invites, ({ id }) => id, query)
    return { items: items.map(inviteView), next }
  })
  serve(app, operations.removeInvite, async ({ at, ports, params }) => {
    const isGone = await ports.people.invites.remove(hangarAt(at).id, params.invite)
    return isGone ? undefined : refuse('not-found')
  })
  serve(app, operations.inviteToHangars, async ({ ports, body, nowS, origin }) => {
    const ids = new Set(body.hangars.map((grant) => grant.hangar))
    const known = await ports.people.hangars.named([...ids])
    if (known.length !== ids.size) return refuse('not-found')
    const to = { hangar: null, grants: body.hangars, name: body.name ?? null }
    return linkView(await inviteTo(ports.people.invites, to, nowS), origin)
  })
  serveUse(app)
}

function serveUse(app: App): void {
  serve(app, operations.readInvite, async ({ ports, body, nowS }) => {
    const invite = await openInvite(ports.people.invites, body.token, nowS)
    if (invite === null) return refuse('gone')
    const hangars = await ports.people.hangars.named(invite.grants.map((grant) => grant.hangar))
    const names = new Map(hangars.map((hangar) => [hangar.id, hangar.name]))
    return {
      kind: invite.person === null ? ('join' as const) : ('device' as const),
      name: invite.name,
      hangars: invite.grants.flatMap(({ hangar, role }) => {
        const name = names.get(hangar)
        return name === undefined ? [] : [{ name, role }]
      }),
      expiresAt: timeOf(invite.expiresAtS),
    }
  })
  serve(app, operations.acceptInvite, async ({ caller, ports, body, nowS, context }) => {
    const accepted = await acceptInvite(ports.people, {
      secret: body.token,
      signedIn: personOf(caller),
      asNew: { name: body.name ?? null, zone: body.zone ?? null, unit: body.unit ?? null },
      label: deviceLabel(context.req.header('user-agent') ?? ''),
      nowS,
    })
    if (accepted === null) return refuse('gone')
    if (accepted.session !== null) giveSession(context, accepted.session)
    return meView(ports.people, accepted.person)
  })
}
