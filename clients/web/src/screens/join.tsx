/** A link with its token in the fragment: shown first, used up only by the person's own press. */
import type { JSX } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import { api, type Invited } from '../api.ts'
import { TextField } from '../parts/fields.tsx'
import { Page } from '../parts/page.tsx'
import { Trouble, Waiting } from '../parts/states.tsx'
import { forgetEverything } from '../query.ts'
import { request, type Problem } from '../request.ts'

/** Read once, then taken out of the address, so that it is neither in the history nor over a shoulder. */
function takeToken(): string {
  const token = location.hash.slice(1)
  if (token) history.replaceState(null, '', location.pathname)
  return token
}

export function Join(): JSX.Element {
  const [token] = useState(takeToken)
  const [link, setLink] = useState<Invited | null>(null)
  const [problem, setProblem] = useState<Problem | null>(null)
  const [name, setName] = useState('')
  const [isBusy, setBusy] = useState(false)
  useEffect(() => {
    if (!token) return
    void request(api.readInvite(token)).then((answer) => {
      if (!answer.ok) return setProblem(answer.problem)
      setLink(answer.value)
      return setName(answer.value.name ?? '')
    })
  }, [token])
  const accept = async (): Promise<void> => {
    setBusy(true)
    const zone = Intl.DateTimeFormat('en').resolvedOptions().timeZone
    const who = name.trim() === '' ? {} : { name: name.trim() }
    const answer = await request(api.acceptInvite({ token, zone, ...who }))
    if (!answer.ok) {
      setBusy(false)
      return setProblem(answer.problem)
    }
    await forgetEverything()
    return location.replace('/')
  }
  return (
    <main id="main">
      <Page title={title(link)} tabTitle="Sign in">
        <div class="fields">
          {!token && <p>Open the whole link you were given: the part after # is missing.</p>}
          {problem && <LinkTrouble problem={problem} />}
          {token && !link && !problem && <Waiting what="the link" />}
          {link && (
            <form
              onSubmit={(event) => {
                event.preventDefault()
                void accept()
              }}
            >
              {link.kind === 'join' && (
                <TextField
                  label="Your name"
                  hint="The others in the hangar see it."
                  value={name}
                  onValue={setName}
                  isNeeded
                  autoComplete="name"
                />
              )}
              <p>
                <button class="main" disabled={isBusy}>
                  Sign in on this device
                </button>
              </p>
              <p class="soft small">The link works once. No password, no e-mail.</p>
            </form>
          )}
        </div>
      </Page>
    </main>
  )
}

function title(link: Invited | null): string {
  if (!link) return 'Signing in'
  if (link.kind === 'device') return 'Sign this device in.'
  const names = link.hangars.map((one) => one.name).join(', ')
  return names ? `You are invited to ${names}.` : 'You are invited.'
}

function LinkTrouble({ problem }: { problem: Problem }): JSX.Element {
  if (problem.kind === 'refused' && problem.status === 410) {
    return (
      <div class="notice loud" role="alert">
        <p>This link has been used or is too old. Ask for a new one, or use a passkey if you have one.</p>
        <p>
          <a href="/">To sign-in</a>
        </p>
      </div>
    )
  }
  return <Trouble problem={problem} />
}
