import type { JSX } from 'preact'
import { oldest } from '../query.ts'
import type { Problem } from '../request.ts'
import { ago, moment } from '../when.ts'

function why(problem: Problem | null): string {
  if (problem?.kind === 'busy') return 'The server is busy.'
  return problem?.kind === 'failing' ? 'The server could not answer.' : 'No network.'
}

/** Said over old data, always and once a page: nobody may take the last state for the present one. */
export function OldNotice(): JSX.Element | null {
  const part = oldest.value
  if (part === null || part.heardAtMs === null) return null
  return (
    <div class="notice loud" role="status">
      <p>
        <b>{why(part.problem)}</b> This is what the server said {ago(part.heardAtMs)},{' '}
        {moment(part.heardAtMs)}. It may have changed since.
      </p>
    </div>
  )
}
