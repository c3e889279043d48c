import { readOptions } from './options.ts'
import { serve } from './serve.ts'
import { StartError } from './start-error.ts'

const say = (line: string) => console.log(line)

try {
  const options = readOptions(process.argv.slice(2))
  const served = await serve(options, say)
  say(`Beadwatch is at ${served.origin}`)
  say(`Host token (Bearer, on all of /v1): ${served.hostToken}`)
  let isStopping = false
  for (const signal of ['SIGINT', 'SIGTERM'] as const) {
    process.on(signal, () => {
      // A second Ctrl+C does not wait for what is still running.
      if (isStopping) process.exit(1)
      isStopping = true
      void served.stop().finally(() => process.exit(0))
    })
  }
  await served.catchUp()
  say('Ready. Ctrl+C stops it; everything is kept.')
} catch (error) {
  if (!(error instanceof StartError)) throw error
  console.error(error.message)
  process.exitCode = 1
}
