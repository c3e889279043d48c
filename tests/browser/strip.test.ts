import type { Page } from 'playwright-core'
import { describe, expect, test } from 'vitest'
import type { Overrides } from './fake/api.ts'
import { traceOf } from './fake/trace.ts'
import type { Opened } from './open.ts'
import { servedApp } from './served-app.ts'

const served = servedApp()

const nowS = Math.floor(Date.now() / 1000)

async function openRig(rig: string, size: 'phone' | 'desktop'): Promise<Opened & { asked: URL[] }> {
  const asked: URL[] = []
  const opened = await served.open({ path: '/more', size, nowS })
  opened.page.on('request', (request) => {
    if (request.url().includes('/trace?')) asked.push(new URL(request.url()))
  })
  await opened.page.goto(served.url(`/rigs/${rig}`))
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
    expect(early).toMatch(
      /\d\d:\d\d.*%.*°C.*(air from the engine, pump on|air beside the pump, at rest).*hangar air/s,
    )
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

  test('names the air by what the pump does: at rest none comes from the engine', async () => {
    // Its pump has been running for hours; before that it rested most of the time.
    const { page, context } = await openRig('r1', 'desktop')
    const said = new Set([airOf(await readout(page))])
    await page.locator('.u-over').scrollIntoViewIfNeeded()
    const box = await plotBox(page)
    for (let part = 0.1; part < 0.8 && said.size < 2; part += 0.07) {
      await page.mouse.move(box.x + box.width * part, box.y + box.height / 2)
      said.add(airOf(await readout(page)))
    }
    expect([...said].toSorted()).toEqual(['air beside the pump, at rest', 'air from the engine, pump on'])
    await context.close()
  })

  test.each(['light', 'dark'] as const)(
    'the limits of the band are lines one can see, %s',
    async (scheme) => {
      const { page, context } = await openRig('r3', 'desktop')
      await page.emulateMedia({ colorScheme: scheme })
      const { edge, sheet } = await colours(page)
      expect(contrast(edge, sheet)).toBeGreaterThanOrEqual(3)
      // Rows of the canvas that are the edge's colour for most of its width: one for each limit.
      await expect.poll(() => share(page, edge, 'row', 0.7)).toBe(2)
      await context.close()
    },
  )

  test.each(['light', 'dark'] as const)(
    'what was not heard is ruled out so that one sees it, %s',
    async (scheme) => {
      const { page, context } = await openRig('r5', 'desktop')
      await page.getByRole('button', { name: 'Day', exact: true }).click()
      await page.emulateMedia({ colorScheme: scheme })
      const { edge } = await colours(page)
      // The newest fifth of the day is the gap: a rule every few pixels in each of its columns.
      await expect.poll(() => share(page, edge, 'column', 0.05)).toBeGreaterThan(100)
      await context.close()
    },
  )

  test('before the first reading nothing is ruled out: nothing was expected', async () => {
    const { page, context } = await openRig('r3', 'desktop')
    await page.getByRole('button', { name: 'Year', exact: true }).click()
    await page.getByText('Read it as a table').click()
    await page.locator('.as-table li', { hasText: 'The first reading is of' }).waitFor()
    expect(await page.locator('.as-table li', { hasText: 'Nothing heard' }).count()).toBe(0)
    const { edge } = await colours(page)
    expect(await share(page, edge, 'column', 0.05)).toBeLessThan(100)
    await context.close()
  })
})

describe('the seven days in a list', () => {
  test('rule out what was not heard, and not the days before the first reading', async () => {
    // Twelve hours of 168 are silent; of a rig born three days ago four more days were never heard.
    expect(await ruledOut(90 * 24)).toBeGreaterThan(0.03)
    expect(await ruledOut(72)).toBeLessThan(0.12)
  })
})

/** Share of the columns of the first rig's strip that are ruled out; that rig was born so many hours ago. */
async function ruledOut(bornAgoH: number): Promise<number> {
  const overrides: Overrides = {
    'GET /v1/rigs/*/trace': ({ url }) => {
      const asked = url.searchParams
      const [fromS, toS] = ['from', 'to'].map((name) => Date.parse(asked.get(name) ?? '') / 1000)
      const span = { fromS: fromS ?? 0, toS: toS ?? 0, points: Number(asked.get('points')) }
      return { body: traceOf({ ...span, nowS, story: { bornAgoH, silentAgoH: 12 } }) }
    },
  }
  const { page, context } = await served.open({ path: '/rigs', size: 'desktop', nowS, overrides })
  const strip = page.locator('.small-strip canvas').first()
  await strip.waitFor()
  await page.waitForLoadState('networkidle')
  const { edge } = await colours(page)
  const wide = await strip.evaluate((canvas) => (canvas instanceof HTMLCanvasElement ? canvas.width : 0))
  const columns = await share(page, edge, 'column', 0.05, '.small-strip canvas')
  await context.close()
  return columns / wide
}

function airOf(text: string): string {
  return /air from the engine, pump on|air beside the pump, at rest/.exec(text)?.[0] ?? text
}

/** Colours of the style sheet at this moment, as numbers. */
async function colours(page: Page): Promise<{ edge: number[]; sheet: number[] }> {
  const [edge, sheet] = await page.evaluate(() =>
    ['--edge', '--sheet'].map((name) => getComputedStyle(document.body).getPropertyValue(name).trim()),
  )
  return { edge: bytes(edge), sheet: bytes(sheet) }
}

function bytes(hex = ''): number[] {
  return [1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16))
}

/** Relative luminance, by WCAG 2. */
function lightOf(colour: number[]): number {
  const [red = 0, green = 0, blue = 0] = colour.map((byte) => {
    const part = byte / 255
    return part <= 0.040_45 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4
  })
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue
}

/** Contrast ratio of two colours, by WCAG 2. */
function contrast(a: number[], b: number[]): number {
  const [dark = 0, bright = 0] = [lightOf(a), lightOf(b)].toSorted((x, y) => x - y)
  return (bright + 0.05) / (dark + 0.05)
}

/** How many rows or columns of the canvas have at least this share of a colour, as near as its smoothing leaves it. */
function share(
  page: Page,
  colour: number[],
  along: 'row' | 'column',
  least: number,
  of = '.strip-plot canvas',
): Promise<number> {
  return page
    .locator(of)
    .first()
    .evaluate(
      (canvas, want) => {
        if (!(canvas instanceof HTMLCanvasElement)) return -1
        const { width, height } = canvas
        const data = canvas.getContext('2d')?.getImageData(0, 0, width, height).data ?? []
        const counts = new Map<number, number>()
        for (let i = 0; i < width * height; i++) {
          const isNear = want.colour.every((byte, part) => Math.abs((data[i * 4 + part] ?? 0) - byte) < 24)
          if (!isNear || data[i * 4 + 3] === 0) continue
          const key = want.along === 'row' ? Math.floor(i / width) : i % width
          counts.set(key, (counts.get(key) ?? 0) + 1)
        }
        const whole = want.along === 'row' ? width : height
        return [...counts.values()].filter((count) => count / whole >= want.least).length
      },
      { colour, along, least },
    )
}
