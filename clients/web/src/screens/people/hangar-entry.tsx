/** The hangar itself: its name, everything in it as a file, and its end. */
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import { api } from '../../api.ts'
import { TextField } from '../../parts/fields.tsx'
import { Entry } from '../../parts/page.tsx'
import { Trouble } from '../../parts/states.tsx'
import { useAction } from '../../parts/use-action.ts'
import { refresh } from '../../query.ts'
import type { HangarRef } from '../../shapes.ts'

export function HangarEntry({ hangar }: { hangar: HangarRef }): JSX.Element {
  const [name, setName] = useState(hangar.name)
  const [isSaved, setSaved] = useState(false)
  const action = useAction()
  const rename = async (): Promise<void> => {
    setSaved(false)
    if (!(await action.send(api.renameHangar(hangar.id, name.trim())))) return
    await refresh(api.me.path)
    setSaved(true)
  }
  return (
    <>
      <Entry heading="The hangar">
        <form
          onSubmit={(event) => {
            event.preventDefault()
            void rename()
          }}
        >
          <TextField label="Name of the hangar" value={name} onValue={setName} isNeeded />
          {action.problem && <Trouble problem={action.problem} />}
          {isSaved && <p role="status">Saved.</p>}
          <p>
            <button disabled={action.isBusy}>Rename it</button>
          </p>
        </form>
        <p class="acts">
          <a href={api.exportHangar(hangar.id)} download>
            Everything in it as one file
          </a>
        </p>
      </Entry>
      <Delete hangar={hangar} />
    </>
  )
}

function Delete({ hangar }: { hangar: HangarRef }): JSX.Element {
  const [typed, setTyped] = useState('')
  const [isGoing, setGoing] = useState(false)
  const action = useAction()
  const remove = async (): Promise<void> => {
    setGoing(true)
    // The server takes it away in bounded steps: each answer says whether there is more.
    for (;;) {
      const answer = await action.send(api.removeHangar(hangar.id, typed))
      if (!answer) return setGoing(false)
      if (answer.value.isDone) return location.replace('/')
    }
  }
  return (
    <Entry heading="Delete the hangar" aside={<p>with every rig, reading and logbook in it</p>}>
      <details>
        <summary>Delete …</summary>
        <form
          onSubmit={(event) => {
            event.preventDefault()
            void remove()
          }}
        >
          <p>Take everything with you first, by the link above. Deleting cannot be undone.</p>
          <TextField label={`Type ${hangar.name} to delete it`} value={typed} onValue={setTyped} />
          {action.problem && <Trouble problem={action.problem} />}
          {isGoing && <p role="status">Deleting …</p>}
          <p>
            <button disabled={typed !== hangar.name || isGoing}>Delete it for good</button>
          </p>
        </form>
      </details>
    </Entry>
  )
}
