/**
 * Secrets are 32 random bytes, shown once; what is kept is their SHA-256. 256 bits need no slow hash: there is nothing
 * to guess. Looking one up by its hash also means that no comparison ever runs over the secret itself.
 */
import { publicId } from '../../core/ids/public-id.ts'
import type { Hash } from './ports.ts'

const SECRET_BYTES = 32

/** `prefix` says what a leaked secret is for; the rest is base64url. */
export function makeSecret(prefix: string): string {
  return prefix + base64url(crypto.getRandomValues(new Uint8Array(SECRET_BYTES)))
}

export async function hashOf(secret: string): Promise<Hash> {
  return new Uint8Array(await crypto.subtle.digest('SHA-256', new TextEncoder().encode(secret)))
}

/** An id that cannot be guessed. People and hangars live in the first database, whatever shard the rigs are on. */
export function makeId(): string {
  return publicId(0, (bytes) => crypto.getRandomValues(new Uint8Array(bytes)))
}

/** Compares digests of both, over all bytes, so that the time taken says nothing about where they differ. */
export async function isSameSecret(given: string, expected: string): Promise<boolean> {
  const [a, b] = [await hashOf(given), await hashOf(expected)]
  let difference = 0
  for (let index = 0; index < a.length; index++) difference |= (a[index] ?? 0) ^ (b[index] ?? 0)
  return difference === 0
}

export function base64url(bytes: Uint8Array): string {
  let text = ''
  for (const byte of bytes) text += String.fromCharCode(byte)
  return btoa(text).replaceAll('+', '-').replaceAll('/', '_').replaceAll('=', '')
}
