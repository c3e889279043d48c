/** What the analysis has to know about a rig, what each number does, and the checks that belong to it. */
import type { JSX } from 'preact'
import { useRoute } from 'preact-iso'
import { useState } from 'preact/hooks'
import { api } from '../api.ts'
import { Entry, Page } from '../parts/page.tsx'
import { ShownPage, Trouble } from '../parts/states.tsx'
import { TextField } from '../parts/fields.tsx'
import { Form } from '../parts/form.tsx'
import { useAction } from '../parts/use-action.ts'
import { useForm } from '../parts/use-form.ts'
import { refreshUnder, useRead } from '../query.ts'
import { roleIn } from '../session.ts'
import type { Rig } from '../shapes.ts'
import { guides } from './guide/guides.ts'
import { NameField, nameWrong, SettingsFields } from './settings/settings-fields.tsx'
import { wrongsOf } from '../wrongs.ts'
import { draftOf, draftWrongs, isChanged, settingPlace, settingsOf } from './settings/draft.ts'

export function RigSettings(): JSX.Element {
  const id = useRoute().params['rig'] ?? ''
  const read = useRead(api.rig(id), 300)
  return (
    <ShownPage read={read} title="Settings" what="the settings" back={{ to: `/rigs/${id}`, label: 'Rig' }}>
      {(rig) => <Settings rig={rig} />}
    </ShownPage>
  )
}

function Settings({ rig }: { rig: Rig }): JSX.Element {
  const isKeeper = roleIn(rig.hangar) === 'keeper'
  return (
    <Page
      title={`${rig.name}: settings and checks`}
      tabTitle={`${rig.name}, settings`}
      back={{ to: `/rigs/${rig.id}`, label: rig.name }}
    >
      <Entry heading="Checks" aside={<p>step by step</p>}>
        <ul class="plain links">
          {guides.map((guide) => (
            <li key={guide.what}>
              <a href={`/rigs/${rig.id}/guide/${guide.what}`}>{guide.title}</a>
            </li>
          ))}
        </ul>
      </Entry>
      {isKeeper ? <Change rig={rig} /> : <p class="soft">Only keepers change settings.</p>}
      {isKeeper && <Remove rig={rig} />}
    </Page>
  )
}

function Change({ rig }: { rig: Rig }): JSX.Element {
  const [name, setName] = useState(rig.name)
  const [draft, setDraft] = useState(() => draftOf(rig.settings))
  const [isSaved, setSaved] = useState(false)
  const form = useForm(settingPlace)
  const save = async (): Promise<void> => {
    setSaved(false)
    const wrongs = { ...wrongsOf({ name: nameWrong(name) }), ...draftWrongs(draft) }
    const settings = isChanged(draft, rig.settings) ? { settings: settingsOf(draft, rig.settings) } : {}
    const call = () => api.changeRig(rig.id, { name: name.trim(), ...settings })
    if (!(await form.send(call, wrongs))) return
    await refreshUnder(`/v1/rigs/${rig.id}`, api.rigs(rig.hangar).path)
    setSaved(true)
  }
  return (
    <Entry heading="Settings" aside={<p>a change holds from now on; the past keeps the settings it had</p>}>
      <Form form={form} onSubmit={() => void save()}>
        <NameField form={form} value={name} onValue={setName} />
        <SettingsFields form={form} draft={draft} onDraft={setDraft} />
        {form.problem && <Trouble problem={form.problem} />}
        {isSaved && <p role="status">Saved. It holds from now on.</p>}
        <p>
          <button class="main" disabled={form.isBusy}>
            Save
          </button>
        </p>
      </Form>
    </Entry>
  )
}

function Remove({ rig }: { rig: Rig }): JSX.Element {
  const [typed, setTyped] = useState('')
  const [left, setLeft] = useState<string | null>(null)
  const action = useAction()
  const remove = async (): Promise<void> => {
    for (;;) {
      const answer = await action.send(api.removeRig(rig.id, typed))
      if (!answer) return
      setLeft('Deleting …')
      if (answer.value.isDone) break
    }
    await refreshUnder(api.rigs(rig.hangar).path, api.alerts.path)
    location.replace('/rigs')
  }
  return (
    <Entry heading="Delete this rig" aside={<p>with all its readings and its logbook</p>}>
      <details>
        <summary>Delete …</summary>
        <form
          onSubmit={(event) => {
            event.preventDefault()
            void remove()
          }}
        >
          <p>
            Take the readings with you first: <a href={api.exportCsv(rig.id)}>all readings as CSV</a>.
            Deleting cannot be undone.
          </p>
          <TextField label={`Type ${rig.name} to delete it`} value={typed} onValue={setTyped} />
          {action.problem && <Trouble problem={action.problem} />}
          {left && <p role="status">{left}</p>}
          <p>
            <button disabled={typed !== rig.name || action.isBusy}>Delete it for good</button>
          </p>
        </form>
      </details>
    </Entry>
  )
}
