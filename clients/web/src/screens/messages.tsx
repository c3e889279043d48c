/** Who is told, on which device, and a test that it arrives. */
import type { JSX } from 'preact'
import { Page } from '../parts/page.tsx'

export function Messages(): JSX.Element {
  return <Page title="Messages">…</Page>
}
