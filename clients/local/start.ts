import { renderUnicodeCompact } from 'uqr'
import { hasDemo, startDemo } from './demo/demo.ts'
import { STORIES } from './demo/stories.ts'
import { ensureHangar, listHangars, makeSignInLink, type Host } from './host-calls.ts'
import { readOptions, type Options } from './options.ts'
import { serve, type Served } from './serve.ts'
import { StartError } from './start-error.ts'

const say = (line: string) => console.log(line)

try {
  await start(readOptions(process.argv.slice(2)))
} catch (error) {
  if (!(error instanceof StartError)) throw error
  console.error(error.message)
  process.exitCode = 1
}

async function start(options: Options): Promise<void> {
  const served = await serve(options, say)
  stopOnSignal(served)
  try {
    await show(options, served)
  } catch (error) {
    await served.stop()
    throw error
  }
}

async function show(options: Options, served: Served): Promise<void> {
  say(`Beadwatch is at ${served.origin}`)
  say(`Host token (Bearer, on all of /v1): ${served.hostToken}`)
  const host: Host = { origin: served.localOrigin, hostToken: served.hostToken }
  if (options.hangar !== null) await ensureHangar(host, options.hangar)
  await showDemo(options, host)
  await served.catchUp()
  const link = await makeSignInLink(host, served.origin)
  if (link === null)
    say('There is no hangar yet: make one with --hangar NAME, or over HTTP with the host token.')
  else showLink(link, options.publicOrigin !== null)
  say('Ready. Ctrl+C stops it; everything is kept.')
}

/** An address that a phone can reach is shown for its camera too: nobody types such a link. */
function showLink(link: string, isReachable: boolean): void {
  say(`Sign in, once: ${link}`)
  if (isReachable) say(renderUnicodeCompact(link))
}

/** Only where it is the whole of what is there: never among somebody's own rigs. */
async function showDemo({ isEmpty, stateDir }: Options, host: Host): Promise<void> {
  if (isEmpty) return
  if (!hasDemo(stateDir)) {
    if ((await listHangars(host)).length > 0) return
    say(
      `Making the demo, an invented airfield: ${STORIES.map(({ name, about }) => `${name} (${about})`).join(', ')}`,
    )
  }
  await startDemo({ ...host, stateDir, say })
}

function stopOnSignal(served: Served): void {
  let isStopping = false
  for (const signal of ['SIGINT', 'SIGTERM'] as const) {
    process.on(signal, () => {
      // A second Ctrl+C does not wait for what is still running.
      if (isStopping) process.exit(1)
      isStopping = true
      void served.stop().finally(() => process.exit(0))
    })
  }
}
