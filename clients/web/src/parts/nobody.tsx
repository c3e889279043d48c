/** Who it is could not be read, and nothing was kept on this device: the frame stands, with why it is empty. */
import type { JSX } from 'preact'
import { isUnanswered, problemSentence, type Problem } from '../request.ts'
import { Page } from './page.tsx'

const titles: Partial<Record<Problem['kind'], string>> = {
  offline: 'No answer from the server.',
  busy: 'The server is busy.',
  failing: 'The server could not answer.',
}

export function Nobody({ problem, again }: { problem: Problem; again: () => void }): JSX.Element {
  return (
    <Page title={titles[problem.kind] ?? problemSentence(problem)} tabTitle="No answer">
      <div class="fields">
        {isUnanswered(problem) && (
          <p>
            Nothing was kept on this device, so there is nothing to show, and how the rigs are is not known
            here.{' '}
            {problem.kind === 'offline' ? 'Check the network, then try again.' : 'Try again in a moment.'}
          </p>
        )}
        <p>
          <button type="button" class="main" onClick={again}>
            Try again
          </button>
        </p>
      </div>
    </Page>
  )
}
