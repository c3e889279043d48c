/** Oneself: name and units, signed-in devices, tokens for scripts. */
import type { z } from '@hono/zod-openapi'
import { TOKENS_PER_PERSON_MAX } from '../../../core/limits.ts'
import { isSessionLive, TOKEN_PREFIX } from '../../../flows/people/identify.ts'
import { linkDevice } from '../../../flows/people/invites.ts'
import type { PeoplePorts, Person } from '../../../flows/people/ports.ts'
import { hashOf, makeId, makeSecret } from '../../../flows/people/secrets.ts'
import { atBrowser, personOf } from '../caller.ts'
import type { App } from '../context.ts'
import { takeSession } from '../cookie.ts'
import { linkView } from '../link.ts'
import { pageOf } from '../page-of.ts'
import { refuse } from '../problem.ts'
import { meOperations as operations } from '../schemas/me.ts'
import type { me } from '../schemas/people.ts'
import { serve } from '../serve.ts'
import { mineView, personView, sessionView, tokenView } from '../views.ts'

export async function meView(people: PeoplePorts, person: Person | null): Promise<z.input<typeof me>> {
  if (person === null) return { kind: 'host', person: null, hangars: await allAsHost(people) }
  const hangars = await people.hangars.ofPerson(person.id)
  return { kind: 'person', person: personView(person), hangars: hangars.map(mineView) }
}

async function allAsHost(people: PeoplePorts) {
  const all = await people.hangars.all({ after: '', limit: 1000 })
  return all.map((hangar) => mineView({ hangar, role: 'keeper' }))
}

export function serveMe(app: App): void {
  serve(app, operations.readMe, ({ caller, ports }) => meView(ports.people, personOf(caller)))
  serve(app, operations.changeMe, async ({ caller, ports, body }) => {
    const { person } = atBrowser(caller)
    const changed: Person = {
      ...person,
      name: body.name ?? person.name,
      zone: body.zone ?? person.zone,
      unit: body.unit ?? person.unit,
    }
    await ports.people.persons.update(changed)
    return personView(changed)
  })
  serve(app, operations.removeMe, async ({ caller, ports, context }) => {
    const isGone = await ports.people.persons.remove(atBrowser(caller).person.id)
    if (!isGone) return refuse('last-keeper')
    takeSession(context)
    return undefined
  })
  serve(app, operations.makeDeviceLink, async ({ caller, ports, nowS, origin }) =>
    linkView(await linkDevice(ports.people.invites, atBrowser(caller).person, nowS), origin),
  )
  serveSessions(app)
  serveTokens(app)
}

function serveSessions(app: App): void {
  serve(app, operations.listSessions, async ({ caller, ports, query, nowS }) => {
    const { person, session } = atBrowser(caller)
    const all = await ports.people.sessions.ofPerson(person.id)
    const live = all.filter((each) => isSessionLive(each, nowS))
    const { items, next } = pageOf(live, ({ id }) => id, query)
    return { items: items.map((each) => sessionView(each, session)), next }
  })
  serve(app, operations.endSession, async ({ caller, ports, params, context }) => {
    const { person, session } = atBrowser(caller)
    if (!(await ports.people.sessions.end(person.id, params.session))) return refuse('not-found')
    if (params.session === session.id) takeSession(context)
    return undefined
  })
  serve(app, operations.endSessions, async ({ caller, ports, context }) => {
    await ports.people.sessions.endAll(atBrowser(caller).person.id)
    takeSession(context)
    return undefined
  })
  serve(app, operations.signOut, async ({ caller, ports, context }) => {
    const { person, session } = atBrowser(caller)
    await ports.people.sessions.end(person.id, session.id)
    takeSession(context)
    return undefined
  })
}

function serveTokens(app: App): void {
  serve(app, operations.listTokens, async ({ caller, ports, query }) => {
    const tokens = await ports.people.tokens.ofPerson(atBrowser(caller).person.id)
    const { items, next } = pageOf(tokens, ({ id }) => id, query)
    return { items: items.map(tokenView), next }
  })
  serve(app, operations.addToken, async ({ caller, ports, body, nowS }) => {
    const { person } = atBrowser(caller)
    if ((await ports.people.tokens.ofPerson(person.id)).length >= TOKENS_PER_PERSON_MAX)
      return refuse('conflict', { detail: `At most ${TOKENS_PER_PERSON_MAX} tokens: revoke one first.` })
    const secret = makeSecret(TOKEN_PREFIX)
    const made = { id: makeId(), person: person.id, name: body.name, may: body.may }
    const token = { ...made, madeAtS: nowS, expiresAtS: nowS + body.lifeS, usedAtS: null }
    await ports.people.tokens.add(await hashOf(secret), token)
    return { ...tokenView(token), token: secret }
  })
  serve(app, operations.removeToken, async ({ caller, ports, params }) => {
    const isGone = await ports.people.tokens.remove(atBrowser(caller).person.id, params.token)
    return isGone ? undefined : refuse('not-found')
  })
}
