/** One's own name, zone and units, ways of signing in, and the other device. */
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import { api } from '../api.ts'
import { SelectField, TextField } from '../parts/fields.tsx'
import { LinkToShow } from '../parts/link-to-show.tsx'
import { Entry, Page } from '../parts/page.tsx'
import { Shown, Trouble } from '../parts/states.tsx'
import { useAction } from '../parts/use-action.ts'
import { refresh, refreshUnder, useRead } from '../query.ts'
import { me } from '../session.ts'
import { Tokens } from './me/tokens.tsx'
import type { Link, Person } from '../shapes.ts'
import { ago, ms } from '../when.ts'

export function You(): JSX.Element {
  const person = me.value?.person
  return (
    <Page title="You" back={{ to: '/more', label: 'More' }}>
      {person ? <About person={person} /> : <p>Signed in as the host.</p>}
      <OtherDevice />
      <Passkeys />
      <Sessions />
      <Tokens />
    </Page>
  )
}

const zones = (): { value: string; label: string }[] =>
  Intl.supportedValuesOf('timeZone').map((name) => ({ value: name, label: name.replaceAll('_', ' ') }))

function About({ person }: { person: Person }): JSX.Element {
  const [name, setName] = useState(person.name)
  const [zone, setZone] = useState(person.zone)
  const [unit, setUnit] = useState(person.unit)
  const [isSaved, setSaved] = useState(false)
  const action = useAction()
  const options = zones()
  if (!options.some((one) => one.value === zone)) options.unshift({ value: zone, label: zone })
  const save = async (): Promise<void> => {
    setSaved(false)
    if (!(await action.send(api.changeMe({ name: name.trim(), zone, unit })))) return
    await refresh(api.me.path)
    // Sentences are written by the server in the person's zone and unit.
    await refreshUnder('/v1/rigs/', '/v1/alerts')
    setSaved(true)
  }
  return (
    <Entry heading="How to write to you">
      <form
        onSubmit={(event) => {
          event.preventDefault()
          void save()
        }}
      >
        <TextField label="Name" value={name} onValue={setName} isNeeded autoComplete="name" />
        <SelectField label="Time zone" value={zone} onValue={setZone} options={options} />
        <SelectField
          label="Temperatures"
          value={unit}
          onValue={(next) => setUnit(next === 'degF' ? 'degF' : 'degC')}
          options={[
            { value: 'degC', label: 'in °C' },
            { value: 'degF', label: 'in °F' },
          ]}
        />
        {action.problem && <Trouble problem={action.problem} />}
        {isSaved && <p role="status">Saved.</p>}
        <p>
          <button class="main" disabled={action.isBusy}>
            Save
          </button>
        </p>
      </form>
    </Entry>
  )
}

function OtherDevice(): JSX.Element {
  const [link, setLink] = useState<Link | null>(null)
  const action = useAction()
  const make = async (): Promise<void> => setLink((await action.send(api.deviceLink))?.value ?? null)
  return (
    <Entry heading="Add my other device" aside={<p>a phone beside this computer, or the other way round</p>}>
      {link ? (
        <LinkToShow
          link={link.link}
          expiresAt={link.expiresAt}
          words="Open it on the other device: it signs that one in as you."
        />
      ) : (
        <p>
          <button type="button" disabled={action.isBusy} onClick={() => void make()}>
            Make a link that works once
          </button>
        </p>
      )}
      {action.problem && <Trouble problem={action.problem} />}
    </Entry>
  )
}

function Passkeys(): JSX.Element {
  const read = useRead(api.passkeys, 600)
  const [said, setSaid] = useState<string | null>(null)
  const action = useAction()
  const add = async (): Promise<void> => {
    setSaid(null)
    const options = await action.send(api.askPasskey)
    if (!options) return
    try {
      const { startRegistration } = await import('@simplewebauthn/browser')
      const response = await startRegistration({ optionsJSON: options.value })
      await action.send(api.addPasskey('On this device', response))
    } catch {
      setSaid('No passkey was made. Nothing has changed.')
    }
    await refresh(api.passkeys.path)
  }
  const remove = async (id: string): Promise<void> => {
    if (await action.send(api.removePasskey(id))) await refresh(api.passkeys.path)
  }
  return (
    <Entry heading="Passkeys" aside={<p>to come back without a link</p>}>
      <Shown read={read} what="your passkeys">
        {({ items }) =>
          items.length === 0 ? (
            <p class="soft">None yet. Without one, coming back after a sign-out takes a new link.</p>
          ) : (
            <ul class="plain">
              {items.map((key) => (
                <li key={key.id} class="acts">
                  {key.name}, made {ago(ms(key.madeAt))}
                  <button type="button" class="link" onClick={() => void remove(key.id)}>
                    Remove
                  </button>
                </li>
              ))}
            </ul>
          )
        }
      </Shown>
      {said && <p role="alert">{said}</p>}
      {action.problem && <Trouble problem={action.problem} />}
      <p>
        <button type="button" disabled={action.isBusy} onClick={() => void add()}>
          Make a passkey on this device
        </button>
      </p>
    </Entry>
  )
}

function Sessions(): JSX.Element {
  const read = useRead(api.sessions, 600)
  const action = useAction()
  const end = async (id: string): Promise<void> => {
    if (await action.send(api.endSession(id))) await refresh(api.sessions.path)
  }
  return (
    <Entry heading="Signed in">
      <Shown read={read} what="your devices">
        {({ items }) => (
          <ul class="plain">
            {items.map((one) => (
              <li key={one.id} class="acts">
                {one.label}
                <span class="soft">{one.isThis ? 'this device' : `seen ${ago(ms(one.seenAt))}`}</span>
                {!one.isThis && (
                  <button type="button" class="link" onClick={() => void end(one.id)}>
                    Sign it out
                  </button>
                )}
              </li>
            ))}
          </ul>
        )}
      </Shown>
      {action.problem && <Trouble problem={action.problem} />}
    </Entry>
  )
}
