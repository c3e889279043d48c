/** Coming back with a passkey. */
import { PASSKEYS_PER_PERSON_MAX } from '../../../core/limits.ts'
import { addPasskey, askPasskey, askSignIn, signIn } from '../../../flows/people/passkeys.ts'
import { deviceLabel, newSession, startSession } from '../../../flows/people/sessions.ts'
import { atBrowser } from '../caller.ts'
import type { App } from '../context.ts'
import { giveSession } from '../cookie.ts'
import { pageOf } from '../page-of.ts'
import { refuse } from '../problem.ts'
import { passkeyOperations as operations } from '../schemas/me.ts'
import { serve } from '../serve.ts'
import { passkeyView } from '../views.ts'
import { meView } from './me.ts'

export function servePasskeys(app: App): void {
  serve(app, operations.listPasskeys, async ({ caller, ports, query }) => {
    const passkeys = await ports.people.passkeys.ofPerson(atBrowser(caller).person.id)
    const { items, next } = pageOf(passkeys, ({ id }) => id, query)
    return { items: items.map(passkeyView), next }
  })
  serve(app, operations.askPasskey, async ({ caller, ports, origin, nowS }) => {
    const { person } = atBrowser(caller)
    if ((await ports.people.passkeys.ofPerson(person.id)).length >= PASSKEYS_PER_PERSON_MAX)
      return refuse('conflict', { detail: `At most ${PASSKEYS_PER_PERSON_MAX} passkeys: remove one first.` })
    return { ...(await askPasskey(ports.people.passkeys, person, { origin, nowS })) }
  })
  serve(app, operations.addPasskey, async ({ caller, ports, body, origin, nowS }) => {
    const adding = { person: atBrowser(caller).person, name: body.name, response: body.response }
    const passkey = await addPasskey(ports.people.passkeys, adding, { origin, nowS })
    return passkey === null
      ? refuse('invalid', { detail: 'The passkey could not be verified.' })
      : passkeyView(passkey)
  })
  serve(app, operations.removePasskey, async ({ caller, ports, params }) => {
    const isGone = await ports.people.passkeys.remove(atBrowser(caller).person.id, params.passkey)
    return isGone ? undefined : refuse('not-found')
  })
  serveSignIn(app)
}

function serveSignIn(app: App): void {
  serve(app, operations.askSignIn, async ({ ports, origin, nowS }) => ({
    ...(await askSignIn(ports.people.passkeys, { origin, nowS })),
  }))
  serve(app, operations.signIn, async ({ ports, body, origin, nowS, context }) => {
    const id = await signIn(ports.people.passkeys, body.response, { origin, nowS })
    const person = id === null ? null : await ports.people.persons.byId(id)
    if (person === null) return refuse('unauthorized')
    const label = deviceLabel(context.req.header('user-agent') ?? '')
    const started = await newSession(person.id, label, nowS)
    await startSession(ports.people.sessions, started)
    giveSession(context, started.secret)
    return meView(ports.people, person)
  })
}
