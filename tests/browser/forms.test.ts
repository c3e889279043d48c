/** What a form does with what cannot be right: nothing is dropped, nothing impossible is saved, and it is said in words. */
import type { Page } from 'playwright-core'
import { describe, expect, test } from 'vitest'
import { rigs } from './fake/data.ts'
import { restlessSizing, sizing } from './fake/people.ts'
import type { Overrides } from './fake/api.ts'
import { servedApp } from './served-app.ts'

const served = servedApp()

type Answer = { status?: number; body: unknown }
type Given = { path: string; call: string; answer?: Answer }

/** Opens the screen on a phone and keeps what it sends to `call`. */
async function open(given: Given): Promise<{ page: Page; sent: unknown[]; close: () => Promise<void> }> {
  const sent: unknown[] = []
  const overrides: Overrides = {
    [given.call]: ({ body }) => {
      sent.push(body)
      return given.answer ?? { body: rigs[2] }
    },
  }
  const { page, context } = await served.open({ path: given.path, size: 'phone', overrides })
  return { page, sent, close: () => context.close() }
}

const refusal = (...errors: object[]): Answer => ({
  status: 422,
  body: { type: '/problems/invalid', title: 'Something in the request is not as it should be', errors },
})
const press = (page: Page, name: string): Promise<void> =>
  page.getByRole('button', { name, exact: true }).click()
const isFocused = (page: Page, label: string): Promise<boolean> =>
  page.getByLabel(label).evaluate((field) => field === document.activeElement)

describe('the time of an entry', () => {
  const flight = { path: '/logbook/new?rig=r3&what=flight', call: 'POST /v1/rigs/*/logbook' }

  test('is needed, and is not later than now', async () => {
    const { page, sent, close } = await open(flight)
    const at = page.getByLabel('Landed')
    expect(await at.getAttribute('required')).not.toBeNull()
    const last = (await at.getAttribute('max')) ?? ''
    expect(last >= (await at.inputValue())).toBe(true)
    await at.fill('')
    await press(page, 'Save')
    await page.getByText('Give the day and the time.').waitFor()
    await expect.poll(() => isFocused(page, 'Landed')).toBe(true)
    await at.fill(`${Number(last.slice(0, 4)) + 1}-06-01T10:00`)
    expect(await page.getByText('Give the day and the time.').count()).toBe(0)
    await press(page, 'Save')
    await page.getByText('This lies ahead: enter it once it has happened.').waitFor()
    expect(sent).toEqual([])
    await at.fill(`${Number(last.slice(0, 4)) - 1}-06-01T10:00`)
    await press(page, 'Save')
    await expect.poll(() => sent.length).toBe(1)
    expect(sent).toMatchObject([{ at: `${Number(last.slice(0, 4)) - 1}-06-01T09:00:00Z` }])
    await close()
  })

  test('an absence may end ahead, and not before it began', async () => {
    const { page, sent, close } = await open({ ...flight, path: '/logbook/new?rig=r3&what=away' })
    const began = await page.getByLabel('From').inputValue()
    await page.getByLabel('Until').fill(began)
    await press(page, 'Save')
    await page.getByText('This has to be later than “From”.').waitFor()
    expect(sent).toEqual([])
    await page.getByLabel('Until').fill(began.replace(/^\d+/, (year) => String(Number(year) + 1)))
    await press(page, 'Save')
    await expect.poll(() => sent.length).toBe(1)
    await close()
  })
})

