import { PUSH_ENDPOINT_MAX_CHARS } from '../core/limits.ts'

/**
 * The browsers' push services. A subscription's endpoint is a URL that a client hands us and that we then send
 * requests to, so without this list anyone signed in could aim this service at any host.
 */
const BROWSER_PUSH_HOSTS: readonly string[] = [
  'fcm.googleapis.com',
  'push.services.mozilla.com',
  'push.apple.com',
  'notify.windows.com',
]

export type EndpointRules = {
  /** Added by the host of the deployment; each covers itself and its subdomains. */
  readonly addedHosts: readonly string[]
  /** Tests alone: an origin on loopback that is accepted although it is plain HTTP. `null` everywhere else. */
  readonly testOrigin: string | null
}

export type EndpointProblem =
  | { readonly reason: 'not_a_url' }
  | { readonly reason: 'too_long'; readonly maxChars: number }
  | { readonly reason: 'not_https' }
  | { readonly reason: 'has_credentials' }
  | { readonly reason: 'has_port' }
  | { readonly reason: 'unknown_service' }

/** What is wrong with the endpoint, or `null`. Checked when it is handed in and again before every message. */
export function endpointProblem(endpoint: string, rules: EndpointRules): EndpointProblem | null {
  if (endpoint.length > PUSH_ENDPOINT_MAX_CHARS)
    return { reason: 'too_long', maxChars: PUSH_ENDPOINT_MAX_CHARS }
  const url = URL.parse(endpoint)
  if (!url) return { reason: 'not_a_url' }
  if (url.username !== '' || url.password !== '') return { reason: 'has_credentials' }
  if (rules.testOrigin !== null && url.origin === rules.testOrigin) return null
  if (url.protocol !== 'https:') return { reason: 'not_https' }
  if (url.port !== '') return { reason: 'has_port' }
  const hosts = [...BROWSER_PUSH_HOSTS, ...rules.addedHosts.filter((host) => isPublicName(host))]
  return hosts.some((host) => isWithin(url.hostname, host)) ? null : { reason: 'unknown_service' }
}

function isWithin(name: string, host: string): boolean {
  return name === host || name.endsWith(`.${host}`)
}

/** Names that never belong to a push service, though a resolver may point them at this very machine. */
const LOCAL_ENDINGS = new Set([
  'localhost',
  'local',
  'internal',
  'lan',
  'home',
  'arpa',
  'test',
  'invalid',
  'onion',
])

/**
 * True for a host that may be added: a lower-case DNS name of two labels or more that is no address
 * and no name reserved for local use (RFC 6761, RFC 6762, RFC 8375).
 */
export function isPublicName(host: string): boolean {
  const labels = host.split('.')
  if (labels.length < 2 || host.length > 253) return false
  if (!labels.every((label) => /^[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?$/.test(label))) return false
  const last = labels.at(-1) ?? ''
  return !/^\d+$/.test(last) && !LOCAL_ENDINGS.has(last)
}

/** `PUSH_HOSTS`, a comma-separated list. Entries that may not be added come back by name, so that the host is told. */
export function readAddedHosts(text: string | undefined): {
  readonly hosts: readonly string[]
  readonly refused: readonly string[]
} {
  const entries = (text ?? '')
    .split(',')
    .map((entry) => entry.trim().toLowerCase())
    .filter((entry) => entry !== '')
  return {
    hosts: entries.filter((entry) => isPublicName(entry)),
    refused: entries.filter((entry) => !isPublicName(entry)),
  }
}

/** `PUSH_TEST_ORIGIN`. Only a loopback address counts, so that a slip in production opens no other host. */
export function readTestOrigin(text: string | undefined): string | null {
  const url = text ? URL.parse(text) : null
  return url && url.protocol === 'http:' && url.hostname === '127.0.0.1' ? url.origin : null
}
