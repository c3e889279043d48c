/** What a screen says while it has nothing, or only something old, to show. */
import type { ComponentChildren, JSX } from 'preact'
import type { Reading } from '../query.ts'
import { problemSentence, type Problem } from '../request.ts'
import { Page } from './page.tsx'
import { ago, moment } from '../when.ts'

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

/** Said over old data, always: nobody may take the last state for the present one. */
export function OldNote({ heardAtMs }: { heardAtMs: number }): JSX.Element {
  return (
    <div class="notice loud" role="status">
      <p>
        <b>No network.</b> This is what the server said {ago(heardAtMs)}, {moment(heardAtMs)}. It may have
        changed since.
      </p>
    </div>
  )
}

/** The four states of a read in one place: waiting, trouble, old, there. */
export function Shown<T>(props: {
  read: Reading<T>
  what: string
  children: (value: T) => ComponentChildren
}): JSX.Element {
  const { read, what, children } = props
  if (read.value === undefined) {
    if (read.problem) return <Trouble problem={read.problem} again={read.again} />
    return <Waiting what={what} />
  }
  return (
    <>
      {read.isOld && read.heardAtMs !== null && <OldNote heardAtMs={read.heardAtMs} />}
      {children(read.value)}
    </>
  )
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
