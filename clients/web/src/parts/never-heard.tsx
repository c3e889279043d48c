/** Rigs that were set up and never heard: of them nothing may be said, least of all that they need nothing. */
import type { JSX } from 'preact'
import { chooseHangar } from '../session.ts'
import type { Rig } from '../shapes.ts'
import { capital, countWord } from '../when.ts'
import { Entry } from './page.tsx'

export function NeverHeard({ rigs }: { rigs: Rig[] }): JSX.Element | null {
  if (rigs.length === 0) return null
  return (
    <Entry heading="Never heard">
      {rigs.map((rig) => (
        <p key={rig.id} class="say">
          <a href={`/rigs/${rig.id}`}>{rig.name}</a> <HasNeverBeenHeard rig={rig} />
        </p>
      ))}
    </Entry>
  )
}

/** The end of a sentence that begins with the rig's name. */
export function HasNeverBeenHeard({ rig }: { rig: Rig }): JSX.Element {
  return (
    <>
      has never been heard:{' '}
      <a href="/hub" onClick={() => chooseHangar(rig.hangar)}>
        connect its hub
      </a>
      .
    </>
  )
}

/** The headline where nobody has to act, and some rigs are not heard. */
export function notWatched(unheard: number, all: number): string {
  if (unheard >= all) return 'Nothing is watched yet.'
  return unheard === 1
    ? 'One rig is not watched yet.'
    : `${capital(countWord(unheard))} rigs are not watched yet.`
}
