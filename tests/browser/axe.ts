import axeCore from 'axe-core'
import type { Page } from 'playwright-core'

declare global {
  var axe: typeof import('axe-core')
}

/** Every rule axe-core has for WCAG 2.2 A and AA and its best practices; one line a finding, nothing is excused. */
export async function axeFindings(page: Page): Promise<string[]> {
  // Through the debugger, as a script tag would be refused by the page's own policy.
  await page.evaluate(axeCore.source)
  const results = await page.evaluate(async () => {
    const found = await globalThis.axe.run(document, {
      runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'],
      resultTypes: ['violations'],
    })
    return found.violations.map(
      (one) => `${one.id}: ${one.nodes.map((node) => node.target.join(' ')).join(', ')}`,
    )
  })
  return results
}
