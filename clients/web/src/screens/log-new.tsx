/** Entering something: which rig, what, and one screen to save it. A flight is two presses. */
import type { JSX } from 'preact'
import { useLocation } from 'preact-iso'
import { useState } from 'preact/hooks'
import { api } from '../api.ts'
import { Page } from '../parts/page.tsx'
import { Tabs } from '../parts/fields.tsx'
import { Trouble } from '../parts/states.tsx'
import { useAction } from '../parts/use-action.ts'
import { refreshUnder, useRead } from '../query.ts'
import { useKeptRigs } from '../my-rigs.ts'
import type { LogEntry } from '../shapes.ts'
import { EntryForm } from './logbook/entry-form.tsx'
import { firstForms, forms } from './logbook/forms.ts'
import { LogText } from './rig/log-lines.tsx'

export function LogNew(): JSX.Element {
  const { query, route } = useLocation()
  const rigs = useKeptRigs()
  const rig = rigs.find((one) => one.id === query['rig']) ?? rigs[0]
  const form = forms.find((one) => one.what === query['what'])
  const entries = useRead(rig && query['entry'] ? api.logbook(rig.id) : null, 300).value?.items
  const entry = entries?.find((one) => one.id === query['entry'])
  const [isAll, setAll] = useState(false)
  const [saved, setSaved] = useState<LogEntry | null>(null)
  const go = (to: { rig?: string; what?: string }): void => {
    setSaved(null)
    const wanted = { rig: to.rig ?? rig?.id ?? '', what: to.what ?? form?.what ?? '' }
    route(`/logbook/new?${new URLSearchParams(wanted).toString()}`, true)
  }
  if (!rig) {
    return (
      <Page title="Enter something" back={{ to: '/logbook', label: 'Logbook' }}>
        <p>Only keepers enter things, and there is no rig that you keep.</p>
      </Page>
    )
  }
  const shown = isAll || (form && forms.indexOf(form) >= firstForms) ? forms : forms.slice(0, firstForms)
  return (
    <Page
      title={
        form
          ? `${rig.name}: ${query['entry'] ? 'correct ' : ''}${form.label.toLowerCase()}`
          : `What was done to ${rig.name}?`
      }
      tabTitle="Enter something"
      back={{ to: `/logbook?rig=${rig.id}`, label: 'Logbook' }}
    >
      <div class="fields">
        {rigs.length > 1 && !form && (
          <Tabs
            label="Rig"
            options={rigs.map((one) => ({ key: one.id, label: one.name }))}
            value={rig.id}
            onValue={(id) => go({ rig: id })}
          />
        )}
        {saved && <Saved rig={rig.id} entry={saved} onGone={() => setSaved(null)} />}
        {!form && (
          <>
            <div class="choices">
              {shown.map((one) => (
                <button key={one.what} type="button" onClick={() => go({ what: one.what })}>
                  {one.label}
                </button>
              ))}
            </div>
            {!isAll && (
              <p>
                <button type="button" class="link" onClick={() => setAll(true)}>
                  Something else
                </button>
              </p>
            )}
          </>
        )}
        {form && !saved && (!query['entry'] || entry) && (
          <EntryForm
            key={`${rig.id} ${form.what} ${entry?.id ?? ''}`}
            rig={rig.id}
            form={form}
            entry={entry}
            onSaved={setSaved}
          />
        )}
        {form && (
          <p>
            <button type="button" class="link" onClick={() => route(`/logbook/new?rig=${rig.id}`, true)}>
              {saved ? 'Enter something else' : 'Not this'}
            </button>
          </p>
        )}
      </div>
    </Page>
  )
}

function Saved(props: { rig: string; entry: LogEntry; onGone: () => void }): JSX.Element {
  const { rig, entry, onGone } = props
  const action = useAction()
  const undo = async (): Promise<void> => {
    const gone = await action.send(api.removeLog(rig, entry.id))
    if (!gone) return
    await refreshUnder(`/v1/rigs/${rig}`)
    onGone()
  }
  return (
    <div class="notice" role="status">
      <p>
        Saved: <LogText entry={entry} />
      </p>
      {action.problem && <Trouble problem={action.problem} />}
      <p class="acts">
        <button type="button" onClick={() => void undo()} disabled={action.isBusy}>
          Undo
        </button>
        <a href={`/rigs/${rig}`}>To the rig</a>
      </p>
    </div>
  )
}
