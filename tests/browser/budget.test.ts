import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { gzipSync } from 'node:zlib'
import { expect, test } from 'vitest'
import { servedApp } from './served-app.ts'
import { builtApp } from './static-server.ts'

const firstLoadMaxBytes = 80_000

const served = servedApp()

test.each(['/', '/rigs/r3'])('first load of %s is at most 80 kB of JavaScript, gzip', async (path) => {
  const { page, context } = await served.open({ path })
  const scripts = new Set<string>()
  page.on('request', (request) => {
    if (request.resourceType() === 'script') scripts.add(new URL(request.url()).pathname)
  })
  await page.reload({ waitUntil: 'networkidle' })
  const bytes = [...scripts].reduce((sum, at) => sum + gzipSync(readFileSync(join(builtApp, at))).length, 0)
  console.log(`first load of ${path}: ${scripts.size} scripts, ${bytes} bytes gzip`)
  expect(scripts.size).toBeGreaterThan(0)
  expect(bytes).toBeLessThanOrEqual(firstLoadMaxBytes)
  await context.close()
})
