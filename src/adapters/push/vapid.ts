import webPush from 'web-push'
import { VAPID_TOKENS_MAX, VAPID_TOKEN_LIFE_S, VAPID_TOKEN_SPARE_S } from '../../core/limits.ts'

/** Who sends: RFC 8292. Changing the key ends every subscription made with it. */
export type VapidKeys = {
  /** 65 bytes, base64url. */
  readonly publicKey: string
  /** 32 bytes, base64url. */
  readonly privateKey: string
  /** `mailto:` or `https:` address under which a push service reaches the host. */
  readonly contact: string
}

/**
 * Signs one token a push service and keeps it for hours: a signature costs more than the rest of the message.
 * `authorization` gives the header for the origin of an endpoint.
 */
export function vapidSigner(keys: VapidKeys): { authorization(origin: string, nowS: number): string } {
  const kept = new Map<string, { readonly header: string; readonly expiresAtS: number }>()
  return {
    authorization(origin, nowS) {
      const old = kept.get(origin)
      if (old && old.expiresAtS - VAPID_TOKEN_SPARE_S > nowS) return old.header
      const expiresAtS = nowS + VAPID_TOKEN_LIFE_S
      const { Authorization: header } = webPush.getVapidHeaders(
        origin,
        keys.contact,
        keys.publicKey,
        keys.privateKey,
        'aes128gcm',
        expiresAtS,
      )
      if (kept.size >= VAPID_TOKENS_MAX) kept.clear()
      kept.set(origin, { header, expiresAtS })
      return header
    },
  }
}

const RESERVED = new Set(['localhost', 'local', 'internal', 'test', 'invalid', 'example'])

/**
 * True for an address a push service can use: one of them refuses every message from a contact that is not real.
 * A `mailto:` or `https:` URL whose host is a public name.
 */
export function isRealContact(contact: string): boolean {
  const url = URL.parse(contact)
  if (!url) return false
  const host = url.protocol === 'mailto:' ? /^[^@\s]+@([^@\s?]+)$/.exec(url.pathname)?.[1] : hostOfHttps(url)
  if (!host || !/^[a-z0-9-]+(\.[a-z0-9-]+)+$/i.test(host)) return false
  const labels = host.toLowerCase().split('.')
  const last = labels.at(-1) ?? ''
  const isExample = labels.at(-2) === 'example' && ['com', 'net', 'org'].includes(last)
  return !RESERVED.has(last) && !/^\d+$/.test(last) && !isExample
}

function hostOfHttps(url: URL): string | undefined {
  return url.protocol === 'https:' ? url.hostname : undefined
}
