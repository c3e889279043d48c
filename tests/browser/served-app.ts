/** The built app and a browser, for all tests of a file. */
import type { Browser } from 'playwright-core'
import { afterAll, beforeAll } from 'vitest'
import { openBrowser } from './chromium.ts'
import { openApp, type Opened, type Wanted } from './open.ts'
import { serveBuiltApp } from './static-server.ts'

export type ServedApp = {
  /** A page of the app; of another server where one is given. */
  readonly open: (wanted: Wanted, origin?: string) => Promise<Opened>
  readonly url: (path: string) => string
}

export function servedApp(): ServedApp {
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
  return {
    open: (wanted, origin = app.origin) => openApp(browser, origin, wanted),
    url: (path) => app.origin + path,
  }
}
