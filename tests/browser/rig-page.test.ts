/** The page of one rig: what stands first on it, and what its numbers are called. */
import { expect, test } from 'vitest'
import type { Overrides } from './fake/api.ts'
import { alertsAt, fillAt, nowOf, rigs } from './fake/data.ts'
import type { Opened } from './open.ts'
import { servedApp } from './served-app.ts'

const served = servedApp()

const nowS = Math.floor(Date.now() / 1000)
const open = (path: string, overrides: Overrides): Promise<Opened> =>
  served.open({ path, size: 'phone', nowS, overrides })

test('that nobody would be told stands at the top of the page of a rig', async () => {
  const { page, context } = await open('/rigs/r1', {})
  const note = page.locator('.notice.loud', { hasText: 'Nobody would be told' })
  await note.waitFor()
  const strip = await page.locator('.strip-entry').boundingBox()
  expect((await note.boundingBox())?.y ?? Infinity).toBeLessThan(strip?.y ?? 0)
  await context.close()
})

test('before flight is the first thing to press on the page of a rig', async () => {
  const { page, context } = await open('/rigs/r3', {})
  const button = page.getByRole('link', { name: 'Before flight' })
  await button.waitFor()
  expect((await button.boundingBox())?.y ?? Infinity).toBeLessThan(700)
  await button.click()
  await page.getByRole('heading', { name: 'Before Grebe flies' }).waitFor()
  await context.close()
})

test('a note without steps has none to unfold', async () => {
  const note = { ...alertsAt(nowS)[0], rig: 'r3', urgency: 'note', check: ['Nothing to do.'] }
  const { page, context } = await open('/rigs/r3', {
    'GET /v1/rigs/*/now': () => ({ body: { ...nowOf('r3', nowS), alerts: [note] } }),
  })
  await page.getByText('To know').waitFor()
  expect(await page.getByText('What to do, in this order').count()).toBe(0)
  await context.close()
})

test('the bar of the fill has its three parts named', async () => {
  const { page, context } = await open('/rigs/r3', {})
  const key = page.locator('.ledger-key')
  await key.waitFor()
  expect((await key.innerText()).replace(/\s+/g, ' ')).toBe(
    'taken up, 61 g room left, about 149 g may be taken up, about 210 g, likely 140 to 280 g',
  )
  await context.close()
})

test('a table wider than a phone shows the water first, and that it goes on', async () => {
  const { page, context } = await open('/rigs/r3', {})
  const runs = page.getByRole('region', { name: 'Runs' })
  await runs.waitFor()
  expect(await runs.locator('thead th').nth(1).innerText()).toBe('Water')
  const edge = await runs.evaluate((element) => ({
    beyond: element.scrollWidth - element.clientWidth,
    shades: getComputedStyle(element).backgroundImage.match(/gradient/g)?.length ?? 0,
  }))
  expect(edge.beyond).toBeGreaterThan(0)
  expect(edge.shades).toBe(4)
  await context.close()
})

test('of beads that nobody has entered it does not say that they are new, and a mass that was taken back is one that lacks', async () => {
  const fill = { ...fillAt(nowS), jar: null, bakeTempC: null }
  const nothing = {
    takenUpG: null,
    capacityG: null,
    flightsLeft: null,
    daysLeft: null,
    emptyAt: null,
    noFlightsUntil: null,
  }
  const grebe = rigs[2]
  const { page, context } = await open('/rigs/r3', {
    'GET /v1/rigs/*': () => ({ body: { ...grebe, settings: { ...grebe?.settings, beadMassG: null } } }),
    'GET /v1/rigs/*/now': () => ({
      body: { ...nowOf('r3', nowS), fill: { ...fill, forecast: nothing }, forecast: null },
    }),
  })
  await page.getByText(/^counted from \d+ \w+ \d{4}$/).waitFor()
  await page.getByText(/is not known: the settings lack the mass of the beads\./).waitFor()
  expect(await page.getByText('new beads').count()).toBe(0)
  await context.close()
})

test('the strip has all alerts of a rig, however many there were', async () => {
  const asked: string[] = []
  const [alert] = alertsAt(nowS)
  const page1 = Array.from({ length: 200 }, (_, i) => ({ ...alert, id: `n${i}`, rig: 'r3', urgency: 'note' }))
  const { page, context } = await open('/rigs/r3', {
    'GET /v1/rigs/*/alerts': ({ url }) => {
      const after = url.searchParams.get('after') ?? ''
      asked.push(after)
      return after === ''
        ? { body: { items: page1, next: 'older' } }
        : { body: { items: [{ ...alert, id: 'old', rig: 'r3' }], next: null } }
    },
  })
  await page.locator('.strip-plot canvas').waitFor()
  await expect.poll(() => asked).toEqual(['', 'older'])
  await context.close()
})
