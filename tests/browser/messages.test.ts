/**
 * A message from the server to a shown notification: the real server, its encryption, a push service on loopback that
 * checks the signature and decrypts, and the real service worker in Chromium. Only two steps are the browser
 * maker's and not ours: `pushManager.subscribe` (needs their push service) and handing the text to the worker.
 */
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import type { Browser, BrowserContext, CDPSession, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { z } from 'zod'
import { sawTooth } from '../adapters/store/saw-tooth.ts'
import { startPushService, type PushService } from '../peers/push-service.ts'
import { newStateDir, removeStateDir, startServed, type ServedProcess } from '../scenarios/served.ts'
import { fullChromiumPath, openBrowser } from './chromium.ts'

const DAY_S = 86_400

// The headless shell of the registry denies notifications.
describe.skipIf(fullChromiumPath === null)('messages in Chromium', () => {
  let service: PushService
  let served: ServedProcess
  let browser: Browser
  let context: BrowserContext
  let page: Page
  let cdp: CDPSession
  let registrationId: string
  let hangarId: string

  beforeAll(async () => {
    const stateDir = newStateDir()
    // The keys are made at the first start; the push service has to know them, and the server the push service.
    const first = await startServed({ stateDir })
    await first.stop()
    service = await startPushService(vapidPublicKey(stateDir))
    served = await startServed({ stateDir, env: { BEADWATCH_PUSH_TEST_ORIGIN: service.origin } })
    browser = await openBrowser()
    context = await browser.newContext()
    await context.grantPermissions(['notifications'], { origin: served.origin })
    page = await signedInPage()
    cdp = await context.newCDPSession(page)
    registrationId = await findRegistration()
  }, 180_000)
  afterAll(async () => {
    await browser.close()
    await served.stop()
    await service.close()
    removeStateDir(served.stateDir)
  })

  async function signedInPage(): Promise<Page> {
    const hangar = await (await served.call('POST', '/v1/hangars', { name: 'Sparrow Meadow' })).json()
    hangarId = String(hangar.id)
    const path = `/v1/hangars/${hangarId}/invites`
    const invite = await (await served.call('POST', path, { role: 'keeper', name: 'Mira' })).json()
    const to = service.subscribe()
    // Stands in for the browser maker's push service, which cannot be reached from here.
    await context.addInitScript((subscription) => {
      if (!('PushManager' in globalThis)) return
      const { endpoint, p256dh, auth } = subscription
      const made = { endpoint, toJSON: () => ({ endpoint, expirationTime: null, keys: { p256dh, auth } }) }
      PushManager.prototype.subscribe = () => Promise.resolve(Object.assign(Object.create(null), made))
    }, to)
    const opened = await context.newPage()
    await opened.goto(String(invite.link))
    await opened.getByRole('button', { name: 'Sign in on this device' }).click()
    await opened.waitForURL(`${served.origin}/`)
    return opened
  }

  async function findRegistration(): Promise<string> {
    const found = new Promise<string>((resolve) => {
      cdp.on('ServiceWorker.workerRegistrationUpdated', ({ registrations }) => {
        const [one] = registrations
        if (one) resolve(one.registrationId)
      })
    })
    await cdp.send('ServiceWorker.enable')
    await page.evaluate(() => navigator.serviceWorker.ready.then(() => true))
    return found
  }

  const call = (method: string, path: string, body?: unknown) =>
    page.evaluate(
      async (sent) => {
        const answer = await fetch(sent.path, {
          method: sent.method,
          ...(sent.body === undefined
            ? {}
            : { headers: { 'content-type': 'application/json' }, body: JSON.stringify(sent.body) }),
        })
        const text = await answer.text()
        return { status: answer.status, body: text === '' ? null : JSON.parse(text) }
      },
      { method, path, body },
    )

  const arrive = (text: string) =>
    cdp.send('ServiceWorker.deliverPushMessage', { origin: served.origin, registrationId, data: text })

  const shown = () =>
    page.evaluate(async () => {
      const registration = await navigator.serviceWorker.ready
      const all = await registration.getNotifications()
      return all.map(({ title, body, tag, data, silent }) => ({ title, body, tag, data, silent }))
    })

  async function subscribeInPage() {
    const subscription = await page.evaluate(async () => {
      const { pushManager } = await navigator.serviceWorker.ready
      return (await pushManager.subscribe({ userVisibleOnly: true })).toJSON()
    })
    return call('POST', '/v1/devices', { subscription, name: 'Test phone' })
  }

  test('the test message is encrypted, signed, taken, and shown by the worker', async () => {
    const added = await subscribeInPage()
    expect(added.status).toBe(201)
    const tested = await call('POST', `/v1/devices/${added.body.id}/test`)
    expect(tested.body).toMatchObject({ outcome: 'taken' })
    expect(service.mistakes).toEqual([])
    expect(service.received).toHaveLength(1)
    await arrive(service.received[0]?.text ?? '')
    await expect.poll(shown).toMatchObject([
      {
        title: 'Beadwatch can reach this device',
        tag: `test-${added.body.id}`,
        data: { navigate: `${served.origin}/messages` },
      },
    ])
    const list = await call('GET', '/v1/devices')
    expect(list.body.items[0]).toMatchObject({ name: 'Test phone', failure: null })
    expect(list.body.items[0].lastReachedAt).not.toBeNull()
  })

  test('a person switches messages on, loses the subscription, and switches them on again', async () => {
    await page.goto(`${served.origin}/messages`)
    await page.getByRole('button', { name: 'Switch notifications on' }).click()
    await page.getByText('Notifications are on here.').waitFor()
    service.fail(() => ({ status: 410 }))
    const list = await call('GET', '/v1/devices')
    const [device] = list.body.items
    await call('PATCH', `/v1/devices/${device.id}`, { urgencies: ['now'] })
    // The test message of the one before was a moment ago.
    await expect
      .poll(async () => (await call('POST', `/v1/devices/${device.id}/test`)).body.outcome, {
        timeout: 20_000,
        interval: 1000,
      })
      .toBe('ended')
    service.fail(() => null)
    await page.reload()
    await page.getByText('Not reached any more').waitFor()
    await page.getByRole('button', { name: 'Switch notifications on' }).click()
    await page.getByText('Notifications are on here.').waitFor()
    const after = await call('GET', '/v1/devices')
    expect(after.body.items).toMatchObject([{ id: device.id, endedAt: null, urgencies: ['now'] }])
  })

  const about = (change: { id: string; body: string; tag?: string; renotify?: boolean }) =>
    JSON.stringify({
      web_push: 8030,
      notification: {
        title: 'Heron: pump on, air not getting drier',
        body: change.body,
        tag: change.tag ?? 'alert-1',
        navigate: `${served.origin}/rigs`,
        renotify: change.renotify ?? true,
        data: { id: change.id },
      },
    })

  test('a newer message about the same alert replaces the older; a repeat makes no sound', async () => {
    await arrive(about({ id: 'a/raised', body: 'first' }))
    await expect.poll(async () => (await shown()).map((one) => one.body)).toContain('first')
    await arrive(about({ id: 'a/changed', body: 'second' }))
    await expect.poll(async () => (await shown()).map((one) => one.body)).toContain('second')
    await arrive(about({ id: 'a/changed', body: 'second' }))
    await expect
      .poll(async () => (await shown()).filter((one) => one.tag === 'alert-1'))
      .toMatchObject([{ body: 'second', silent: true }])
  })

  test('what cannot be read is shown as a message all the same: silence would cost the permission', async () => {
    await arrive('}{')
    await expect
      .poll(async () => (await shown()).map((one) => one.title))
      .toContain('Beadwatch has a message')
  })

  test('a tap leads the open window to the page of the message, and never off this origin', async () => {
    await arrive(about({ id: 'b/raised', body: 'tap me', tag: 'alert-2' }))
    await expect.poll(async () => (await shown()).map((one) => one.body)).toContain('tap me')
    await tap('alert-2')
    await page.waitForURL(`${served.origin}/rigs`)
    await page.waitForLoadState('networkidle')
    // The page is asked while it loads, and the system takes a moment to take the notification away.
    await expect.poll(async () => (await shown()).map((one) => one.tag)).not.toContain('alert-2')
    const elsewhere = about({ id: 'c/raised', body: 'elsewhere', tag: 'alert-3' }).replace(
      `${served.origin}/rigs`,
      'https://elsewhere.example/jobs',
    )
    // A message that comes while the page is being replaced may be lost on the way into the browser: it is sent until it is shown.
    await expect
      .poll(
        async () => {
          await arrive(elsewhere)
          return (await shown()).map((one) => one.body)
        },
        { interval: 1000 },
      )
      .toContain('elsewhere')
    await tap('alert-3')
    await page.waitForURL(`${served.origin}/jobs`)
  })

  /** What the system does when a notification is tapped; the page may then take the focus. */
  async function tap(tag: string): Promise<void> {
    const [worker] = context.serviceWorkers()
    if (!worker) throw new Error('no worker')
    await worker.evaluate(async (wanted) => {
      // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- runs in the worker, typed as a page
      const world = globalThis as unknown as {
        registration: ServiceWorkerRegistration
        NotificationEvent: new (kind: string, init: { notification: Notification }) => Event
      }
      const [notification] = await world.registration.getNotifications({ tag: wanted })
      if (!notification) throw new Error('not shown')
      globalThis.dispatchEvent(new world.NotificationEvent('notificationclick', { notification }))
    }, tag)
  }

  test('a pump that has died is pushed to the phone and stands on the first screen; mended, it ends on both', async () => {
    await subscribeInPage()
    service.received.length = 0
    const settings = { band: { start: 15, stop: 6 }, reportEveryS: 300 }
    const rig = await call('POST', `/v1/hangars/${hangarId}/rigs`, { name: 'Heron', slug: 'heron', settings })
    const hub = { name: 'Hub', rigs: ['heron'] }
    const source = await call('POST', `/v1/hangars/${hangarId}/sources`, hub)
    const { key } = (await call('POST', `/v1/sources/${source.body.id}/keys`)).body
    const nowS = Math.floor(Date.now() / 1000)
    // Less than the two hours after which the hub would count as silent.
    const mendedS = nowS - 100 * 60
    const records = sawTooth({ fromS: nowS - 8 * DAY_S, toS: mendedS, deadFromS: nowS - 2 * DAY_S })
    const post = async (body: readonly object[]) => {
      const posted = await fetch(`${served.origin}/v1/readings`, {
        method: 'POST',
        headers: { authorization: `Bearer ${key}`, 'content-type': 'application/json' },
        body: JSON.stringify(body),
      })
      expect(await posted.json()).toMatchObject({ stored: body.length })
    }
    await post(records)
    await expect.poll(() => service.received.length, { timeout: 20_000 }).toBeGreaterThan(0)
    const titles = service.received.map(({ text }) => JSON.parse(text).notification.title)
    expect(titles).toEqual([expect.stringMatching(/^Heron: pump on/)])
    const [message] = service.received
    await arrive(message?.text ?? '')
    await expect.poll(async () => (await shown()).map((one) => one.title)).toContain(titles[0])
    const alerts = await call('GET', `/v1/rigs/${rig.body.id}/alerts`)
    const { notification } = JSON.parse(message?.text ?? '')
    expect(alerts.body.items.map((one: { id: string }) => one.id)).toContain(notification.tag)
    await page.goto(`${served.origin}/`)
    const job = page.locator('.lines', { hasText: 'Heron' })
    await job.waitFor()
    // A new membrane: the air comes down again.
    const wetPct = records.at(-1)?.humidity ?? 0
    const drying = Array.from({ length: 100 }, (_, minute) => {
      const humidity = 3 + (wetPct - 3) * Math.exp((-1.2 * minute) / 60)
      return { at: mendedS + 60 * minute, humidity, temperature: 18, pump: true }
    })
    await post(drying)
    await expect.poll(() => service.received.length, { timeout: 20_000 }).toBeGreaterThan(1)
    const last = JSON.parse(service.received.at(-1)?.text ?? '').notification
    expect(last).toMatchObject({ tag: notification.tag, title: expect.stringMatching(/^Heron: over/) })
    await page.reload()
    await page.getByText('Heron needs nothing.').waitFor()
    expect(await job.count()).toBe(0)
  })

  test('a page of the former version still gets the parts it asks for by their old names', async () => {
    const text = await page.evaluate(async () => {
      const former = await caches.open('beadwatch-shell-former')
      await former.put('/assets/former-abc.js', new Response('export const former = true'))
      return (await fetch('/assets/former-abc.js')).text()
    })
    expect(text).toBe('export const former = true')
  })

  test('without a network the app opens, and the API is not answered from a store', async () => {
    await page.goto(`${served.origin}/`)
    await page.evaluate(() => navigator.serviceWorker.ready.then(() => true))
    await context.setOffline(true)
    try {
      await page.goto(`${served.origin}/rigs`)
      expect(await page.title()).toContain('Beadwatch')
      await expect
        .poll(() => page.locator('#app').evaluate((app) => app.childElementCount))
        .toBeGreaterThan(0)
      const reached = await page.evaluate(() =>
        fetch('/v1/me').then(
          () => true,
          () => false,
        ),
      )
      expect(reached).toBe(false)
    } finally {
      await context.setOffline(false)
    }
  })
})

const stateFile = z.object({ vapidPublicKey: z.string() })

function vapidPublicKey(stateDir: string): string {
  return stateFile.parse(JSON.parse(readFileSync(join(stateDir, 'keys.json'), 'utf8'))).vapidPublicKey
}
