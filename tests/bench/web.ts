/**
 * `npm run bench:web`: Lighthouse on Jobs and on a rig of the demo, as on a mid-range phone, against the real server;
 * the bytes of the first load; and the browser's own look at whether the app can be installed. Accessibility and best
 * practices must be 100 and nothing may stand against installing; performance (target 95) is printed.
 */
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { gzipSync } from 'node:zlib'
import lighthouse from 'lighthouse'
import { chromium, type Browser } from 'playwright-core'
import { projectDir } from '../../clients/local/paths.ts'
import { fullChromiumPath } from '../browser/chromium.ts'
import { demoLink, joinByLink } from '../browser/join.ts'
import { removeStateDir, startServed, type ServedProcess } from '../scenarios/served.ts'

const debuggingPort = 9_331
const performanceTarget = 95
const categories = ['performance', 'accessibility', 'best-practices']

if (fullChromiumPath === null)
  throw new Error('Lighthouse needs the full Chromium: install it and run this again.')
const served = await startServed({ args: [] })
const browser = await chromium.launch({
  executablePath: fullChromiumPath,
  args: ['--no-sandbox', `--remote-debugging-port=${debuggingPort}`],
})
const failures: string[] = []
try {
  const cookie = await signedIn(browser, served)
  const rig = await aRig(served)
  for (const path of ['/', `/rigs/${rig}`]) await measure(path, cookie)
  await installable(browser)
  firstLoad()
} finally {
  await browser.close()
  await served.stop()
  removeStateDir(served.stateDir)
}
if (failures.length > 0) {
  for (const failure of failures) console.error(failure)
  process.exitCode = 1
}

/** The cookie header of somebody who has just followed the demo's link. */
async function signedIn(within: Browser, server: ServedProcess): Promise<string> {
  const context = await within.newContext()
  const page = await joinByLink(context, demoLink(server.output()), 'Mara')
  await page.getByText('Drive out now').first().waitFor()
  const cookies = await context.cookies()
  await context.close()
  return cookies.map((one) => `${one.name}=${one.value}`).join('; ')
}

async function aRig(server: ServedProcess): Promise<string> {
  const said: unknown = await (await server.call('GET', '/v1/alerts')).json()
  const id = JSON.stringify(said).match(/"rig":"([^"]+)"/)?.[1]
  if (id === undefined) throw new Error('the demo has no alert')
  return id
}

async function measure(path: string, cookie: string): Promise<void> {
  const result = await lighthouse(served.origin + path, {
    port: debuggingPort,
    output: 'json',
    logLevel: 'error',
    onlyCategories: categories,
    extraHeaders: { cookie },
    formFactor: 'mobile',
  })
  if (!result) throw new Error(`Lighthouse gave nothing for ${path}`)
  const { lhr } = result
  const score = (name: string): number => Math.round((lhr.categories[name]?.score ?? 0) * 100)
  console.log(`${path}: ${categories.map((name) => `${name} ${score(name)}`).join(', ')}`)
  if (score('performance') < performanceTarget)
    console.log(`  performance is under the target of ${performanceTarget}`)
  for (const name of categories.slice(1)) {
    if (score(name) === 100) continue
    const bad = (lhr.categories[name]?.auditRefs ?? []).filter((ref) => (lhr.audits[ref.id]?.score ?? 1) < 1)
    failures.push(
      `${path}: ${name} is ${score(name)}: ${bad.map((ref) => lhr.audits[ref.id]?.title).join('; ')}`,
    )
  }
}

async function installable(within: Browser): Promise<void> {
  const context = await within.newContext()
  const page = await context.newPage()
  await page.goto(served.origin)
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => true))
  const cdp = await context.newCDPSession(page)
  const { installabilityErrors } = await cdp.send('Page.getInstallabilityErrors')
  const found = installabilityErrors.map((one) => one.errorId).filter((id) => id !== 'in-incognito')
  console.log(`installable: ${found.length === 0 ? 'nothing against it' : found.join(', ')}`)
  if (found.length > 0) failures.push(`not installable: ${found.join(', ')}`)
  await context.close()
}

function firstLoad(): void {
  const built = join(projectDir, 'dist/web')
  const page = readFileSync(join(built, 'index.html'), 'utf8')
  const scripts = [...page.matchAll(/(?:src|href)="(\/assets\/[^"]+\.js)"/g)].map((found) => found[1] ?? '')
  const bytes = scripts.map((at) => gzipSync(readFileSync(join(built, at))).length)
  console.log(`scripts named in the page: ${scripts.length}, ${bytes.reduce((a, b) => a + b, 0)} bytes gzip`)
}
