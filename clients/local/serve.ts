import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { buildWebIfNeeded } from './build-web.ts'
import { buildWorkerIfNeeded } from './build-worker.ts'
import { startFront } from './front.ts'
import { lockState } from './lock.ts'
import type { Options } from './options.ts'
import { projectDir } from './paths.ts'
import { startRuntime } from './runtime.ts'
import { startSchedule } from './schedule.ts'
import { openState } from './state.ts'

export type Served = {
  /** The address for people. */
  readonly origin: string
  /** The address for this machine itself. */
  readonly localOrigin: string
  readonly hostToken: string
  /** Brings every rig up to date, however many steps that takes. */
  readonly catchUp: () => Promise<unknown>
  readonly stop: () => Promise<void>
}

/**
 * Serves everything on one machine: front, Worker, database, queue and schedule.
 * @throws StartError with one sentence for a taken port, an unusable state folder or a broken file in it
 */
export async function serve(options: Options, say: (line: string) => void): Promise<Served> {
  const keys = openState(options.stateDir)
  const lock = lockState(options.stateDir)
  const opened: (() => Promise<void> | void)[] = [lock.release]
  const stop = async () => {
    for (const close of opened.toReversed()) await close()
  }
  try {
    let schedule: ReturnType<typeof startSchedule> | null = null
    const front = await startFront(options, (bytes, status) => schedule?.posted(bytes, status))
    opened.push(front.close)
    build(say)
    const hostToken = process.env['BEADWATCH_HOST_TOKEN'] ?? keys.hostToken
    const localOrigin = `http://${ownNameFor(options.listen)}:${front.port}`
    const origin = options.publicOrigin ?? localOrigin.replace(/127\.0\.0\.1|\[::1\]/, 'localhost')
    const runtime = await startRuntime({
      stateDir: options.stateDir,
      vars: varsFor(options, keys, hostToken),
    })
    opened.push(runtime.stop)
    lock.note()
    schedule = startSchedule(runtime, {
      onError: (error) => say(`The schedule failed: ${String(error)}`),
    })
    opened.push(schedule.stop)
    front.open(runtime.url)
    return { origin, localOrigin, hostToken, catchUp: schedule.runUntilEven, stop }
  } catch (error) {
    await stop()
    throw error
  }
}

function build(say: (line: string) => void): void {
  say('Building what has changed ...')
  mkdirSync(join(projectDir, 'dist/web'), { recursive: true })
  buildWebIfNeeded()
  buildWorkerIfNeeded()
}

function varsFor(
  options: Options,
  keys: ReturnType<typeof openState>,
  hostToken: string,
): Record<string, string> {
  const fromEnvironment = {
    VAPID_CONTACT: process.env['BEADWATCH_CONTACT'],
    PUSH_HOSTS: process.env['BEADWATCH_PUSH_HOSTS'],
    // For tests: a push service on loopback beside the browsers' own.
    PUSH_TEST_ORIGIN: process.env['BEADWATCH_PUSH_TEST_ORIGIN'],
    PUBLIC_ORIGIN: options.publicOrigin ?? undefined,
  }
  return {
    // One's own machine has no daily quota and no limit of milliseconds.
    PLAN: 'paid',
    HOST_TOKEN: hostToken,
    VAPID_PUBLIC_KEY: keys.vapidPublicKey,
    VAPID_PRIVATE_KEY: keys.vapidPrivateKey,
    ...definedOf(fromEnvironment),
  }
}

function definedOf(values: Readonly<Record<string, string | undefined>>): Record<string, string> {
  const defined: Record<string, string> = {}
  for (const [name, value] of Object.entries(values))
    if (value !== undefined && value !== '') defined[name] = value
  return defined
}

/** Bound to every address, the machine reaches itself by the loopback one. */
function ownNameFor(listen: string): string {
  if (['127.0.0.1', 'localhost', '0.0.0.0'].includes(listen)) return '127.0.0.1'
  if (['::', '::1'].includes(listen)) return '[::1]'
  return listen.includes(':') ? `[${listen}]` : listen
}
