import axeCore from 'axe-core'
import type { Page } from 'playwright-core'

declare global {
  var axe: typeof import('axe-core')
}

const RULES = {
  all: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'],
  colours: ['color-contrast', 'link-in-text-block'],
}

/**
 * Every rule axe-core has for WCAG 2.2 A and AA and its best practices, or those of them that another colour scheme can
 * break; one line a finding, nothing is excused.
 */
export async function axeFindings(page: Page, only: 'all' | 'colours' = 'all'): Promise<string[]> {
  // Through the debugger, as a script tag would be refused by the page's own policy.
  await page.evaluate(axeCore.source)
  const results = await page.evaluate(async (rules) => {
    const found = await globalThis.axe.run(document, { runOnly: rules, resultTypes: ['violations'] })
    return found.violations.map(
      (one) => `${one.id}: ${one.nodes.map((node) => node.target.join(' ')).join(', ')}`,
    )
  }, RULES[only])
  return results
}
