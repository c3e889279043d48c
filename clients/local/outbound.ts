/**
 * What the Worker asks of the outside passes here. The platform reaches public addresses alone; the local runtime would
 * reach this machine and its network too, so that a name which resolves to an address in there could be used to knock
 * on doors that trust the machine. Only public addresses are connected to, checked after the name is resolved, on the
 * very address that is used.
 */
import { lookup as lookupName, type LookupAddress } from 'node:dns'
import { request as requestHttp } from 'node:http'
import { request as requestHttps, type RequestOptions } from 'node:https'
import { BlockList, isIP, type LookupFunction } from 'node:net'

export type Outgoing = {
  readonly url: string
  readonly method: string
  readonly headers: Readonly<Record<string, string>>
  readonly body: Uint8Array | null
}
export type Incoming = {
  readonly status: number
  readonly headers: readonly (readonly [string, string])[]
  readonly body: Uint8Array
}
type Resolve = (name: string, done: (error: Error | null, found: LookupAddress[]) => void) => void

const TIMEOUT_MS = 30_000
/** Answers of push services are a line or nothing. */
const ANSWER_MAX_BYTES = 65_536

/** IANA special-purpose address registries (RFC 6890 and its updates): nothing in them is on the public internet. */
const special = new BlockList()
for (const [address, bits] of [
  ['0.0.0.0', 8],
  ['10.0.0.0', 8],
  ['100.64.0.0', 10],
  ['127.0.0.0', 8],
  ['169.254.0.0', 16],
  ['172.16.0.0', 12],
  ['192.0.0.0', 24],
  ['192.0.2.0', 24],
  ['192.88.99.0', 24],
  ['192.168.0.0', 16],
  ['198.18.0.0', 15],
  ['198.51.100.0', 24],
  ['203.0.113.0', 24],
  ['224.0.0.0', 3],
] as const) {
  special.addSubnet(address, bits, 'ipv4')
}
const global6 = new BlockList()
global6.addSubnet('2000::', 3, 'ipv6')
/** Within the global range, yet not somebody's address: documentation, and IPv4 in disguise (Teredo, 6to4). */
const special6 = new BlockList()
for (const [address, bits] of [
  ['2001::', 23],
  ['2001:db8::', 32],
  ['2002::', 16],
  ['3fff::', 20],
] as const) {
  special6.addSubnet(address, bits, 'ipv6')
}

export function isPublicAddress(address: string): boolean {
  switch (isIP(address)) {
    case 4:
      return !special.check(address, 'ipv4')
    case 6:
      return global6.check(address, 'ipv6') && !special6.check(address, 'ipv6')
    default:
      return false
  }
}

/**
 * Sends a request, to public addresses or to `testOrigin` alone. Redirects are not followed.
 * @throws when the address is not public, the connection fails or the answer is too long
 */
export function fetchPublic(
  out: Outgoing,
  { testOrigin = null, resolve = resolveName }: { testOrigin?: string | null; resolve?: Resolve } = {},
): Promise<Incoming> {
  const url = new URL(out.url)
  const isTest = testOrigin !== null && url.origin === testOrigin
  const name = url.hostname.replace(/^\[|\]$/g, '')
  if (!isTest && isIP(name) !== 0 && !isPublicAddress(name)) return Promise.reject(refusal(name))
  const options: RequestOptions = {
    method: out.method,
    headers: out.headers,
    timeout: TIMEOUT_MS,
    ...(isTest ? {} : { lookup: publicLookup(resolve) }),
  }
  return send(url, options, out.body)
}

function send(url: URL, options: RequestOptions, body: Uint8Array | null): Promise<Incoming> {
  return new Promise((done, fail) => {
    const request = url.protocol === 'https:' ? requestHttps(url, options) : requestHttp(url, options)
    request.on('error', fail)
    request.on('timeout', () => request.destroy(new Error('no answer in time')))
    request.on('response', (answer) => {
      const chunks: Buffer[] = []
      let size = 0
      answer.on('data', (chunk: Buffer) => {
        size += chunk.length
        if (size > ANSWER_MAX_BYTES) request.destroy(new Error('the answer is too long'))
        else chunks.push(chunk)
      })
      answer.on('error', fail)
      answer.on('end', () => {
        const headers = Object.entries(answer.headersDistinct).flatMap(([name, values = []]) =>
          values.map((value) => [name, value] as const),
        )
        done({ status: answer.statusCode ?? 502, headers, body: Buffer.concat(chunks) })
      })
    })
    request.end(body ?? undefined)
  })
}

/** One address that is not public spoils the name: a mix is how a name is made to change under a check. */
function publicLookup(resolve: Resolve): LookupFunction {
  return (name, options, done) => {
    resolve(name, (error, found) => {
      if (error) return done(error, '')
      const [first] = found
      if (first === undefined || !found.every(({ address }) => isPublicAddress(address))) {
        return done(refusal(name), '')
      }
      return options.all ? done(null, found) : done(null, first.address, first.family)
    })
  }
}

function resolveName(name: string, done: Parameters<Resolve>[1]): void {
  lookupName(name, { all: true }, done)
}

function refusal(name: string): Error {
  return new Error(`${name} is not a public address`)
}
