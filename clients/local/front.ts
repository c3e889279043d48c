/**
 * The only thing that listens for others: hands requests to the local runtime, whose own port is known to nobody
 * and bound to the machine itself. It refuses the runtime's tools, and names that are not ours, and drops the
 * headers by which the runtime would believe its caller.
 */
import {
  Agent,
  createServer,
  request,
  type IncomingMessage,
  type Server,
  type ServerResponse,
} from 'node:http'
import { isIP } from 'node:net'
import { pipeline } from 'node:stream'
import { isForbiddenPath } from './forbidden-path.ts'
import type { Options } from './options.ts'
import { StartError, systemCode } from './start-error.ts'

export type FrontOptions = Pick<Options, 'port' | 'listen' | 'publicOrigin'>

/** Called when a post has been answered, with its size (about, when zipped; null when sent in chunks) and the status. */
export type OnPosted = (bytes: number | null, status: number) => void

/** Headers that would speak to the runtime or stand for the caller's address, name or encryption. */
const notFromOutside = /^(mf-|cf-|x-forwarded-|x-real-ip$|forwarded$|proxy-)/

/** Handlers get the runtime's address late, so that a taken port is known before anything is started. */
export async function startFront(options: FrontOptions, onPosted: OnPosted) {
  let target: URL | null = null
  const agent = new Agent({ keepAlive: true, maxSockets: 64 })
  const server = createServer({ requestTimeout: 60_000, headersTimeout: 20_000 }, (req, res) => {
    const refusal = refuse(req, options)
    if (refusal !== null) return answer(res, refusal)
    if (target === null) return answer(res, starting)
    forward({ req, res, target, agent, options, onPosted })
  })
  await listenOn(server, options)
  const address = server.address()
  if (address === null || typeof address === 'string') throw new Error('the front has no port')
  return {
    port: address.port,
    open: (url: URL) => {
      target = url
    },
    close: () =>
      new Promise<void>((done) => {
        server.close(() => done())
        server.closeAllConnections()
        agent.destroy()
      }),
  }
}

type Refusal = { readonly status: number; readonly title: string; readonly detail: string }

const starting: Refusal = {
  status: 503,
  title: 'Starting',
  detail: 'The service is starting: try again in a moment.',
}
const broken: Refusal = {
  status: 503,
  title: 'Not answering',
  detail: 'The service did not answer: try again.',
}
const notHere: Refusal = { status: 404, title: 'Not found', detail: 'There is nothing here.' }
const notOurs: Refusal = {
  status: 421,
  title: 'Not our name',
  detail: 'This service does not answer to that name. Use localhost, or start it with --public or --listen.',
}

function refuse(req: IncomingMessage, options: FrontOptions): Refusal | null {
  if (isForbiddenPath(req.url ?? '')) return notHere
  // A page elsewhere that makes its name point to this machine would otherwise reach a service meant for it alone.
  return isOurName(req.headers.host ?? '', options) ? null : notOurs
}

/** Bound to the machine itself, only its own names count, and the public one. Bound wider, people may use any. */
export function isOurName(
  host: string,
  { listen, publicOrigin }: Pick<Options, 'listen' | 'publicOrigin'>,
): boolean {
  const name = URL.parse(`http://${host}/`)
  if (name === null || name.pathname !== '/' || name.username !== '') return false
  if (!isLoopback(listen)) return true
  return (
    isLoopback(name.hostname) || (publicOrigin !== null && new URL(publicOrigin).hostname === name.hostname)
  )
}

function isLoopback(name: string): boolean {
  const plain = name.replace(/^\[|\]$/g, '')
  return plain === 'localhost' || plain === '::1' || (isIP(plain) === 4 && plain.startsWith('127.'))
}

function answer(res: ServerResponse, { status, title, detail }: Refusal): void {
  res.writeHead(status, {
    'content-type': 'application/problem+json',
    'cache-control': 'no-store',
    ...(status === 503 ? { 'retry-after': '2' } : {}),
    // What the caller was still sending is not read.
    connection: 'close',
  })
  res.end(JSON.stringify({ type: 'about:blank', title, status, detail }))
}

type Exchange = {
  req: IncomingMessage
  res: ServerResponse
  target: URL
  agent: Agent
  options: FrontOptions
  onPosted: OnPosted
}

function forward({ req, res, target, agent, options, onPosted }: Exchange): void {
  const onward = request({
    agent,
    host: target.hostname,
    port: target.port,
    method: req.method,
    path: req.url,
    headers: headersFor(req, options),
    setHost: false,
  })
  onward.on('response', (from) => {
    res.writeHead(from.statusCode ?? 502, from.statusMessage, from.rawHeaders)
    pipeline(from, res, () => {
      if (req.method !== 'POST') return
      onPosted(sizeOf(req), from.statusCode ?? 502)
    })
  })
  onward.on('error', () => {
    if (res.headersSent) res.destroy()
    else answer(res, broken)
  })
  res.on('close', () => onward.destroy())
  pipeline(req, onward, () => undefined)
}

/** Readings as JSON or CSV zip to about an eighth. */
const ZIP_FACTOR = 8

function sizeOf({ headers }: IncomingMessage): number | null {
  const length = headers['content-length']
  if (length === undefined) return null
  return Number(length) * (headers['content-encoding'] === undefined ? 1 : ZIP_FACTOR)
}

function headersFor(req: IncomingMessage, options: FrontOptions): string[] {
  const headers: string[] = []
  for (let i = 0; i + 1 < req.rawHeaders.length; i += 2) {
    const [name = '', value = ''] = [req.rawHeaders[i], req.rawHeaders[i + 1]]
    if (!notFromOutside.test(name.toLowerCase())) headers.push(name, value)
  }
  headers.push('CF-Connecting-IP', callerAddress(req, options))
  return headers
}

/** A proxy on this machine is believed about who called it, but only where one was announced. */
function callerAddress(req: IncomingMessage, options: FrontOptions): string {
  const peer = (req.socket.remoteAddress ?? '').replace(/^::ffff:/, '')
  if (options.publicOrigin === null || !isLoopback(peer)) return peer
  const last = [req.headers['x-forwarded-for'] ?? ''].flat().join(',').split(',').at(-1)?.trim() ?? ''
  return isIP(last) === 0 ? peer : last
}

function listenOn(server: Server, { port, listen: host }: FrontOptions): Promise<void> {
  return new Promise((done, fail) => {
    server.once('error', (error) => fail(sayWhy(error, port, host)))
    server.listen(port, host, done)
  })
}

function sayWhy(error: Error, port: number, host: string): Error {
  const cause = { cause: error }
  switch (systemCode(error)) {
    case 'EADDRINUSE':
      return new StartError(`Port ${port} is taken: choose another with --port N.`, cause)
    case 'EACCES':
      return new StartError(
        `Port ${port} is not allowed for this user: choose one above 1023 with --port N.`,
        cause,
      )
    case 'EADDRNOTAVAIL':
    case 'ENOTFOUND':
      return new StartError(`This machine has no address ${host}: choose another with --listen ADDR.`, cause)
    default:
      return error
  }
}
