/** The real thing for a test: `npm start`'s own process, on a free port, with a state folder of its own. */
import { spawn, type ChildProcess } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { projectDir } from '../../clients/local/paths.ts'

export type ServedProcess = {
  readonly origin: string
  readonly hostToken: string
  readonly stateDir: string
  /** Everything printed so far. */
  readonly output: () => string
  /** Waits for a line that matches and gives the match. */
  readonly waitFor: (pattern: RegExp) => Promise<RegExpExecArray>
  /** A call with the host token; a body is sent as JSON. */
  readonly call: (method: string, path: string, body?: unknown) => Promise<Response>
  /** Ends it as Ctrl+C does; the state stays. */
  readonly stop: () => Promise<void>
  /** Ends it, and the runtime below it, as a power cut does; the state stays. */
  readonly kill: () => Promise<void>
}

export type ServeOptions = {
  /** An existing state folder, to start again on it. */
  readonly stateDir?: string
  readonly args?: readonly string[]
  readonly env?: Readonly<Record<string, string>>
}

const startTimeoutMs = 90_000

export function newStateDir(): string {
  return mkdtempSync(join(tmpdir(), 'beadwatch-state-'))
}

export function removeStateDir(dir: string): void {
  rmSync(dir, { recursive: true, force: true, maxRetries: 5, retryDelay: 100 })
}

/** Runs `start.ts` to its end and gives what it printed: for the ways in which it does not start. */
export async function runStart(args: readonly string[]): Promise<{ code: number | null; output: string }> {
  const child = spawnStart(args, {})
  const output = collect(child)
  const timer = setTimeout(() => child.kill('SIGKILL'), startTimeoutMs)
  const code = await new Promise<number | null>((done) => child.once('close', done))
  clearTimeout(timer)
  return { code, output: output() }
}

/** Starts a process and waits until it is ready. Without other wishes it has no demo (`--empty`). */
export async function startServed(options: ServeOptions = {}): Promise<ServedProcess> {
  const stateDir = options.stateDir ?? newStateDir()
  const child = spawnStart(
    ['--port', '0', '--state', stateDir, ...(options.args ?? ['--empty'])],
    options.env ?? {},
  )
  const output = collect(child)
  const waitFor = (pattern: RegExp) => waitForOutput(child, output, pattern)
  const origin = group(await waitFor(/^Beadwatch is at (\S+)$/m))
  const hostToken = group(await waitFor(/^Host token .*: (\S+)$/m))
  await waitFor(/^Ready\./m)
  return {
    origin,
    hostToken,
    stateDir,
    output,
    waitFor,
    call: (method, path, body) =>
      fetch(origin + path, {
        method,
        headers: {
          authorization: `Bearer ${hostToken}`,
          ...(body === undefined ? {} : { 'content-type': 'application/json' }),
        },
        ...(body === undefined ? {} : { body: JSON.stringify(body) }),
      }),
    stop: () => end(child, () => child.kill('SIGTERM')),
    kill: () => end(child, () => killAll(child, stateDir)),
  }
}

function spawnStart(args: readonly string[], env: Readonly<Record<string, string>>): ChildProcess {
  return spawn(process.execPath, [join(projectDir, 'clients/local/start.ts'), ...args], {
    cwd: projectDir,
    env: { ...process.env, ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  })
}

function collect(child: ChildProcess): () => string {
  let text = ''
  for (const stream of [child.stdout, child.stderr]) {
    stream?.setEncoding('utf8').on('data', (chunk: string) => {
      text += chunk
    })
  }
  return () => text
}

async function waitForOutput(
  child: ChildProcess,
  output: () => string,
  pattern: RegExp,
): Promise<RegExpExecArray> {
  const until = Date.now() + startTimeoutMs
  for (;;) {
    const match = pattern.exec(output())
    if (match) return match
    if (child.exitCode !== null) throw new Error(`the process ended with ${child.exitCode}:\n${output()}`)
    if (Date.now() > until) throw new Error(`no ${pattern} in ${startTimeoutMs} ms:\n${output()}`)
    await new Promise((done) => setTimeout(done, 25))
  }
}

function killAll(child: ChildProcess, stateDir: string): void {
  const lock: unknown = JSON.parse(readFileSync(join(stateDir, 'lock.json'), 'utf8'))
  child.kill('SIGKILL')
  if (
    typeof lock === 'object' &&
    lock !== null &&
    'runtimePid' in lock &&
    typeof lock.runtimePid === 'number'
  ) {
    process.kill(lock.runtimePid, 'SIGKILL')
  }
}

async function end(child: ChildProcess, send: () => void): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return
  const ended = new Promise((done) => child.once('close', done))
  send()
  await ended
}

function group(match: RegExpExecArray): string {
  const text = match[1]
  if (text === undefined) throw new Error(`${match[0]} has no value`)
  return text
}
