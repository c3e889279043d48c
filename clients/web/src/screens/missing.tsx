import type { JSX } from 'preact'
import { Page } from '../parts/page.tsx'

export function Missing(): JSX.Element {
  return (
    <Page title="There is nothing at this address." tabTitle="Nothing here">
      <p>
        <a href="/">To the jobs</a>
      </p>
    </Page>
  )
}
