import type { JSX } from 'preact'
import type { Caution } from '../cautions.ts'

/** Before the step it belongs to, never folded away. */
export function Cautions({ of }: { of: Caution[] }): JSX.Element {
  return (
    <div class="notice loud caution">
      <p>
        <b>Caution</b>
      </p>
      <ul>{of.flatMap((one) => one.lines.map((line) => <li key={line}>{line}</li>))}</ul>
    </div>
  )
}
