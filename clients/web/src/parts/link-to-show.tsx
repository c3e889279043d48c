/** A link that works once, as text to copy and as a code to point a phone at. */
import type { JSX } from 'preact'
import { encode } from 'uqr'
import { CopyButton } from './copy-button.tsx'
import { moment, ms } from '../when.ts'

type Props = { link: string; expiresAt: string; words: string }

export function LinkToShow({ link, expiresAt, words }: Props): JSX.Element {
  return (
    <div class="fields">
      <p>
        {words} It works once, until {moment(ms(expiresAt))}.
      </p>
      <QrCode text={link} />
      <pre>{link}</pre>
      <p>
        <CopyButton text={link} what="the link" />
      </p>
    </div>
  )
}

/** Dark squares as one path; the quiet zone is part of the code, or cameras fail in dark rooms. */
function QrCode({ text }: { text: string }): JSX.Element {
  const { data, size } = encode(text, { border: 2 })
  const path = data.flatMap((row, y) => row.map((isDark, x) => (isDark ? `M${x} ${y}h1v1h-1z` : ''))).join('')
  return (
    <svg
      class="qr"
      viewBox={`0 0 ${size} ${size}`}
      role="img"
      aria-label="The link as a code for a phone’s camera"
    >
      <path d={path} fill="#000" shape-rendering="crispEdges" />
    </svg>
  )
}
