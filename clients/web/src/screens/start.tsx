/** First run: from nothing to a message on the phone, each step seen to work before the next. */
import type { JSX } from 'preact'
import { useLocation } from 'preact-iso'
import { useState } from 'preact/hooks'
import { api } from '../api.ts'
import { crankcaseGas, loopPressure, propeller, service, startUp } from '../cautions.ts'
import { Cautions } from '../parts/caution.tsx'
import { TextField } from '../parts/fields.tsx'
import { Form } from '../parts/form.tsx'
import { HangarChoice } from '../parts/hangar-choice.tsx'
import { Entry, Page } from '../parts/page.tsx'
import { Trouble } from '../parts/states.tsx'
import { useAction } from '../parts/use-action.ts'
import { useForm } from '../parts/use-form.ts'
import { refresh, useRead } from '../query.ts'
import { hangar, isKeeper } from '../session.ts'
import type { Rig, Source } from '../shapes.ts'
import { ago, ms } from '../when.ts'
import { wrongsOf } from '../wrongs.ts'
import { KeysAndRequests } from './hub/keys.tsx'
import { draftOf, draftWrongs, settingPlace, settingsOf } from './settings/draft.ts'
import { NameField, nameWrong, SettingsFields } from './settings/settings-fields.tsx'

export function Start(): JSX.Element {
  const { query } = useLocation()
  const here = hangar.value
  const rigId = query['rig'] ?? null
  const sourceId = query['hub'] ?? null
  const rig = useRead(rigId === null ? null : api.rig(rigId), 60).value
  const source = useRead(sourceId === null ? null : api.source(sourceId), 5).value
  if (!here || !isKeeper.value) {
    return (
      <Page title="Set up a rig" back={{ to: '/more', label: 'More' }}>
        <p>Only keepers set up rigs. Ask a keeper of your hangar.</p>
      </Page>
    )
  }
  return (
    <Page
      title={titleOf(rig, source)}
      tabTitle="Set up a rig"
      lead="Four steps: the rig, its hub, the first reading, and messages on your phone."
      back={{ to: '/more', label: 'More' }}
    >
      <HangarChoice />
      {rig ? (
        <Entry heading="1. The rig">
          <p>
            <b>{rig.name}</b>, pump from {rig.settings.band.start} % down to {rig.settings.band.stop} %.{' '}
            <a href={`/rigs/${rig.id}/settings`}>Settings</a>
          </p>
        </Entry>
      ) : (
        <MakeRig hangarId={here.id} />
      )}
      {rig && !source && <MakeHub rig={rig} />}
      {rig && source && (
        <>
          <Entry heading="2. The hub">
            <p>
              <b>{source.name}</b> sends for {rig.name}. <a href={`/hub/${source.id}`}>Its page</a>
            </p>
          </Entry>
          <KeysAndRequests source={source} />
          <FirstReading rig={rig} source={source} />
        </>
      )}
    </Page>
  )
}

function titleOf(rig: Rig | undefined, source: Source | undefined): string {
  if (!rig) return 'Set up a rig'
  if (!source) return `${rig.name}: connect a hub`
  return source.heardAt ? `${rig.name} is heard.` : `${rig.name}: waiting for the first reading`
}

/** A name as it may stand in posts and addresses: "Plover 2" becomes "plover-2". */
export function slugOf(name: string): string {
  return name
    .normalize('NFKD')
    .replace(/[\u0300-\u036f]/g, '')
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 40)
}

/** A usual band of the trade (common practice, no published source). */
const usual = draftOf({ band: { start: 15, stop: 6 } })

function MakeRig({ hangarId }: { hangarId: string }): JSX.Element {
  const [name, setName] = useState('')
  const [draft, setDraft] = useState(usual)
  const form = useForm(settingPlace)
  const { route } = useLocation()
  const make = async (): Promise<void> => {
    const wrongs = { ...wrongsOf({ name: nameWrong(name) }), ...draftWrongs(draft) }
    const call = () =>
      api.addRig(hangarId, {
        name: name.trim(),
        slug: slugOf(name) || 'rig',
        settings: settingsOf(draft, null),
      })
    const made = await form.send(call, wrongs)
    if (!made) return
    await refresh(api.rigs(hangarId).path)
    route(`/start?rig=${made.value.id}`)
  }
  return (
    <Entry heading="1. The rig">
      <Cautions of={[propeller, crankcaseGas, loopPressure, startUp]} />
      <Form form={form} onSubmit={() => void make()}>
        <NameField form={form} value={name} onValue={setName} hint="The aircraft’s, or what you call it." />
        <SettingsFields form={form} draft={draft} onDraft={setDraft} isShort />
        {form.problem && <Trouble problem={form.problem} />}
        <p>
          <button class="main" disabled={form.isBusy}>
            Make the rig
          </button>
        </p>
      </Form>
    </Entry>
  )
}

function MakeHub({ rig }: { rig: Rig }): JSX.Element {
  const [name, setName] = useState(`Hub of ${rig.name}`)
  const action = useAction()
  const { route } = useLocation()
  const make = async (): Promise<void> => {
    const made = await action.send(api.addSource(rig.hangar, { name: name.trim(), rigs: [rig.slug] }))
    if (made) route(`/start?rig=${rig.id}&hub=${made.value.id}`)
  }
  return (
    <Entry heading="2. The hub">
      <p>
        Whatever reads your sensor already and can post over HTTP. It keeps its own band and an off-timer.
      </p>
      <form
        onSubmit={(event) => {
          event.preventDefault()
          void make()
        }}
      >
        <TextField label="Name" value={name} onValue={setName} isNeeded />
        {action.problem && <Trouble problem={action.problem} />}
        <p>
          <button class="main" disabled={action.isBusy}>
            Connect a hub
          </button>
        </p>
      </form>
      <p class="soft small">{service.lines[1]}</p>
    </Entry>
  )
}

function FirstReading({ rig, source }: { rig: Rig; source: Source }): JSX.Element {
  const now = useRead(api.now(rig.id), 5).value
  const heardAt = source.heardAt ?? now?.heardAt ?? null
  return (
    <>
      <Entry heading="3. The first reading">
        {heardAt === null ? (
          <p class="say" role="status">
            Waiting for a post. This page shows it as it comes in.
          </p>
        ) : (
          <>
            <p class="say" role="status">
              Heard {ago(ms(heardAt))}.
            </p>
            <p class="acts">
              <a class="button" href={`/rigs/${rig.id}`}>
                Look at the rig
              </a>
              <a href={`/hub/${source.id}`}>The post as it came in</a>
            </p>
          </>
        )}
      </Entry>
      <Entry heading="4. Messages">
        <p>Switch notifications on, on the phone you carry, and send a test to it.</p>
        <p class="acts">
          <a class="button" href="/messages">
            Devices and messages
          </a>
          <a href="/me">Add my phone</a>
        </p>
      </Entry>
    </>
  )
}
