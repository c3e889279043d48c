/** A browser for the tests: the system's full Chromium, else the headless shell that comes as a package. */
import { existsSync } from 'node:fs'
import { chromium, type Browser } from 'playwright-core'

const fullChromium = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome']

/** `BEADWATCH_TEST_SHELL=1` takes the package's shell even where a full browser is, to see what a fresh machine sees. */
const isShellWanted = process.env['BEADWATCH_TEST_SHELL'] === '1'

/** The headless shell denies notifications: what needs them is skipped, by name, where this is false. */
export const fullChromiumPath = isShellWanted ? null : (fullChromium.find((path) => existsSync(path)) ?? null)

export async function openBrowser(extraArgs: string[] = []): Promise<Browser> {
  if (fullChromiumPath !== null)
    return chromium.launch({ executablePath: fullChromiumPath, args: ['--no-sandbox', ...extraArgs] })
  const { default: shell } = await import('@sparticuz/chromium')
  // Not with the package's own arguments: they are for one page in a function host (one process, no web security). And
  // without a language of the machine the shell makes one up that no page can read ("en-US@posix").
  return chromium.launch({
    executablePath: await shell.executablePath(),
    args: ['--no-sandbox', '--lang=en-GB', ...extraArgs],
    env: { ...process.env, LANG: 'en_GB.UTF-8', LC_ALL: 'en_GB.UTF-8' },
  })
}

export const sizes = {
  phone: { viewport: { width: 390, height: 844 }, deviceScaleFactor: 2, hasTouch: true, isMobile: true },
  desktop: { viewport: { width: 1280, height: 800 } },
} as const
export type Size = keyof typeof sizes
