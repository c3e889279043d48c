/** What the local server asks its own API, as the host. */
import * as z from 'zod'

export type Host = { readonly origin: string; readonly hostToken: string }

const hangarsSchema = z.object({ items: z.array(z.object({ id: z.string(), name: z.string() })) })
const linkSchema = z.object({ token: z.string() })
/** A link leads into at most as many hangars at once. */
const LINK_HANGARS_MAX = 100

/** @throws with the answer's text when the call is refused */
export async function callHost(host: Host, method: string, path: string, body?: unknown): Promise<unknown> {
  const answer = await fetch(host.origin + path, {
    method,
    headers: { authorization: `Bearer ${host.hostToken}`, 'content-type': 'application/json' },
    ...(body === undefined ? {} : { body: JSON.stringify(body) }),
  })
  const text = await answer.text()
  if (!answer.ok) throw new Error(`${method} ${path} answered ${answer.status}: ${text.slice(0, 300)}`)
  return text === '' ? null : JSON.parse(text)
}

export async function listHangars(host: Host) {
  return hangarsSchema.parse(await callHost(host, 'GET', `/v1/hangars?limit=${LINK_HANGARS_MAX}`)).items
}

export async function ensureHangar(host: Host, name: string): Promise<void> {
  const hangars = await listHangars(host)
  if (!hangars.some((hangar) => hangar.name === name)) await callHost(host, 'POST', '/v1/hangars', { name })
}

/** A link that signs one person in as keeper of every hangar, once; null while there is no hangar. */
export async function makeSignInLink(host: Host, publicOrigin: string): Promise<string | null> {
  const hangars = await listHangars(host)
  if (hangars.length === 0) return null
  const { token } = linkSchema.parse(
    await callHost(host, 'POST', '/v1/invites', {
      hangars: hangars.map(({ id }) => ({ hangar: id, role: 'keeper' })),
    }),
  )
  // The secret stands in the fragment, which browsers send to nobody.
  return `${publicOrigin}/join#${token}`
}
