/** The frame of a screen and its entries: a margin for when and what, a body for the sentences. */
import type { ComponentChildren, JSX } from 'preact'
import { useEffect } from 'preact/hooks'
import { OldNotice } from './old-notice.tsx'

type PageProps = {
  title: string
  /** What the browser's tab and the list of open windows say, when the title is a long sentence. */
  tabTitle?: string
  lead?: ComponentChildren
  /** What the page is about, in a sentence: said in ink, not in passing. */
  said?: string | undefined
  back?: { to: string; label: string }
  children: ComponentChildren
}

export function Page({ title, tabTitle, lead, said, back, children }: PageProps): JSX.Element {
  useEffect(() => {
    document.title = `${tabTitle ?? title} · Beadwatch`
  }, [title, tabTitle])
  return (
    <div class="appear">
      <div class="top">
        {back && (
          <a class="back no-print" href={back.to}>
            ← {back.label}
          </a>
        )}
        <h1>{title}</h1>
        {said !== undefined && <p class="say">{said}</p>}
        {lead !== undefined && <p class="lead">{lead}</p>}
      </div>
      <OldNotice />
      {children}
    </div>
  )
}

type EntryProps = {
  heading: string
  /** Under the heading, in the margin. */
  aside?: ComponentChildren
  /** Says when somebody has to act: words first, the colour only underlines `now`. */
  urgency?: 'now' | 'visit' | 'note'
  children: ComponentChildren
}

export function Entry({ heading, aside, urgency, children }: EntryProps): JSX.Element {
  const classes = ['entry', urgency && 'urgency', urgency === 'now' && 'urgent'].filter(Boolean).join(' ')
  return (
    <section class={classes}>
      <div class="margin">
        <h2>{heading}</h2>
        {aside}
      </div>
      <div class="body">{children}</div>
    </section>
  )
}
