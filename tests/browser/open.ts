/** A page of the built app at one size and scheme, with prepared answers, that counts what went wrong in it. */
import type { Browser, BrowserContext, Page } from 'playwright-core'
import { sizes, type Size } from './chromium.ts'
import { fakeApi, type Fake, type Overrides } from './fake/api.ts'

export type Opened = { page: Page; context: BrowserContext; fake: Fake; errors: string[] }

export type Wanted = {
  path: string
  size?: Size
  scheme?: 'light' | 'dark'
  nowS?: number
  overrides?: Overrides
}

export async function openApp(browser: Browser, origin: string, wanted: Wanted): Promise<Opened> {
  const { path, size = 'desktop', scheme = 'light', nowS = Math.floor(Date.now() / 1000) } = wanted
  const context = await browser.newContext({
    ...sizes[size],
    colorScheme: scheme,
    reducedMotion: 'reduce',
    locale: 'en-GB',
    timezoneId: 'Europe/Lisbon',
  })
  const fake = await fakeApi(context, nowS, wanted.overrides)
  const page = await context.newPage()
  const errors: string[] = []
  page.on('pageerror', (error) => errors.push(error.message))
  page.on('console', (message) => {
    // A refused inline style or script is reported here: the content policy is part of what is tested.
    if (message.type() === 'error' && !message.text().startsWith('Failed to load resource'))
      errors.push(message.text())
  })
  await page.goto(origin + path)
  return { page, context, fake, errors }
}
