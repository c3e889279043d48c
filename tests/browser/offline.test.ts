import { expect, test } from 'vitest'
import { fakeApi } from './fake/api.ts'
import { me, rigs } from './fake/data.ts'
import { servedApp } from './served-app.ts'
import { serveBuiltApp } from './static-server.ts'

const served = servedApp()

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
  const { page, context } = await served.open({ path: '/rigs/r3', size: 'phone' })
  await page.locator('.strip-plot canvas').waitFor()
  await page.getByRole('heading', { name: 'Wetness' }).waitFor()
  await page.goto(served.url('/'))
  await page.getByText('One thing cannot wait, two can.').waitFor()
  await page.waitForLoadState('networkidle')

  await fakeApi(context, Math.floor(Date.now() / 1000), allOffline)
  await page.reload()
  await page.getByText('One thing cannot wait, two can.').waitFor()
  expect(await page.getByText(/This is what the server said (just now|\d+ \w+ ago)/).count()).toBeGreaterThan(
    0,
  )
  await page.goto(served.url('/rigs/r3'))
  await page.locator('.strip-plot canvas').waitFor()
  expect(await page.getByText(/This is what the server said/).count()).toBeGreaterThan(0)
  await context.close()
})

const failing = () => ({ status: 500, body: { title: 'Something failed on our side' } })
const allFailing = Object.fromEntries(Object.keys(allOffline).map((call) => [call, failing]))

test('a server that fails takes nothing away: the last state stays, and it is said once', async () => {
  const { page, context } = await served.open({ path: '/rigs/r3', size: 'phone' })
  await page.locator('.strip-plot canvas').waitFor()
  await page.getByRole('heading', { name: 'Wetness' }).waitFor()
  await page.waitForLoadState('networkidle')
  await fakeApi(context, Math.floor(Date.now() / 1000), allFailing)
  await page.reload()
  await page.locator('.strip-plot canvas').waitFor()
  await page.getByText(/^The server could not answer\. This is what the server said/).waitFor()
  expect(await page.locator('.notice').filter({ hasText: 'The server could not answer' }).count()).toBe(1)
  expect(await page.getByRole('navigation', { name: 'Places' }).count()).toBe(1)
  await context.close()
})

test('where nothing was kept a failing server leaves the frame, and words', async () => {
  const { page, context } = await served.open({ path: '/', overrides: allFailing })
  await page.getByRole('heading', { level: 1, name: 'The server could not answer.' }).waitFor()
  await page.getByText(/how the rigs are is not known here/).waitFor()
  expect(await page.getByRole('link', { name: 'Rigs' }).count()).toBe(1)
  expect(await page.title()).toBe('No answer · Beadwatch')
  await fakeApi(context, Math.floor(Date.now() / 1000))
  await page.getByRole('button', { name: 'Try again' }).click()
  await page.getByText('One thing cannot wait, two can.').waitFor()
  await context.close()
})

test('with many hangars the missing network is said once, and of each rig what is not on the device', async () => {
  const hangars = ['h1', 'h2', 'h3'].map((id) => ({ id, name: `Row ${id}`, role: 'keeper' as const }))
  const several = {
    'GET /v1/me': () => ({ body: { ...me, hangars } }),
    'GET /v1/hangars/*/rigs': ({ url }: { url: URL }) => {
      const hangar = url.pathname.split('/')[3] ?? ''
      return { body: { items: [{ ...rigs[0], id: `r1-${hangar}`, hangar }], next: null } }
    },
    'GET /v1/rigs/r1-h2/now': failing,
  }
  const { page, context } = await served.open({ path: '/rigs', overrides: several })
  await page.getByRole('heading', { name: 'Row h3' }).waitFor()
  await page.waitForLoadState('networkidle')
  await page.getByText('Not on this device; ask again in a moment.').waitFor()
  await fakeApi(context, Math.floor(Date.now() / 1000), allOffline)
  await page.reload()
  await page.getByRole('heading', { name: 'Row h3' }).waitFor()
  await page.getByText('Not on this device; ask again with a network.').waitFor()
  expect(await page.getByText(/No network/).count()).toBe(1)
  expect(await page.locator('main').innerText()).not.toContain('…')
  await context.close()
})

test('the page itself opens without a network', async () => {
  const own = await serveBuiltApp()
  const { page, context } = await served.open({ path: '/' }, own.origin)
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
  const { page, context } = await served.open({
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
  const { page, context } = await served.open({
    path: '/more',
    overrides: { 'POST /v1/sign-out': () => ({ status: 204, body: null }) },
  })
  await page.getByText('Sign out here').waitFor()
  await expect.poll(() => page.evaluate(() => caches.has('beadwatch-last-state'))).toBe(true)
  const after = page.waitForURL(served.url('/'))
  await page.getByText('Sign out here').click()
  await after
  // The next page reads anew as whoever is signed in then: nothing of before is left to fall back on.
  await fakeApi(context, 0, { 'GET /v1/me': () => ({ status: 401, body: {} }) })
  await page.reload()
  await page.getByText('You are not signed in on this device.').waitFor()
  await context.close()
})