describe('a number', () => {
  test('with its unit typed after it is said to be none, and nothing is saved', async () => {
    const { page, sent, close } = await open({ path: '/rigs/r3/settings', call: 'PATCH /v1/rigs/*' })
    const beads = page.getByLabel('Dry beads, g')
    await beads.fill('2,5 kg')
    await press(page, 'Save')
    await page.getByText('Only a number here, in g.').waitFor()
    await expect.poll(() => isFocused(page, 'Dry beads, g')).toBe(true)
    expect(await beads.getAttribute('aria-invalid')).toBe('true')
    expect([sent, await beads.inputValue()]).toEqual([[], '2,5 kg'])
    await close()
  })

  test('with a decimal comma is read, and half a pair is not dropped', async () => {
    const { page, sent, close } = await open({ path: '/rigs/r3/settings', call: 'PATCH /v1/rigs/*' })
    await page.getByLabel('Pump, L/min').fill('2,75')
    await page.getByLabel('Hangar air, usual, %').fill('62')
    await press(page, 'Save')
    await page.getByText(/Give both, or neither/).waitFor()
    await expect.poll(() => isFocused(page, 'Hangar, usual, °C')).toBe(true)
    await page.getByLabel('Hangar, usual, °C').fill('11,5')
    await press(page, 'Save')
    await page.getByText('It holds from now on.').waitFor()
    expect(sent).toMatchObject([
      { settings: { flowLPerMin: 2.75, ambient: { humidity: 62, temperature: 11.5 }, beadMassG: 2000 } },
    ])
    await close()
  })

  test('is not sent again where only the name was changed, and stays exact where another was', async () => {
    const precise = {
      ...rigs[2],
      settings: { ...rigs[2]?.settings, ambient: { humidity: 62, temperature: 11.25 } },
    }
    const sent: unknown[] = []
    const { page, context } = await served.open({
      path: '/rigs/r3/settings',
      size: 'phone',
      overrides: {
        'GET /v1/rigs/*': () => ({ body: precise }),
        'PATCH /v1/rigs/*': ({ body }) => {
          sent.push(body)
          return { body: precise }
        },
      },
    })
    await page.getByLabel('Name', { exact: true }).fill('Great Grebe')
    await press(page, 'Save')
    await page.getByText('It holds from now on.').waitFor()
    await page.getByLabel('Pump, L/min').fill('2.75')
    await press(page, 'Save')
    await expect.poll(() => sent.length).toBe(2)
    expect(sent).toEqual([
      { name: 'Great Grebe' },
      { name: 'Great Grebe', settings: { ...precise.settings, flowLPerMin: 2.75 } },
    ])
    await context.close()
  })

  test('that is none is not sized as if it were left empty, folded away or not', async () => {
    const { page, sent, close } = await open({
      path: '/sizing',
      call: 'POST /v1/sizing',
      answer: { body: sizing },
    })
    await page.getByText('If you know more').click()
    await page.getByLabel('Leakage, L/h').fill('abc')
    await page.getByText('If you know more').click()
    await page.getByLabel('Bore of the hoses, mm').fill('eight')
    await press(page, 'Work it out')
    await page.getByText('Only a number here, in L/h.').waitFor()
    await expect.poll(() => isFocused(page, 'Bore of the hoses, mm')).toBe(true)
    expect(sent).toEqual([])
    await page.getByLabel('Bore of the hoses, mm').fill('8')
    await press(page, 'Work it out')
    await expect.poll(() => isFocused(page, 'Leakage, L/h')).toBe(true)
    expect(sent).toEqual([])
    await page.getByLabel('Leakage, L/h').fill('')
    await press(page, 'Work it out')
    await page
      .getByText(/flights from bake to bake/)
      .first()
      .waitFor()
    await close()
  })

  test('of a loop that cannot reach its band: that it never rests comes first, and no number is made up', async () => {
    const { page, close } = await open({
      path: '/sizing',
      call: 'POST /v1/sizing',
      answer: { body: restlessSizing },
    })
    await press(page, 'Work it out')
    await page.getByText(/^This loop never rests: .* at about 11\.3.%\./).waitFor()
    expect(await page.getByText('without end', { exact: true }).count()).toBe(2)
    expect(await page.getByText(/dry again/).count()).toBe(0)
    await close()
  })

  test('of an entry is checked before it is sent', async () => {
    const { page, sent, close } = await open({
      path: '/logbook/new?rig=r3&what=bake',
      call: 'POST /v1/rigs/*/logbook',
    })
    await page.getByLabel('Oven, °C').fill('hot')
    await page.getByLabel('Jar before the bake, g').fill('1.2 kg')
    await press(page, 'Save')
    await page.getByText('Only a number here, in °C.').waitFor()
    await page.getByText('Only a number here, in g.').waitFor()
    await expect.poll(() => isFocused(page, 'Oven, °C')).toBe(true)
    expect(sent).toEqual([])
    await close()
  })
})

describe('what the server refuses', () => {
  test('is said at its field, in the field’s unit, and the reader is taken to the first', async () => {
    const { page, close } = await open({
      path: '/rigs/r3/settings',
      call: 'PATCH /v1/rigs/*',
      answer: refusal(
        {
          pointer: '/settings/reportEveryS',
          detail: 'a number from 1 to 86400',
          range: { min: 1, max: 86_400 },
        },
        { pointer: '/settings/band/start', detail: 'has to be above where the pump stops: 5 is not over 20' },
      ),
    })
    await press(page, 'Save')
    await page.getByText('Has to be above where the pump stops: 5 is not over 20.').waitFor()
    await page.getByText('This has to be from 0.02 to 1440.').waitFor()
    await expect.poll(() => isFocused(page, 'Pump starts at, %')).toBe(true)
    expect(await page.locator('main').innerText()).not.toMatch(/\/settings|in the request/)
    expect(await page.locator('.notice.loud').count()).toBe(0)
    await close()
  })

  test('and belongs to no field is said above the button, without its place in the request', async () => {
    const { page, close } = await open({
      path: '/start',
      call: 'POST /v1/hangars/*/rigs',
      answer: refusal({ pointer: '/settings/boxL', detail: 'the pump box is larger than the loop' }),
    })
    await page.getByLabel('Name').fill('QX-NEW')
    await press(page, 'Make the rig')
    await page.getByText('This was not taken: the pump box is larger than the loop.').waitFor()
    expect(await page.locator('main').innerText()).not.toContain('/settings')
    await close()
  })
})

test('the guide of the salt check says what the last one came to', async () => {
  const { page, context } = await served.open({ path: '/rigs/r3/guide/salt-check', size: 'phone' })
  await page.getByText('The last salt check was not accepted: it was shorter than 8').waitFor()
  await page.goto(served.url('/rigs/r3/guide/bake'))
  await page.getByRole('heading', { name: 'Bake the beads' }).waitFor()
  expect(await page.getByText('salt check').count()).toBe(0)
  await context.close()
})
