/** What may be said where nobody has to act: never of a rig that was not heard, and not as if somebody were told. */
import { describe, expect, test } from 'vitest'
import type { Overrides } from './fake/api.ts'
import { alertsAt, nowOf, rigs } from './fake/data.ts'
import type { Opened } from './open.ts'
import { servedApp } from './served-app.ts'

const served = servedApp()

const nowS = Math.floor(Date.now() / 1000)
const list = (items: unknown[]) => () => ({ body: { items, next: null } })
const open = (path: string, overrides: Overrides): Promise<Opened> =>
  served.open({ path, size: 'phone', nowS, overrides })

/** Of the rigs named, none was ever heard. */
const unheard = (...ids: string[]): Overrides => ({
  'GET /v1/alerts': list([]),
  'GET /v1/rigs/*/now': ({ url }) => {
    const id = url.pathname.split('/')[3] ?? ''
    return { body: { ...nowOf(id, nowS), alerts: [], ...(ids.includes(id) ? { heardAt: null } : {}) } }
  },
})

describe('a rig that was never heard', () => {
  const alone = { ...unheard('r1'), 'GET /v1/hangars/*/rigs': list(rigs.slice(0, 1)) }

  test.each(['/', '/rigs'])('alone, gets no all-clear on %s', async (path) => {
    const { page, context } = await open(path, alone)
    await page.getByRole('heading', { name: 'Nothing is watched yet.' }).waitFor()
    await page.getByText('Plover has never been heard: connect its hub.').waitFor()
    const text = await page.locator('main').innerText()
    expect(text).not.toMatch(/needs nothing|nothing has to be done|no rig needs you/i)
    await page.getByRole('link', { name: 'connect its hub' }).click()
    await page.getByRole('heading', { name: 'Hubs' }).waitFor()
    await context.close()
  })

  test('is counted apart from those that need nothing', async () => {
    const { page, context } = await open('/', unheard('r1', 'r4'))
    await page.getByRole('heading', { name: 'Two rigs are not watched yet.' }).waitFor()
    await page.getByText('Three rigs need nothing.').waitFor()
    await page.goto(served.url('/rigs'))
    await page.getByRole('heading', { name: 'Two rigs are not watched yet.' }).waitFor()
    await page.getByText('Wigeon has never been heard').waitFor()
    expect((await page.locator('.row h2').allInnerTexts()).slice(0, 2)).toEqual(['Plover', 'Wigeon'])
    await context.close()
  })

  test('until every rig has answered nothing is said to be in order', async () => {
    const { page, context } = await open('/', {
      'GET /v1/alerts': list([]),
      'GET /v1/rigs/*/now': () => 'hang',
    })
    await page.getByRole('heading', { name: 'No job is known.' }).waitFor()
    await page.getByRole('link', { name: 'Plover' }).waitFor()
    expect(await page.getByText('need nothing').count()).toBe(0)
    await context.close()
  })
})

describe('a hangar without a rig', () => {
  const empty: Overrides = {
    'GET /v1/alerts': list([]),
    'GET /v1/hangars/*/rigs': list([]),
    'GET /v1/devices': list([]),
  }
  test('has no rig to compare, and none that needs nobody', async () => {
    const { page, context } = await open('/rigs', empty)
    await page.getByText('No rig here yet.').waitFor()
    await page.getByRole('heading', { name: 'Nothing to watch yet.' }).waitFor()
    const text = await page.locator('main').innerText()
    expect(text).not.toMatch(/no rig needs|compare|another rig|no device/i)
    await context.close()
  })

  test('says so once on the first screen', async () => {
    const { page, context } = await open('/', empty)
    await page.getByRole('link', { name: 'Set up the first rig' }).waitFor()
    expect(await page.locator('main').innerText()).not.toMatch(/no rig/i)
    await context.close()
  })
})

describe('nobody would be told', () => {
  test.each(['/', '/rigs'])(
    'is said under the headline of %s, while no device is registered',
    async (path) => {
      const { page, context } = await open(path, { 'GET /v1/devices': list([]) })
      const note = page.locator('.notice.loud', { hasText: 'No device of yours is told.' })
      await note.waitFor()
      const above = await page.locator('main .entry, main .row').first().boundingBox()
      expect((await note.boundingBox())?.y ?? Infinity).toBeLessThan(above?.y ?? 0)
      await note.getByRole('link', { name: 'Switch messages on' }).click()
      await page.getByRole('heading', { name: 'Nobody would reach you yet.' }).waitFor()
      await context.close()
    },
  )

  test('and not once one is', async () => {
    const { page, context } = await open('/', {})
    await page.getByRole('heading', { name: 'One thing cannot wait, two can.' }).waitFor()
    await page.getByText('Two rigs need nothing.').waitFor()
    expect(await page.locator('.notice.loud').count()).toBe(0)
    await context.close()
  })
})

describe('the list of rigs', () => {
  test('begins with the rig that cannot wait, in the colour of it', async () => {
    const [visit, urgent, silent] = alertsAt(nowS)
    const late = [visit, { ...urgent, rig: 'r4' }, silent]
    const { page, context } = await open('/rigs', { 'GET /v1/alerts': list(late) })
    await page.getByText('Drive out now').waitFor()
    expect(await page.locator('.row h2').allInnerTexts()).toEqual([
      'Wigeon',
      'Dunlin',
      'Teal',
      'Plover',
      'Grebe',
    ])
    const [due, accent] = await page.getByText('Drive out now').evaluate((element) => {
      const probe = document.body.appendChild(document.createElement('i'))
      probe.style.setProperty('color', 'var(--accent)')
      return [getComputedStyle(element).color, getComputedStyle(probe).color]
    })
    expect(due).toBe(accent)
    await context.close()
  })
})
