/** Passkeys: the library checks what the browser signed; here is what is asked for and what is believed. */
import {
  generateAuthenticationOptions,
  generateRegistrationOptions,
  verifyAuthenticationResponse,
  verifyRegistrationResponse,
  type AuthenticationResponseJSON,
  type RegistrationResponseJSON,
} from '@simplewebauthn/server'
import { decodeClientDataJSON } from '@simplewebauthn/server/helpers'
import { CHALLENGE_LIFE_S } from '../../core/limits.ts'
import type { Passkey, PasskeyPort, Person } from './ports.ts'
import { hashOf } from './secrets.ts'

/** `origin` is the address people use; passkeys belong to its host name. */
type Site = { readonly origin: string; readonly nowS: number }

export async function askPasskey(passkeys: PasskeyPort, person: Person, site: Site) {
  const known = await passkeys.ofPerson(person.id)
  const options = await generateRegistrationOptions({
    rpName: 'Beadwatch',
    rpID: new URL(site.origin).hostname,
    userName: person.name,
    userDisplayName: person.name,
    userID: Uint8Array.from(new TextEncoder().encode(person.id)),
    excludeCredentials: known.map(({ id, transports }) => ({ id, transports: [...transports] })),
    authenticatorSelection: { residentKey: 'required', userVerification: 'required' },
  })
  await keepChallenge(passkeys, { challenge: options.challenge, person: person.id, nowS: site.nowS })
  return options
}

/** `null` when the answer does not hold: wrong or used challenge, wrong site, bad signature. */
export async function addPasskey(
  passkeys: PasskeyPort,
  adding: { readonly person: Person; readonly name: string; readonly response: unknown },
  site: Site,
): Promise<Passkey | null> {
  const { response } = adding
  if (!isSigned(response)) return null
  const challenge = challengeIn(response)
  if (!(await takeChallenge(passkeys, { challenge, person: adding.person.id, nowS: site.nowS }))) return null
  const result = await attempt(() =>
    verifyRegistrationResponse({
      response,
      expectedChallenge: challenge,
      expectedOrigin: site.origin,
      expectedRPID: new URL(site.origin).hostname,
    }),
  )
  if (result === null || !result.verified) return null
  const { credential } = result.registrationInfo
  const passkey: Passkey = {
    id: credential.id,
    person: adding.person.id,
    publicKey: new Uint8Array(credential.publicKey),
    counter: credential.counter,
    transports: credential.transports ?? [],
    name: adding.name,
    madeAtS: site.nowS,
    usedAtS: null,
  }
  return (await passkeys.add(passkey)) ? passkey : null
}

export async function askSignIn(passkeys: PasskeyPort, site: Site) {
  const options = await generateAuthenticationOptions({
    rpID: new URL(site.origin).hostname,
    userVerification: 'required',
  })
  await keepChallenge(passkeys, { challenge: options.challenge, person: null, nowS: site.nowS })
  return options
}

/** The person's id, or `null`: unknown passkey and bad signature are the same to the caller. */
export async function signIn(passkeys: PasskeyPort, response: unknown, site: Site): Promise<string | null> {
  if (!isSigned(response)) return null
  const challenge = challengeIn(response)
  if (!(await takeChallenge(passkeys, { challenge, person: null, nowS: site.nowS }))) return null
  const passkey = await passkeys.byId(response.id)
  if (passkey === null) return null
  const result = await attempt(() =>
    verifyAuthenticationResponse({
      response,
      expectedChallenge: challenge,
      expectedOrigin: site.origin,
      expectedRPID: new URL(site.origin).hostname,
      credential: { id: passkey.id, publicKey: passkey.publicKey, counter: passkey.counter },
    }),
  )
  if (result === null || !result.verified) return null
  await passkeys.use(passkey.id, result.authenticationInfo.newCounter, site.nowS)
  return passkey.person
}

/** As far as we read it ourselves; the library looks at the rest, and refuses what has not its form. */
function isSigned(response: unknown): response is RegistrationResponseJSON & AuthenticationResponseJSON {
  if (typeof response !== 'object' || response === null) return false
  if (!('id' in response && 'response' in response) || typeof response.id !== 'string') return false
  const inner = response.response
  if (typeof inner !== 'object' || inner === null || !('clientDataJSON' in inner)) return false
  return typeof inner.clientDataJSON === 'string'
}

/** The challenge that the browser says it signed, empty if it says nothing readable. The signature is checked after. */
function challengeIn(answer: RegistrationResponseJSON): string {
  try {
    return decodeClientDataJSON(answer.response.clientDataJSON).challenge
  } catch {
    return ''
  }
}

/** The library throws for answers that are not in order; to us that is a refusal like any other. */
async function attempt<T>(verify: () => Promise<T>): Promise<T | null> {
  try {
    return await verify()
  } catch (cause) {
    if (cause instanceof Error) return null
    throw cause
  }
}

type Challenge = { readonly challenge: string; readonly person: string | null; readonly nowS: number }

async function keepChallenge(passkeys: PasskeyPort, kept: Challenge): Promise<void> {
  const hash = await hashOf(kept.challenge)
  await passkeys.addChallenge({ hash, person: kept.person, expiresAtS: kept.nowS + CHALLENGE_LIFE_S })
}

async function takeChallenge(passkeys: PasskeyPort, taken: Challenge): Promise<boolean> {
  return passkeys.takeChallenge({
    hash: await hashOf(taken.challenge),
    person: taken.person,
    nowS: taken.nowS,
  })
}
