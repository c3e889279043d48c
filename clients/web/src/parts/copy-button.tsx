import type { JSX } from 'preact'
import { useState } from 'preact/hooks'

/** Says what came of it: a clipboard can be refused. */
export function CopyButton({ text, what }: { text: string; what: string }): JSX.Element {
  const [said, setSaid] = useState<string | null>(null)
  const copy = async (): Promise<void> => {
    try {
      await navigator.clipboard.writeText(text)
      setSaid('Copied.')
    } catch {
      setSaid('This browser does not let pages copy: mark the text and copy it yourself.')
    }
  }
  return (
    <>
      <button type="button" onClick={() => void copy()}>
        Copy {what}
      </button>{' '}
      {said && <span role="status">{said}</span>}
    </>
  )
}
