import { spawnSync } from 'node:child_process'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, onTestFinished, test } from 'vitest'
import * as z from 'zod'
import { projectDir } from '../../clients/local/paths.ts'
import { removeStateDir, startServed } from './served.ts'

const readme = readFileSync(join(projectDir, 'README.md'), 'utf8')
const section = /\n## Worked example\n([\s\S]*?)\n## /.exec(readme)?.[1] ?? ''
const block = (kind: string) => new RegExp(`\`\`\`${kind}\\n([\\s\\S]*?)\`\`\``).exec(section)?.[1] ?? ''

const hasCurl = spawnSync('curl', ['--version']).status === 0

const trace = z.object({
  series: z.array(
    z.object({
      place: z.string(),
      points: z.array(
        z.object({ at: z.string(), humidity: z.number().nullable(), temperature: z.number().nullable() }),
      ),
    }),
  ),
})
const now = z.object({
  state: z.string(),
  readings: z.array(z.object({ humidity: z.number().nullable(), pump: z.boolean().nullable() })),
})

test.skipIf(!hasCurl)('the worked example of the README does what it says', async () => {
  const served = await startServed()
  onTestFinished(async () => {
    await served.stop()
    removeStateDir(served.stateDir)
  })
  const script = block('sh')
    .replace('URL=http://localhost:8787', `URL=${served.origin}`)
    .replace(/TOKEN=\S+/, `TOKEN=${served.hostToken}`)
  // Without an input of its own: where that is a socket, bash takes itself for a remote shell's and reads its start-up file.
  const run = spawnSync('bash', ['-euo', 'pipefail', '-c', script], {
    encoding: 'utf8',
    timeout: 30_000,
    stdio: ['ignore', 'pipe', 'pipe'],
  })
  const printed = run.stdout.split(/(?<=\})(?=\{)/).map((text): unknown => JSON.parse(text))
  expect(run.stderr).toBe('')
  expect(run.status).toBe(0)
  expect(printed).toHaveLength(3)
  expect(printed[0]).toEqual(JSON.parse(block('json')))
  const { series } = trace.parse(printed[1])
  expect(series.map(({ place, points }) => [place, points.length])).toEqual([['return', 1]])
  expect(series[0]?.points[0]).toMatchObject({ humidity: 16.2, temperature: 18.4 })
  expect(now.parse(printed[2]).readings[0]).toMatchObject({ humidity: 16.2, pump: false })
})

test('the example names the options and addresses that exist', () => {
  expect(readme).toContain('npm start')
  expect(block('sh')).toContain('/v1/readings')
  expect(block('json')).toContain('"readAs": "native JSON"')
})
