/** For a device that is not signed in: with a passkey, or with a link from somebody who is. */
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import { api } from '../api.ts'
import { Page } from '../parts/page.tsx'
import { problemSentence, request } from '../request.ts'

export function SignIn(): JSX.Element {
  const [said, setSaid] = useState<string | null>(null)
  const [isBusy, setBusy] = useState(false)
  const signIn = async (): Promise<void> => {
    setBusy(true)
    setSaid(null)
    const trouble = await byPasskey()
    setBusy(false)
    if (trouble === null) location.reload()
    else setSaid(trouble)
  }
  return (
    <main id="main">
      <Page title="You are not signed in on this device." tabTitle="Sign in">
        <div class="fields">
          <p>
            <button type="button" class="main" disabled={isBusy} onClick={() => void signIn()}>
              Use a passkey
            </button>
          </p>
          {said && (
            <div class="notice loud" role="alert">
              <p>{said}</p>
            </div>
          )}
          <p>
            No passkey yet? Open the link you were invited with, or, on a device where you are signed in,
            choose More, then “Add my other device”. The host's first link is printed where the service was
            started.
          </p>
        </div>
      </Page>
    </main>
  )
}

/** `null` when signed in, else what went wrong. */
async function byPasskey(): Promise<string | null> {
  const options = await request(api.askSignIn)
  if (!options.ok) return problemSentence(options.problem)
  try {
    const { startAuthentication } = await import('@simplewebauthn/browser')
    const response = await startAuthentication({ optionsJSON: options.value })
    const answer = await request(api.signIn(response))
    return answer.ok
      ? null
      : answer.problem.kind === 'signed-out'
        ? 'This passkey is not known here.'
        : problemSentence(answer.problem)
  } catch {
    return 'The passkey was not used. Nothing has changed.'
  }
}
