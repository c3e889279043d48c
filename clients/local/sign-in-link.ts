import * as z from 'zod'

const hangarsSchema = z.object({ items: z.array(z.object({ id: z.string() })) })
const linkSchema = z.object({ link: z.string() })

/** A link that signs one person in as keeper of every hangar, once; null while there is no hangar. */
export async function makeSignInLink(origin: string, hostToken: string): Promise<string | null> {
  const headers = { authorization: `Bearer ${hostToken}`, 'content-type': 'application/json' }
  const listed = await fetch(`${origin}/v1/hangars?limit=100`, { headers })
  const { items } = hangarsSchema.parse(await listed.json())
  if (items.length === 0) return null
  const hangars = items.slice(0, 100).map(({ id }) => ({ hangar: id, role: 'keeper' }))
  const made = await fetch(`${origin}/v1/invites`, {
    method: 'POST',
    headers,
    body: JSON.stringify({ hangars }),
  })
  return linkSchema.parse(await made.json()).link
}
