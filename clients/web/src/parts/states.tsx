/** What a screen says while it has nothing, or only something old, to show. */
import type { ComponentChildren, JSX } from 'preact'
import { oldest, type Reading } from '../query.ts'
import { isUnanswered, problemSentence, type Problem } from '../request.ts'
import { Page } from './page.tsx'

/** "Read …" for a moment, so that a quick answer does not flicker: the text fades in. */
export function Waiting({ what }: { what: string }): JSX.Element {
  return (
    <p class="waiting appear" role="status">
      Reading {what} …
    </p>
  )
}

export function Trouble({ problem, again }: { problem: Problem; again?: () => void }): JSX.Element {
  return (
    <div class="notice loud" role="alert">
      <p>{problemSentence(problem)}</p>
      {again && (
        <p>
          <button type="button" onClick={again}>
            Try again
          </button>
        </p>
      )}
    </div>
  )
}

/** Instead of what the server would say, where it did not answer and nothing was kept. */
export function notHere(problem: Problem): string {
  if (problem.kind === 'offline') return 'Not on this device; ask again with a network.'
  return isUnanswered(problem) ? 'Not on this device; ask again in a moment.' : problemSentence(problem)
}

/** The states of a read in one place: waiting, trouble, there. That it is old is said by the page, once. */
export function Shown<T>(props: {
  read: Reading<T>
  what: string
  children: (value: T) => ComponentChildren
}): JSX.Element {
  const { read, what, children } = props
  if (read.value === undefined) {
    // The page has said already why nothing new comes: a part of it does not say so again as loudly.
    if (read.problem && oldest.value !== null && isUnanswered(read.problem))
      return <p class="soft">{notHere(read.problem)}</p>
    if (read.problem) return <Trouble problem={read.problem} again={read.again} />
    return <Waiting what={what} />
  }
  return <>{children(read.value)}</>
}

/** The same for a whole screen: until there is a value the screen still has its title and its way back. */
export function ShownPage<T>(props: {
  read: Reading<T>
  title: string
  what: string
  back?: { to: string; label: string }
  children: (value: T) => ComponentChildren
}): JSX.Element {
  const { read, title, what, back, children } = props
  if (read.value !== undefined) return <Shown read={read} what={what} children={children} />
  return (
    <Page title={title} {...(back ? { back } : {})}>
      <Shown read={read} what={what} children={children} />
    </Page>
  )
}
