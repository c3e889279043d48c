import type { Page } from 'playwright-core'
import { expect, test } from 'vitest'
import { axeFindings } from './axe.ts'
import { sizes, type Size } from './chromium.ts'
import { screens, type Screen } from './screens.ts'
import { servedApp } from './served-app.ts'

const cases = screens.map((screen): [string, Screen] => [screen.name, screen])

/** Every screen at one size, light and dark, by axe-core and by measure. The sizes are files of their own: it is long. */
export function checkEveryScreen(size: Size): void {
  const served = servedApp()
  test.each(cases)(`%s, ${size}`, async (_name, { path, says, overrides }) => {
    const { page, context, errors, fake } = await served.open({
      path,
      size,
      ...(overrides ? { overrides } : {}),
    })
    await page.getByText(says).first().waitFor()
    await page.evaluate(() => document.fonts.ready.then(() => undefined))
    expect(await axeFindings(page)).toEqual([])
    await page.emulateMedia({ colorScheme: 'dark' })
    expect(await axeFindings(page, 'colours')).toEqual([])
    expect(errors).toEqual([])
    expect(fake.missed).toEqual([])
    const sideways = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)
    expect(sideways).toBeLessThanOrEqual(0)
    // 400 % zoom of 1,280 px is a page 320 px wide: it has to reflow, not scroll sideways (WCAG 1.4.10).
    await page.setViewportSize({ width: 320, height: 640 })
    expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(
      0,
    )
    await page.setViewportSize(sizes[size].viewport)
    if (size === 'phone') expect(await smallTargets(page)).toEqual([])
    await context.close()
  })
}

/** Controls a thumb cannot hit: under 44 px, except links inside running text, where WCAG 2.5.8 lets the line decide. */
async function smallTargets(page: Page): Promise<string[]> {
  return page.evaluate(() =>
    [...document.querySelectorAll('button, input, select, textarea, summary, .acts a, nav a, a.button')]
      .filter((element) => element.getClientRects().length > 0 && !element.classList.contains('skip'))
      .filter((element) => {
        const box = (element.closest('label') ?? element).getBoundingClientRect()
        return box.height < 43.5 || box.width < 43.5
      })
      .map((element) => element.outerHTML.slice(0, 120)),
  )
}
