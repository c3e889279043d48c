/** The logbook of a rig, newest first. */
import type { JSX } from 'preact'
import { useLocation } from 'preact-iso'
import { useState } from 'preact/hooks'
import { api } from '../api.ts'
import { markDetail, markName } from '../chart/marks.ts'
import { Tabs } from '../parts/fields.tsx'
import { Page } from '../parts/page.tsx'
import { Shown, Trouble } from '../parts/states.tsx'
import { useAction } from '../parts/use-action.ts'
import { useAllRigs } from '../my-rigs.ts'
import { refreshUnder, useRead } from '../query.ts'
import { roleIn } from '../session.ts'
import type { LogEntry, Rig } from '../shapes.ts'
import { clock, day, ms } from '../when.ts'
import { forms } from './logbook/forms.ts'

export function Logbook(): JSX.Element {
  const { query, route } = useLocation()
  const rigs = useAllRigs()
  const rig = rigs.find((one) => one.id === query['rig']) ?? rigs[0]
  if (!rig) {
    return (
      <Page title="Logbook">
        <p class="waiting">
          No rig yet, so nothing to write down. <a href="/start">Set one up</a>.
        </p>
      </Page>
    )
  }
  return (
    <Page title={`${rig.name}’s logbook`} tabTitle="Logbook">
      {rigs.length > 1 && (
        <Tabs
          label="Rig"
          options={rigs.map((one) => ({ key: one.id, label: one.name }))}
          value={rig.id}
          onValue={(id) => route(`/logbook?rig=${id}`, true)}
        />
      )}
      {roleIn(rig.hangar) === 'keeper' && (
        <p class="acts log-new">
          <a class="button main" href={`/logbook/new?rig=${rig.id}`}>
            Enter something
          </a>
          <a href={`/logbook/new?rig=${rig.id}&what=flight`}>Enter a flight</a>
        </p>
      )}
      <Lines rig={rig} key={rig.id} />
    </Page>
  )
}

function Lines({ rig }: { rig: Rig }): JSX.Element {
  const read = useRead(api.logbook(rig.id), 300)
  return (
    <Shown read={read} what="the logbook">
      {({ items }) =>
        items.length === 0 ? (
          <p class="waiting">
            Nothing entered yet. Flights and bakes are what the forecast is made from: enter them when you are
            at the aircraft, it takes ten seconds.
          </p>
        ) : (
          <ul class="plain log">
            {items.map((entry) => (
              <Line key={entry.id} rig={rig} entry={entry} />
            ))}
          </ul>
        )
      }
    </Shown>
  )
}

function Line({ rig, entry }: { rig: Rig; entry: LogEntry }): JSX.Element {
  const [isAsking, setAsking] = useState(false)
  const action = useAction()
  const detail = markDetail(entry)
  const named = `${markName(entry.what)} of ${day(ms(entry.at))}`
  const remove = async (): Promise<void> => {
    if (await action.send(api.removeLog(rig.id, entry.id))) await refreshUnder(`/v1/rigs/${rig.id}`)
  }
  return (
    <li class="log-line">
      <span class="soft">
        {day(ms(entry.at))} {clock(ms(entry.at))}
      </span>
      <span>
        <b>{markName(entry.what)}</b>
        {detail && `, ${detail}`}
        {action.problem && <Trouble problem={action.problem} />}
      </span>
      {roleIn(rig.hangar) === 'keeper' &&
        (isAsking ? (
          <span class="acts">
            <button type="button" onClick={() => void remove()} disabled={action.isBusy}>
              Remove it
            </button>
            <button type="button" class="link" onClick={() => setAsking(false)}>
              Keep it
            </button>
          </span>
        ) : (
          <span class="acts">
            {forms.some((form) => form.what === entry.what) && (
              <a
                href={`/logbook/new?rig=${rig.id}&what=${entry.what}&entry=${entry.id}`}
                aria-label={`Correct ${named}`}
              >
                Correct
              </a>
            )}
            <button type="button" class="link" aria-label={`Remove ${named}`} onClick={() => setAsking(true)}>
              Remove
            </button>
          </span>
        ))}
    </li>
  )
}
