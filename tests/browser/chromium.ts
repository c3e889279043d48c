/** A browser for the tests: the system's full Chromium, else the headless shell that comes as a package. */
import { existsSync } from 'node:fs'
import { chromium, type Browser } from 'playwright-core'

const fullChromium = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome']

/** The headless shell denies notifications: what needs them is skipped, by name, where this is false. */
export const fullChromiumPath = fullChromium.find((path) => existsSync(path)) ?? null

export async function openBrowser(extraArgs: string[] = []): Promise<Browser> {
  if (fullChromiumPath !== null)
    return chromium.launch({ executablePath: fullChromiumPath, args: ['--no-sandbox', ...extraArgs] })
  const { default: shell } = await import('@sparticuz/chromium')
  return chromium.launch({
    executablePath: await shell.executablePath(),
    args: [...shell.args, ...extraArgs],
  })
}

export const sizes = {
  phone: { viewport: { width: 390, height: 844 }, deviceScaleFactor: 2, hasTouch: true, isMobile: true },
  desktop: { viewport: { width: 1280, height: 800 } },
} as const
export type Size = keyof typeof sizes
