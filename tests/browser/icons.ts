/** Draws the PNG icons from `clients/web/public/icon.svg`: run it after changing the drawing. */
import { readFileSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { openBrowser } from './chromium.ts'

const folder = fileURLToPath(new URL('../../clients/web/public/', import.meta.url))
const drawing = readFileSync(`${folder}icon.svg`, 'utf8')

/** `inset`: launchers cut a maskable icon to any shape, so the drawing keeps to the middle and the ground fills the rest. */
const icons = [
  { file: 'icon-180.png', sizePx: 180, inset: 0.04, ground: '#f6f3ea' },
  { file: 'icon-192.png', sizePx: 192, inset: 0, ground: 'transparent' },
  { file: 'icon-512.png', sizePx: 512, inset: 0, ground: 'transparent' },
  { file: 'icon-maskable-512.png', sizePx: 512, inset: 0.1, ground: '#f6f3ea' },
]

const browser = await openBrowser()
for (const { file, sizePx, inset, ground } of icons) {
  const page = await browser.newPage({ viewport: { width: sizePx, height: sizePx } })
  const edge = Math.round(sizePx * inset)
  const style = `html,body{margin:0;background:${ground}}svg{position:absolute;inset:${edge}px;width:${sizePx - 2 * edge}px}`
  await page.setContent(`<style>${style}</style>${drawing}`)
  await page.screenshot({ path: folder + file, omitBackground: true })
  await page.close()
}
await browser.close()
