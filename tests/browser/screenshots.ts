/**
 * `npm run screenshots`: every screen in every state, both sizes and schemes, into the ignored folder `tests/browser/shots`; and
 * the two pictures of the README, taken from the demo on the real server.
 */
import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import type { Browser } from 'playwright-core'
import { z } from 'zod'
import { buildWebIfNeeded } from '../../clients/local/build-web.ts'
import { projectDir } from '../../clients/local/paths.ts'
import { removeStateDir, startServed, type ServedProcess } from '../scenarios/served.ts'
import { openBrowser, sizes, type Size } from './chromium.ts'
import { demoLink, joinByLink } from './join.ts'
import { openApp } from './open.ts'
import { screens } from './screens.ts'
import { serveBuiltApp } from './static-server.ts'

const folder = join(projectDir, 'tests/browser/shots')
const pictures = join(projectDir, 'clients/web/pictures')

async function everyScreen(browser: Browser): Promise<number> {
  const app = await serveBuiltApp()
  let count = 0
  for (const { name, path, says, overrides } of screens) {
    for (const size of ['phone', 'desktop'] satisfies Size[]) {
      const { page, context } = await openApp(browser, app.origin, {
        path,
        size,
        ...(overrides ? { overrides } : {}),
      })
      await page.getByText(says).first().waitFor()
      await page.evaluate(() => document.fonts.ready.then(() => undefined))
      for (const scheme of ['light', 'dark'] as const) {
        await page.emulateMedia({ colorScheme: scheme })
        await page.screenshot({ path: join(folder, `${name}-${size}-${scheme}.png`), fullPage: true })
        count++
      }
      await context.close()
    }
  }
  app.close()
  return count
}

const alertList = z.object({ items: z.array(z.object({ rig: z.string() })) })
const hangarList = z.object({ items: z.array(z.object({ id: z.string() })) })
const rigList = z.object({ items: z.array(z.object({ id: z.string() })) })

/** A rig that needs nothing: its page begins with the strip. */
async function calmRig({ call }: ServedProcess): Promise<string> {
  const busy = new Set(
    alertList.parse(await (await call('GET', '/v1/alerts')).json()).items.map((one) => one.rig),
  )
  for (const hangar of hangarList.parse(await (await call('GET', '/v1/hangars')).json()).items) {
    const rigs = rigList.parse(await (await call('GET', `/v1/hangars/${hangar.id}/rigs`)).json()).items
    const calm = rigs.find((rig) => !busy.has(rig.id))
    if (calm) return calm.id
  }
  throw new Error('every rig of the demo has an alert')
}

/** Jobs on a phone and a rig on a desktop, small enough for a page that has to load on a phone. */
async function readmePictures(browser: Browser): Promise<void> {
  const served = await startServed({ args: [] })
  const context = await browser.newContext({
    ...sizes.phone,
    deviceScaleFactor: 1,
    timezoneId: 'Europe/Lisbon',
  })
  const page = await joinByLink(context, demoLink(served.output()), 'Mara')
  await page.getByText('Drive out now').first().waitFor()
  await page.waitForLoadState('networkidle')
  await page.screenshot({ path: join(pictures, 'jobs-phone.png') })
  const rig = await calmRig(served)
  const wide = await browser.newContext({
    viewport: { width: 900, height: 860 },
    storageState: await context.storageState(),
    timezoneId: 'Europe/Lisbon',
  })
  const desk = await wide.newPage()
  await desk.goto(`${served.origin}/rigs/${rig}`)
  await desk.locator('.strip-plot canvas').waitFor()
  await desk.waitForLoadState('networkidle')
  await desk.screenshot({ path: join(pictures, 'rig-desktop.png') })
  await context.close()
  await wide.close()
  await served.stop()
  removeStateDir(served.stateDir)
}

buildWebIfNeeded()
mkdirSync(folder, { recursive: true })
mkdirSync(pictures, { recursive: true })
const browser = await openBrowser()
try {
  await readmePictures(browser)
  console.log(`Two pictures for the README in ${pictures}`)
  console.log(`${await everyScreen(browser)} screenshots in ${folder}`)
} finally {
  await browser.close()
}
