import type { JSX } from 'preact'
import type { Proposal } from '../../shapes.ts'

/** Why each value of a proposed recipe is thought to be what it is, and what a person has to look at. */
export function ProposalReasons({ proposal }: { proposal: Proposal }): JSX.Element | null {
  if (proposal.recipe === null) return null
  return (
    <div class="notice">
      <h3>Why it is proposed so</h3>
      <dl class="reasons">
        {proposal.reasons.map(({ field, pointer, reason }) => (
          <div key={field}>
            <dt>
              {NAMES[field] ?? field} {pointer !== '' && <code>{pointer}</code>}
            </dt>
            <dd>{sentence(reason)}</dd>
          </div>
        ))}
      </dl>
      {proposal.notes.map((note) => (
        <p key={note}>{note}</p>
      ))}
    </div>
  )
}

const NAMES: Readonly<Record<string, string>> = {
  each: 'Records',
  at: 'Time',
  clockOffsetS: 'Clock',
  humidity: 'Humidity',
  temperature: 'Temperature',
  pump: 'Pump',
  power: 'Power',
  rig: 'Rig',
  place: 'Place',
}

function sentence(reason: string): string {
  return `${reason.charAt(0).toUpperCase()}${reason.slice(1)}.`
}
