import type { BrowserContext, Page } from 'playwright-core'

/** Follows a link to join as a person does, to the jobs. */
export async function joinByLink(context: BrowserContext, link: string, name: string): Promise<Page> {
  const page = await context.newPage()
  await page.goto(link)
  await page.getByLabel('Your name').fill(name)
  await page.getByRole('button', { name: 'Sign in on this device' }).click()
  await page.waitForURL(new URL('/', link).href)
  return page
}

/** The demo's own link, from what the start printed. */
export function demoLink(output: string): string {
  const link = /^Sign in, once: (\S+)$/m.exec(output)?.[1]
  if (link === undefined) throw new Error(`no sign-in link:\n${output}`)
  return link
}
