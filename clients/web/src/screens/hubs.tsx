/** The hubs of a hangar: where readings come from. */
import type { JSX } from 'preact'
import { useLocation } from 'preact-iso'
import { useState } from 'preact/hooks'
import { api } from '../api.ts'
import { TextField, Tick } from '../parts/fields.tsx'
import { HangarChoice } from '../parts/hangar-choice.tsx'
import { Entry, Page } from '../parts/page.tsx'
import { Shown, Trouble } from '../parts/states.tsx'
import { useAction } from '../parts/use-action.ts'
import { refresh, useRead } from '../query.ts'
import { hangar, isKeeper } from '../session.ts'
import { ago, ms } from '../when.ts'

export function Hubs(): JSX.Element {
  const here = hangar.value
  return (
    <Page
      title="Hubs"
      back={{ to: '/more', label: 'More' }}
      lead="A hub is whatever already reads your sensor and can post over HTTP. Each gets its own key, and only for its rigs."
    >
      <HangarChoice />
      {here && isKeeper.value ? (
        <List key={here.id} hangarId={here.id} />
      ) : (
        here && <Keepers hangarId={here.id} />
      )}
    </Page>
  )
}

/** Who does not keep the hangar is told who does. */
function Keepers({ hangarId }: { hangarId: string }): JSX.Element {
  const members = useRead(api.members(hangarId), 600).value?.items ?? []
  const names = members.filter((one) => one.role === 'keeper').map((one) => one.name)
  return (
    <p>
      Hubs are for the keepers of a hangar.
      {names.length > 0 &&
        ` Here that is ${new Intl.ListFormat('en-GB', { type: 'conjunction' }).format(names)}.`}
    </p>
  )
}

function List({ hangarId }: { hangarId: string }): JSX.Element {
  const read = useRead(api.sources(hangarId), 60)
  return (
    <>
      <Shown read={read} what="the hubs">
        {({ items }) =>
          items.length === 0 ? (
            <p class="waiting">No hub yet.</p>
          ) : (
            <>
              {items.map((source) => (
                <Entry
                  key={source.id}
                  heading={source.name}
                  aside={<p>{source.heardAt ? `heard ${ago(ms(source.heardAt))}` : 'not heard yet'}</p>}
                >
                  <p>Sends for {source.rigs.join(', ')}.</p>
                  <p class="acts">
                    <a class="button" href={`/hub/${source.id}`}>
                      Posts, key and recipe
                    </a>
                  </p>
                </Entry>
              ))}
            </>
          )
        }
      </Shown>
      <Add hangarId={hangarId} />
    </>
  )
}

function Add({ hangarId }: { hangarId: string }): JSX.Element {
  const rigs = useRead(api.rigs(hangarId), 300).value?.items ?? []
  const [name, setName] = useState('')
  const [chosen, setChosen] = useState<readonly string[]>([])
  const action = useAction()
  const { route } = useLocation()
  const only = rigs.length === 1 ? rigs.map((rig) => rig.slug) : chosen
  const add = async (): Promise<void> => {
    const made = await action.send(api.addSource(hangarId, { name: name.trim(), rigs: [...only] }))
    if (!made) return
    await refresh(api.sources(hangarId).path)
    route(`/hub/${made.value.id}`)
  }
  if (rigs.length === 0) {
    return (
      <Entry heading="Add a hub">
        <p>
          A hub sends for a rig: <a href="/start">set up the rig first</a>.
        </p>
      </Entry>
    )
  }
  return (
    <Entry heading="Add a hub">
      <form
        onSubmit={(event) => {
          event.preventDefault()
          void add()
        }}
      >
        <TextField
          label="Name"
          value={name}
          onValue={setName}
          isNeeded
          hint="So that you know it again: “Shelf over the door”."
        />
        {rigs.length > 1 && (
          <fieldset>
            <legend>Sends for</legend>
            {rigs.map((rig) => (
              <Tick
                key={rig.id}
                label={rig.name}
                isOn={chosen.includes(rig.slug)}
                onChange={(isOn) =>
                  setChosen(isOn ? [...chosen, rig.slug] : chosen.filter((slug) => slug !== rig.slug))
                }
              />
            ))}
          </fieldset>
        )}
        {action.problem && <Trouble problem={action.problem} />}
        <p>
          <button class="main" disabled={action.isBusy || only.length === 0}>
            Add it
          </button>
        </p>
      </form>
    </Entry>
  )
}
