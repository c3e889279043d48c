/**
 * The whole life of a rig, walked through as its owner does, in the browser and against the real server: invite, rig,
 * hub, first post, messages, weeks of readings with two flights and a bake, wet, dry, and the record on paper. The
 * readings come from the simulated rig; whatever a person would type is typed.
 */
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import type { Browser, BrowserContext, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { z } from 'zod'
import { rigFileOf } from '../../clients/local/demo/stories.ts'
import { encodePost } from '../../clients/hub/encode.ts'
import type { LogEntry } from '../../src/core/fold/inputs.ts'
import { settingsOfPlan, typicalPlan, type Flight, type RigPlan } from '../../src/core/rig/plan.ts'
import { advanceRig, type RigOutput } from '../../src/core/rig/simulate.ts'
import { startRig } from '../../src/core/rig/state.ts'
import { CLIMATES } from '../../src/core/rig/weather.ts'
import { startPushService, type PushService } from '../peers/push-service.ts'
import { newStateDir, removeStateDir, startServed, type ServedProcess } from '../scenarios/served.ts'
import { fullChromiumPath, openBrowser, sizes } from './chromium.ts'

const hourS = 3600
const dayS = 24 * hourS
const zone = 'Europe/Lisbon'
const nowS = Math.floor(Date.now() / 1000 / 300) * 300

function flight(landS: number, onS: number): Flight {
  return {
    offS: landS - 1.5 * hourS,
    landS,
    onS,
    waterG: 7,
    heatK: 60,
    isLogged: true,
    isRigLogged: true,
    hub: 'on',
  }
}

const firstLandS = nowS - 6 * dayS
const lastLandS = nowS - 2.5 * hourS

const plan: RigPlan = {
  ...typicalPlan(71, nowS - 12 * dayS),
  climate: { ...CLIMATES.heated, meanC: 14, seasonK: 0, humidityPct: 60 },
  flights: [flight(firstLandS, firstLandS + hourS), flight(lastLandS, lastLandS + hourS)],
  bakes: [{ atS: nowS - 3 * dayS, tempC: 120, isLogged: true, isWeighed: true }],
}

/** As a device shows and takes it in the person's zone. */
function localInput(atS: number): string {
  const parts = new Intl.DateTimeFormat('sv-SE', { timeZone: zone, dateStyle: 'short', timeStyle: 'short' })
  return parts.format(atS * 1000).replace(' ', 'T')
}

const choiceNames: Record<string, string> = {
  flight: 'Flight',
  bake: 'Baked the beads',
  off: 'Rig off',
  on: 'Rig on',
}
const fieldNames: Record<string, string> = {
  'flight hours': 'In the air',
  'bake hours': 'For',
  tempC: 'Oven, °C',
  beforeG: 'Jar before the bake, g',
  afterG: 'Jar after the bake, g',
  jar: 'Jar',
}

// Messages need the full browser: the headless shell of the registry denies notifications.
describe.skipIf(fullChromiumPath === null)('the whole life of a rig', () => {
  let push: PushService
  let served: ServedProcess
  let browser: Browser
  let context: BrowserContext
  let page: Page
  const seen = { key: '', rigId: '' }
  const life: RigOutput = { readings: [], log: [] }

  beforeAll(async () => {
    advanceRig(plan, startRig(plan), nowS, life)
    const stateDir = newStateDir()
    // The keys are made at the first start; the push service has to know them, and the server the push service.
    const first = await startServed({ stateDir })
    await first.stop()
    const keys = z.object({ vapidPublicKey: z.string() })
    push = await startPushService(
      keys.parse(JSON.parse(readFileSync(join(stateDir, 'keys.json'), 'utf8'))).vapidPublicKey,
    )
    served = await startServed({ stateDir, env: { BEADWATCH_PUSH_TEST_ORIGIN: push.origin } })
    browser = await openBrowser()
    context = await browser.newContext({
      ...sizes.phone,
      locale: 'en-GB',
      timezoneId: zone,
      reducedMotion: 'reduce',
    })
    await context.grantPermissions(['notifications'], { origin: served.origin })
    // Stands in for the browser maker's push service, which cannot be reached from here.
    await context.addInitScript((subscription) => {
      if (!('PushManager' in globalThis)) return
      const { endpoint, p256dh, auth } = subscription
      const made = { endpoint, toJSON: () => ({ endpoint, expirationTime: null, keys: { p256dh, auth } }) }
      PushManager.prototype.subscribe = () => Promise.resolve(Object.assign(Object.create(null), made))
    }, push.subscribe())
    page = await context.newPage()
  })
  afterAll(async () => {
    await browser.close()
    await served.stop()
    await push.close()
    removeStateDir(served.stateDir)
  })

  const hostCall = async (method: string, path: string, body?: unknown): Promise<Record<string, unknown>> => {
    const answer: Record<string, unknown> = await (await served.call(method, path, body)).json()
    return answer
  }

  async function post(contentType: string, body: string): Promise<Record<string, unknown>> {
    const answer = await fetch(`${served.origin}/v1/readings`, {
      method: 'POST',
      headers: { authorization: `Bearer ${seen.key}`, 'content-type': contentType },
      body,
    })
    expect(answer.status).toBe(200)
    const said: Record<string, unknown> = await answer.json()
    return said
  }

  test('an invite lets a keeper in', async () => {
    const hangar = await hostCall('POST', '/v1/hangars', { name: 'Sandmere, Row C' })
    const link = await hostCall('POST', `/v1/hangars/${String(hangar['id'])}/invites`, { role: 'keeper' })
    await page.goto(String(link['link']))
    await page.getByText('You are invited to Sandmere, Row C.').waitFor()
    expect(page.url()).not.toContain('#')
    await page.getByLabel('Your name').fill('Mara')
    await page.getByRole('button', { name: 'Sign in on this device' }).click()
    await page.getByRole('heading', { name: 'Nothing to watch yet.' }).waitFor()
  })

  test('a rig, its hub and its key', async () => {
    await page.getByRole('link', { name: 'Set up the first rig' }).click()
    await page.getByLabel('Name').fill('QX-LIF')
    await page.getByLabel('Dry beads, g').fill('2000')
    await page.getByLabel('Pump, L/min').fill('2.5')
    await page.getByLabel('Loop, L').fill('45')
    await page.getByRole('button', { name: 'Make the rig' }).click()
    await page.getByRole('button', { name: 'Connect a hub' }).click()
    await page.getByRole('button', { name: 'Make the key' }).click()
    seen.key = await page.getByTestId('key').innerText()
    expect(await page.getByText(`Authorization: Bearer ${seen.key}`).count()).toBe(1)
    seen.rigId = new URL(page.url()).searchParams.get('rig') ?? ''
    expect(seen.rigId).not.toBe('')
  })

  test('the first post appears while the page is open', async () => {
    await page.getByText('Waiting for a post').waitFor()
    const first = life.readings[0]
    if (!first) throw new Error('the simulated rig said nothing')
    const said = await post(
      'application/json',
      encodePost([first], { kind: 'native', rig: null, isZipped: false }).body.toString(),
    )
    expect(said).toMatchObject({ received: 1, stored: 1 })
    await page.getByText(/^Heard (just now|\d+ \w+ ago)\.$/).waitFor()
  })

  test('messages are switched on, and a test arrives', async () => {
    await page.getByRole('link', { name: 'Devices and messages' }).click()
    await page.getByRole('button', { name: 'Switch notifications on' }).click()
    await page.getByText('Messages reach you on one device.').waitFor()
    await page.getByRole('button', { name: 'Send a test' }).click()
    await expect.poll(() => push.received.length).toBe(1)
    expect(push.mistakes).toEqual([])
    await page.getByText('What it gets').click()
    await page.getByLabel('To know, no action').check()
    await page.getByRole('button', { name: 'Save' }).click()
    await page.getByText('Saved.').waitFor()
  })

  test('twelve days of readings, and what was done is written down with a thumb', async () => {
    // The rig stood and was dried before its hub was pointed here: the settings hold from then.
    const settings = rigFileOf(settingsOfPlan(plan))
    const from = `${new Date(plan.startS * 1000).toISOString().slice(0, 19)}Z`
    await hostCall('PATCH', `/v1/rigs/${seen.rigId}`, { from, settings })
    for (let i = 0; i < life.readings.length; i += 4000) {
      const sent = encodePost(life.readings.slice(i, i + 4000), {
        kind: 'native',
        rig: null,
        isZipped: false,
      })
      const said = await post(sent.contentType, sent.body.toString())
      expect(said['setAsideTotal']).toBe(0)
    }
    expect(life.log.map((entry) => entry.what).filter((what) => what === 'flight')).toHaveLength(2)
    for (const entry of life.log) await enter(entry)
    // The hub sends its last days once more, as hubs do: nothing is stored twice, and the checks take the entries in.
    const again = encodePost(life.readings.slice(-500), { kind: 'native', rig: null, isZipped: false })
    const said = await post(again.contentType, again.body.toString())
    expect(said).toMatchObject({ stored: 0, repeated: 500 })
  })

  async function enter(entry: LogEntry): Promise<void> {
    const choice = choiceNames[entry.what]
    if (choice === undefined) throw new Error(`no words for ${entry.what}`)
    await page.goto(`${served.origin}/logbook/new?rig=${seen.rigId}`)
    await page.getByRole('button', { name: choice, exact: true }).click()
    for (const [name, value] of Object.entries(entry.detail)) {
      const label = fieldNames[`${entry.what} ${name}`] ?? fieldNames[name]
      if (label === undefined) throw new Error(`no field for ${name}`)
      await page.getByLabel(label, { exact: true }).fill(value)
    }
    await page.locator('input[type=datetime-local]').last().fill(localInput(entry.atS))
    await page.getByRole('button', { name: 'Save' }).click()
    await page.getByText(/^Saved:/).waitFor()
  }

  test('the last flight is wet, in words and on the strip', async () => {
    await page.goto(`${served.origin}/rigs/${seen.rigId}`)
    // The page asks again once a minute; here it is asked anew until the checks have taken everything in.
    await expect
      .poll(
        async () => {
          await page.reload()
          return page.locator('.top .say').innerText()
        },
        { timeout: 50_000, interval: 3000 },
      )
      .toMatch(/Water is coming out/)
    await page.locator('.strip-plot canvas').waitFor()
    await page.getByText('Read it as a table').click()
    expect(await page.getByText(/: flight, .* in the air/).count()).toBe(2)
  })

  test('the flight before it is dry again, and the record of that stays', async () => {
    await expect
      .poll(
        async () => {
          await page.reload()
          await page.waitForLoadState('networkidle')
          return page.getByRole('heading', { name: 'Earlier alerts' }).count()
        },
        { timeout: 40_000, interval: 2000 },
      )
      .toBe(1)
    expect(await page.getByText(/g of water came out after the flight in \d+ hours/).count()).toBeGreaterThan(
      0,
    )
  })

  test('the phone was told about the water', async () => {
    await expect
      .poll(() => push.received.map((one) => one.text).join('\n'), { timeout: 40_000 })
      .toMatch(/QX-LIF/)
    expect(push.mistakes).toEqual([])
  })

  test('the bake began a fill, with what was taken up since', async () => {
    await expect
      .poll(
        async () => {
          await page.reload()
          await page.waitForLoadState('networkidle')
          return page.getByText(/^baked /).count()
        },
        { timeout: 40_000, interval: 2000 },
      )
      .toBe(1)
    await page.getByText(/of water taken up/).waitFor()
  })

  test('the record prints: flights, the bake, the hours, and nothing of the app around them', async () => {
    await page.getByRole('link', { name: 'Storage record' }).click()
    await page.getByText(/hours, of which/).waitFor()
    await page.getByText('2 flights entered.').waitFor()
    await page.emulateMedia({ media: 'print' })
    expect(await page.locator('.nav').isVisible()).toBe(false)
    expect(await page.getByRole('button', { name: 'Print, or save as PDF' }).isVisible()).toBe(false)
    expect(
      await page
        .getByText(/Beads baked/)
        .first()
        .isVisible(),
    ).toBe(true)
    const pdf = await page.pdf({ format: 'A4' })
    expect(pdf.subarray(0, 5).toString()).toBe('%PDF-')
    expect(pdf.toString('latin1').match(/\/Type\s*\/Page\b/g)?.length).toBeGreaterThanOrEqual(1)
    expect(pdf.length).toBeGreaterThan(10_000)
    await page.emulateMedia({ media: 'screen' })
  })
})
