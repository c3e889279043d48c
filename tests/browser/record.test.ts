/** The storage record is read years later, by somebody who was not there: dates are whole, and what was not heard is no dry hour. */
import { expect, test } from 'vitest'
import type { Overrides } from './fake/api.ts'
import { exposureAt, me } from './fake/data.ts'
import { iso, traceOf } from './fake/trace.ts'
import type { Opened } from './open.ts'
import { servedApp } from './served-app.ts'

const served = servedApp()

const nowS = Math.floor(Date.now() / 1000)
const dayS = 86_400
/** The first reading of the prepared rigs. */
const bornS = nowS - 90 * dayS
const openRecord = (overrides: Overrides): Promise<Opened> =>
  served.open({ path: '/rigs/r3/record', nowS, overrides })

test('begins with the first reading, and dates what it lists in full', async () => {
  const { page, context } = await openRecord({
    'GET /v1/rigs/*/trace': ({ url }) => {
      const [fromS, toS] = ['from', 'to'].map((name) => Date.parse(url.searchParams.get(name) ?? '') / 1000)
      const outage = { from: iso(nowS - 9 * dayS), to: iso(nowS - 8 * dayS) }
      const goingOn = { from: iso(nowS - dayS), to: iso(toS ?? 0) }
      const whole = traceOf({ fromS: fromS ?? 0, toS: toS ?? 0, points: 400, nowS, story: {} })
      return { body: { ...whole, gaps: [...whole.gaps, outage, goingOn] } }
    },
  })
  await page.getByText('New hose at the breather.').waitFor()
  expect(await page.getByLabel('From').inputValue()).toBe(iso(bornS).slice(0, 10))
  const text = await page.locator('main').innerText()
  const year = new Date((nowS - 9 * dayS) * 1000).getUTCFullYear()
  expect(text).toMatch(new RegExp(String.raw`\d+ \w+ ${year}, \d\d:\d\d to \d+ \w+ \d{4}, \d\d:\d\d, 24.h`))
  expect(text).toMatch(/\d\d:\d\d to the end of the period, 24.h/)
  expect(text).not.toMatch(/yesterday|today|before the first reading/)
  for (const row of await page.locator('table', { hasText: 'When' }).locator('tbody th').allInnerTexts())
    expect(row).toMatch(/^\d+ \w+ \d{4}, \d\d:\d\d$/)
  await context.close()
})

test('has a row for the hours before the first reading, and none of them is an outage', async () => {
  const { page, context } = await openRecord({})
  await page.getByText('New hose at the breather.').waitFor()
  await page.getByLabel('From').fill(iso(bornS - 10 * dayS).slice(0, 10))
  await page.getByRole('row', { name: /^before the first reading 240 \d+.%$/ }).waitFor()
  await page.getByText('None of note.').waitFor()
  await context.close()
})

test('the hours before the first reading are not asked for: the server counts what it was not told as not heard', async () => {
  const asked: string[] = []
  const { page, context } = await openRecord({
    'GET /v1/rigs/*/exposure': ({ url }) => {
      asked.push(url.searchParams.get('from')?.slice(0, 10) ?? '')
      return { body: exposureAt(nowS) }
    },
  })
  await page.getByText('New hose at the breather.').waitFor()
  await page.getByLabel('From').fill(iso(bornS - 10 * dayS).slice(0, 10))
  await page.getByRole('row', { name: /^before the first reading 240 \d+.%$/ }).waitFor()
  expect([...new Set(asked)]).toEqual([iso(bornS).slice(0, 10)])
  await context.close()
})

test('west of Greenwich too the period is that of its days, which are counted in UTC', async () => {
  const { page, context } = await openRecord({
    'GET /v1/me': () => ({ body: { ...me, person: { ...me.person, zone: 'America/Los_Angeles' } } }),
  })
  await page.getByText('New hose at the breather.').waitFor()
  await page.getByLabel('From').fill('2026-03-01')
  await page.getByLabel('To').fill('2026-03-31')
  await page.getByText('1 March 2026 to 31 March 2026', { exact: true }).waitFor()
  await context.close()
})

test('the time of wetness is a part of the hours over 80 %', async () => {
  const { page, context } = await openRecord({})
  await page.getByText(/^of which time of wetness/).waitFor()
  const rows = await page.locator('table', { hasText: 'Humidity' }).locator('tbody th').allInnerTexts()
  const over = rows.findIndex((row) => row.startsWith('over 80'))
  expect(rows[over + 1]).toMatch(/^of which time of wetness/)
  await context.close()
})

test('of a rig that was never heard it says that, and nothing else of its hours', async () => {
  const none = { under40: 0, from40to60: 0, from60to80: 0, over80: 0, wet: 0, gapsH: 0, offH: 0 }
  const { page, context } = await openRecord({
    'GET /v1/rigs/*/trace': () => ({
      body: {
        series: [],
        gaps: [{ from: iso(nowS - dayS), to: iso(nowS) }],
        runs: [],
        marks: [],
        basis: 'days',
      },
    }),
    'GET /v1/rigs/*/exposure': () => ({ body: { ...exposureAt(nowS), ...none } }),
  })
  await page.getByText('Never heard in this period').waitFor()
  expect(await page.locator('main').innerText()).not.toMatch(/0\.0|None of note|Outages/)
  await context.close()
})
