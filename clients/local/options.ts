import { resolve } from 'node:path'
import { parseArgs } from 'node:util'
import { StartError } from './start-error.ts'

export type Options = {
  readonly port: number
  /** Address to listen on: the machine itself unless asked for more. */
  readonly listen: string
  /** Where the database and the keys are kept. */
  readonly stateDir: string
  /** Without the demo. */
  readonly isEmpty: boolean
  /** A hangar to be there, made when no other has this name. */
  readonly hangar: string | null
  /** The address people use when something in front of this ends TLS, as an origin. */
  readonly publicOrigin: string | null
}

export const usage = `usage: npm start -- [--port N] [--state DIR] [--empty] [--hangar NAME] [--listen ADDR] [--public URL]
  --port N       port to serve on (8787)
  --state DIR    folder for the database and the keys (.beadwatch)
  --empty        without the demo
  --hangar NAME  without the demo, with a hangar of this name
  --listen ADDR  address to listen on (127.0.0.1: this machine only)
  --public URL   the https address people use, when a proxy in front of this ends TLS`

/**
 * Reads the command line of `npm start`.
 * @throws StartError naming the option that is wrong
 */
export function readOptions(args: readonly string[]): Options {
  const { values } = parse(args)
  return {
    port: readPort(values.port ?? '8787'),
    listen: values.listen ?? '127.0.0.1',
    stateDir: resolve(values.state ?? '.beadwatch'),
    isEmpty: (values.empty ?? false) || values.hangar !== undefined,
    hangar: values.hangar ?? null,
    publicOrigin: values.public === undefined ? null : readOrigin(values.public),
  }
}

function parse(args: readonly string[]) {
  try {
    return parseArgs({
      args: [...args],
      options: {
        port: { type: 'string' },
        listen: { type: 'string' },
        state: { type: 'string' },
        empty: { type: 'boolean' },
        hangar: { type: 'string' },
        public: { type: 'string' },
      },
    })
  } catch (error) {
    throw new StartError(`${error instanceof Error ? error.message : String(error)}\n${usage}`)
  }
}

function readPort(text: string): number {
  const port = Number(text)
  // 0 asks the system for a free one.
  if (!/^\d{1,5}$/.test(text) || port > 65_535)
    throw new StartError(`--port ${text} is not a port: 0 to 65535.`)
  return port
}

function readOrigin(text: string): string {
  const url = URL.parse(text)
  if (url === null || !/^https?:$/.test(url.protocol)) {
    throw new StartError(`--public ${text} is not an address such as https://beads.example.`)
  }
  return url.origin
}
