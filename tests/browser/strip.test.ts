import type { Browser, Page } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { openBrowser } from './chromium.ts'
import { openApp, type Opened } from './open.ts'
import { serveBuiltApp } from './static-server.ts'

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

const nowS = Math.floor(Date.now() / 1000)

async function openRig(rig: string, size: 'phone' | 'desktop'): Promise<Opened & { asked: URL[] }> {
  const asked: URL[] = []
  const opened = await openApp(browser, app.origin, { path: '/more', size, nowS })
  opened.page.on('request', (request) => {
    if (request.url().includes('/trace?')) asked.push(new URL(request.url()))
  })
  await opened.page.goto(`${app.origin}/rigs/${rig}`)
  await opened.page.locator('.strip-plot canvas').waitFor()
  return { ...opened, asked }
}

/** Where the plot is. It is drawn anew as the page finds its size, and for a moment there is none. */
async function plotBox(page: Page) {
  const boxOf = () => page.locator('.u-over').boundingBox()
  await expect.poll(boxOf).not.toBeNull()
  const box = await boxOf()
  if (box === null) throw new Error('the plot was there and is gone')
  return box
}

const readout = (page: Page): Promise<string> => page.locator('.readout').innerText()

/** The two ends of the window, from the words that screen readers get. */
async function windowText(page: Page): Promise<string> {
  return (await page.locator('.strip-plot').getAttribute('aria-label')) ?? ''
}

describe('the strip chart', () => {
  test('reads values under the pointer, with units and the pump', async () => {
    const { page, context } = await openRig('r3', 'desktop')
    await page.getByRole('button', { name: 'Also the hangar air' }).click()
    const box = await plotBox(page)
    await page.mouse.move(box.x + box.width * 0.3, box.y + box.height / 2)
    const early = await readout(page)
    await page.mouse.move(box.x + box.width * 0.6, box.y + box.height / 2)
    expect(await readout(page)).not.toBe(early)
    expect(early).toMatch(/\d\d:\d\d.*%.*°C.*air from the engine.*hangar air.*pump (running|at rest)/s)
    await context.close()
  })

  test('arrows walk over samples, shift moves the window, plus and minus zoom', async () => {
    const { page, context } = await openRig('r3', 'desktop')
    const plot = page.locator('.strip-plot')
    await plot.focus()
    await page.keyboard.press('ArrowLeft')
    const one = await readout(page)
    await page.keyboard.press('ArrowLeft')
    expect(await readout(page)).not.toBe(one)
    const before = await windowText(page)
    await page.keyboard.press('Shift+ArrowLeft')
    const moved = await windowText(page)
    expect(moved).not.toBe(before)
    await page.keyboard.press('+')
    expect(await windowText(page)).not.toBe(moved)
    await page.keyboard.press('-')
    expect(await windowText(page)).toBe(moved)
    await context.close()
  })

  test('a drag moves the window back in time and asks for what it shows', async () => {
    const { page, context, asked } = await openRig('r3', 'desktop')
    const box = await plotBox(page)
    const before = await windowText(page)
    await page.mouse.move(box.x + 100, box.y + 80)
    await page.mouse.down()
    await page.mouse.move(box.x + 700, box.y + 80, { steps: 6 })
    await page.mouse.up()
    expect(await windowText(page)).not.toBe(before)
    const first = asked.at(-1)?.searchParams.get('from')
    await expect.poll(() => asked.at(-1)?.searchParams.get('from')).not.toBe(first)
    await context.close()
  })

  test('two fingers zoom in', async () => {
    const { page, context } = await openRig('r3', 'phone')
    const before = await windowText(page)
    await page.locator('.u-over').evaluate((area) => {
      const { left, top, width } = area.getBoundingClientRect()
      const send = (type: string, pointerId: number, x: number): boolean =>
        area.dispatchEvent(
          new PointerEvent(type, {
            pointerId,
            pointerType: 'touch',
            clientX: left + x,
            clientY: top + 60,
            bubbles: true,
          }),
        )
      // Capture is the browser's own and knows no made-up pointers.
      area.setPointerCapture = () => undefined
      send('pointerdown', 11, width * 0.4)
      send('pointerdown', 12, width * 0.6)
      for (let i = 1; i <= 5; i++) {
        send('pointermove', 11, width * (0.4 - 0.06 * i))
        send('pointermove', 12, width * (0.6 + 0.06 * i))
      }
      send('pointerup', 11, width * 0.1)
      send('pointerup', 12, width * 0.9)
    })
    await expect.poll(() => windowText(page)).not.toBe(before)
    await context.close()
  })

  test.each(['Day', 'Week', 'Month', 'Year', 'All'])('%s asks for at most 2,000 points', async (name) => {
    const { page, context, asked } = await openRig('r3', 'desktop')
    await page.getByRole('button', { name, exact: true }).click()
    await page.waitForTimeout(600)
    expect(asked.length).toBeGreaterThan(0)
    for (const url of asked) expect(Number(url.searchParams.get('points'))).toBeLessThanOrEqual(2000)
    await context.close()
  })

  test('the same air as frost point and as g/m³', async () => {
    const { page, context } = await openRig('r3', 'desktop')
    await page.locator('.strip-plot').focus()
    await page.keyboard.press('ArrowLeft')
    await page.getByRole('button', { name: 'Frost point' }).click()
    expect(await readout(page)).toMatch(/frost point −\d+\.\d.°C/)
    await page.getByRole('button', { name: 'g/m³' }).click()
    expect(await readout(page)).toMatch(/\d\.\d\d.g\/m³/)
    await context.close()
  })

  test('a gap stays a gap, in the ink and in the table', async () => {
    const { page, context } = await openRig('r5', 'desktop')
    await page.getByText('Read it as a table').click()
    expect(
      await page
        .locator('.as-table li')
        .filter({ hasText: /Nothing heard from .* to / })
        .count(),
    ).toBe(1)
    // The last columns of the plot hold no trace: only paper and ruled lines, none of the trace's ink.
    const dark = await page.locator('.strip-plot canvas').evaluate((canvas) => {
      if (!(canvas instanceof HTMLCanvasElement)) return -1
      const context2d = canvas.getContext('2d')
      if (!context2d) return -1
      const { data } = context2d.getImageData(canvas.width - 20, 20, 8, Math.round(canvas.height * 0.6))
      let count = 0
      for (let i = 0; i < data.length; i += 4) if ((data[i] ?? 255) < 60) count++
      return count
    })
    expect(dark).toBe(0)
    await context.close()
  })
})
