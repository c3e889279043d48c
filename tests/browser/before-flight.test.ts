import { expect, test } from 'vitest'
import { servedApp } from './served-app.ts'

const served = servedApp()

async function open() {
  const sent: unknown[] = []
  const opened = await served.open({
    path: '/rigs/r3/before-flight',
    size: 'phone',
    overrides: {
      'POST /v1/rigs/*/logbook': ({ body }) => {
        sent.push(body)
        return { status: 201, body: { id: 'new' } }
      },
    },
  })
  const press = (name: string): Promise<void> => opened.page.getByRole('button', { name }).click()
  return { ...opened, sent, press }
}

test('with things left on the list it is asked before the rig is written off', async () => {
  const { page, context, sent, press } = await open()
  await page.getByRole('checkbox').first().check()
  await press('Write down: rig off')
  await page.getByText('8 not ticked: write it anyway?').waitFor()
  const isFocused = (name: string): Promise<boolean> =>
    page.getByRole('button', { name }).evaluate((button) => button === document.activeElement)
  expect([sent, await isFocused('Back to the list')]).toEqual([[], true])
  await press('Back to the list')
  await press('Write down: rig off')
  await press('Write it anyway')
  await page.getByText(/Written down: the rig is off/).waitFor()
  expect(sent).toMatchObject([{ what: 'off' }])
  await context.close()
})

test('ticks outlive a reload, say when they were set, and can be set back', async () => {
  const { page, context, sent, press } = await open()
  const boxes = page.getByRole('checkbox')
  const isTicked = async (): Promise<boolean[]> => {
    await page.getByText(/to go\./).waitFor()
    return Promise.all((await boxes.all()).map((box) => box.isChecked()))
  }
  await boxes.nth(1).check()
  await boxes.nth(4).check()
  await page.reload()
  await page.getByText('7 things to go.', { exact: false }).waitFor()
  expect((await isTicked()).flatMap((is, i) => (is ? [i] : []))).toEqual([1, 4])
  await page.getByText(/^Ticks of today, \d\d:\d\d, kept on this device\.$/).waitFor()
  await press('Start again')
  await page.getByText('9 things to go.', { exact: false }).waitFor()
  await page.reload()
  expect(await isTicked()).not.toContain(true)
  expect(sent).toEqual([])
  await context.close()
})

test('once the rig is written off, and on another day, the list starts empty', async () => {
  const { page, context, press } = await open()
  const boxes = page.getByRole('checkbox')
  await boxes.first().waitFor()
  for (const box of await boxes.all()) await box.check()
  await press('Write down: rig off')
  await page.getByText(/Written down: the rig is off/).waitFor()
  await page.reload()
  await page.getByText('9 things to go.', { exact: false }).waitFor()
  await boxes.first().check()
  await page.clock.install({ time: Date.now() + 86_400_000 })
  await page.reload()
  await page.getByText('9 things to go.', { exact: false }).waitFor()
  await context.close()
})
