import type { Browser } from 'playwright-core'
import { afterAll, beforeAll, expect, test } from 'vitest'
import { openBrowser } from './chromium.ts'
import { fakeApi } from './fake/api.ts'
import { openApp } from './open.ts'
import { serveBuiltApp } from './static-server.ts'

let browser: Browser
let app: Awaited<ReturnType<typeof serveBuiltApp>>
beforeAll(async () => {
  browser = await openBrowser()
  app = await serveBuiltApp()
})
afterAll(async () => {
  await browser.close()
  app.close()
})

const offline = () => 'offline' as const
const allOffline = {
  'GET /healthz': offline,
  'GET /v1/me': offline,
  'GET /v1/alerts': offline,
  'GET /v1/hangars/*/rigs': offline,
  'GET /v1/rigs/*': offline,
  'GET /v1/rigs/*/now': offline,
  'GET /v1/rigs/*/trace': offline,
  'GET /v1/rigs/*/cycles': offline,
  'GET /v1/rigs/*/exposure': offline,
  'GET /v1/rigs/*/logbook': offline,
  'GET /v1/rigs/*/alerts': offline,
  'GET /v1/rigs/*/reach': offline,
}

test('without a network the last state is there, marked with its age', async () => {
  const { page, context } = await openApp(browser, app.origin, { path: '/rigs/r3', size: 'phone' })
  await page.locator('.strip-plot canvas').waitFor()
  await page.getByRole('heading', { name: 'Wetness' }).waitFor()
  await page.goto(`${app.origin}/`)
  await page.getByText('One thing cannot wait, two can.').waitFor()
  await page.waitForLoadState('networkidle')

  await fakeApi(context, Math.floor(Date.now() / 1000), allOffline)
  await page.reload()
  await page.getByText('One thing cannot wait, two can.').waitFor()
  expect(await page.getByText(/This is what the server said (just now|\d+ \w+ ago)/).count()).toBeGreaterThan(
    0,
  )
  await page.goto(`${app.origin}/rigs/r3`)
  await page.locator('.strip-plot canvas').waitFor()
  expect(await page.getByText(/This is what the server said/).count()).toBeGreaterThan(0)
  await context.close()
})

test('the page itself opens without a network', async () => {
  const own = await serveBuiltApp()
  const { page, context } = await openApp(browser, own.origin, { path: '/' })
  await page.getByText('One thing cannot wait, two can.').waitFor()
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined))
  await page.reload()
  await page.getByText('One thing cannot wait, two can.').waitFor()
  own.close()
  await context.unrouteAll({ behavior: 'ignoreErrors' })
  await context.setOffline(true)
  await page.reload()
  await page.getByText('One thing cannot wait, two can.').waitFor()
  await page
    .getByText(/This is what the server said/)
    .first()
    .waitFor()
  await context.close()
})

test('a server that stopped checking is said, from this device’s own clock', async () => {
  const threeHoursMs = 3 * 3600_000
  const { page, context } = await openApp(browser, app.origin, {
    path: '/',
    overrides: {
      'GET /healthz': () => ({
        status: 503,
        body: { ok: false, checkedAt: new Date(Date.now() - threeHoursMs).toISOString() },
      }),
      'GET /v1/alerts': () => ({ body: { items: [], next: null } }),
    },
  })
  await page.getByText(/Not checked since today \d\d:\d\d, 3 hours ago|Not checked since/).waitFor()
  expect(await page.getByText('Silence is not proof of a dry engine.').count()).toBe(1)
  expect(await page.getByText('Nothing has to be done.').count()).toBe(0)
  await context.close()
})

test('what was kept on the device goes with the sign-out', async () => {
  const { page, context } = await openApp(browser, app.origin, {
    path: '/more',
    overrides: { 'POST /v1/sign-out': () => ({ status: 204, body: null }) },
  })
  await page.getByText('Sign out here').waitFor()
  await expect.poll(() => page.evaluate(() => caches.has('beadwatch-last-state'))).toBe(true)
  const after = page.waitForURL(`${app.origin}/`)
  await page.getByText('Sign out here').click()
  await after
  // The next page reads anew as whoever is signed in then: nothing of before is left to fall back on.
  await fakeApi(context, 0, { 'GET /v1/me': () => ({ status: 401, body: {} }) })
  await page.reload()
  await page.getByText('You are not signed in on this device.').waitFor()
  await context.close()
})
