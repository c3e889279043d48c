/** The first screen: what has to be done at the field, most urgent first. Ten seconds have to be enough. */
import type { JSX } from 'preact'
import { api } from '../api.ts'
import { Entry, Page } from '../parts/page.tsx'
import { Trouble, Waiting } from '../parts/states.tsx'
import { refreshUnder, useRead } from '../query.ts'
import { request } from '../request.ts'
import { byUrgency, myHangars, useAllRigs, useHasNoRig } from '../my-rigs.ts'
import type { Alert, Rig } from '../shapes.ts'
import { capital, countWord, moment, ms, span } from '../when.ts'
import { tied } from '../units.ts'
import { useNowMs } from '../parts/shell.tsx'
import { useState } from 'preact/hooks'

export function Jobs(): JSX.Element {
  const read = useRead(api.alerts)
  const isChecked = useRead(api.health).value?.ok ?? true
  const isEmpty = useHasNoRig()
  if (read.value === undefined) {
    return (
      <Page title="Jobs">
        {read.problem ? <Trouble problem={read.problem} again={read.again} /> : <Waiting what="the jobs" />}
      </Page>
    )
  }
  const open = read.value.items.filter((alert) => alert.state !== 'over')
  const jobs = open.filter((alert) => alert.urgency !== 'note').toSorted(byUrgency)
  const urgent = jobs.filter((alert) => alert.urgency === 'now')
  const visit = jobs.filter((alert) => alert.urgency === 'visit')
  return (
    <Page
      title={isEmpty ? 'Nothing to watch yet.' : headline(urgent.length, visit.length, isChecked)}
      tabTitle="Jobs"
    >
      {jobs.map((alert) => (
        <Job key={alert.id} alert={alert} />
      ))}
      <Others
        busy={new Set(jobs.map((alert) => alert.rig))}
        notes={open.filter((alert) => alert.urgency === 'note')}
      />
    </Page>
  )
}

/** Nothing known is not nothing to do: while the checks stand still that is not said. */
export function headline(urgent: number, visit: number, isChecked: boolean): string {
  if (urgent === 0 && visit === 0)
    return isChecked ? 'Nothing has to be done.' : 'No job is known, and nothing is checked.'
  const now = urgent === 1 ? 'One thing cannot wait' : `${capital(countWord(urgent))} things cannot wait`
  if (visit === 0) return `${now}.`
  const later = visit === 1 ? 'one thing can be done' : `${countWord(visit)} things can be done`
  if (urgent === 0) return `${capital(later)} on your next visit.`
  return `${now}, ${countWord(visit)} can.`
}

function useRigName(id: string): string | null {
  return useAllRigs().find((rig) => rig.id === id)?.name ?? null
}

function Job({ alert }: { alert: Alert }): JSX.Element {
  const name = useRigName(alert.rig)
  const nowMs = useNowMs(60)
  const sinceMs = ms(alert.since)
  const isUrgent = alert.urgency === 'now'
  return (
    <Entry
      heading={isUrgent ? 'Drive out now' : 'On your next visit'}
      urgency={alert.urgency}
      aside={
        <p class="lines">
          {name && <b class="ink">{name}</b>}
          <span>for {span((nowMs - sinceMs) / 1000)}</span>
          <span>since {moment(sinceMs, nowMs)}</span>
        </p>
      }
    >
      <p class="say">{tied(alert.sentence)}</p>
      <Checks alert={alert} />
      <div class="acts">
        <a href={`/rigs/${alert.rig}`}>Look at the trace</a>
        <SeenButton alert={alert} />
      </div>
    </Entry>
  )
}

/** Open where there is no time to lose, folded where there is. */
export function Checks({ alert }: { alert: Alert }): JSX.Element | null {
  if (alert.check.length === 0) return null
  const list = (
    <ol class="soft">
      {alert.check.map((step) => (
        <li key={step}>{tied(step)}</li>
      ))}
    </ol>
  )
  if (alert.urgency !== 'now') {
    return (
      <details>
        <summary>What to do, in this order</summary>
        {list}
      </details>
    )
  }
  return (
    <div>
      <h3 class="small">Look at, in this order</h3>
      {list}
    </div>
  )
}

export function SeenButton({ alert }: { alert: Alert }): JSX.Element {
  const [isBusy, setBusy] = useState(false)
  const [isFailed, setFailed] = useState(false)
  if (alert.state === 'seen') return <span class="soft">Somebody has seen this.</span>
  const say = async (): Promise<void> => {
    setBusy(true)
    const answer = await request(api.seen(alert.id))
    setFailed(!answer.ok)
    await refreshUnder(api.alerts.path, `/v1/rigs/${alert.rig}`)
    setBusy(false)
  }
  return (
    <>
      <button type="button" class="link" disabled={isBusy} onClick={() => void say()}>
        I have seen this
      </button>
      {isFailed && <span role="alert">Not saved: no answer from the server.</span>}
    </>
  )
}

type OthersProps = { busy: ReadonlySet<string>; notes: Alert[] }

function Others({ busy, notes }: OthersProps): JSX.Element {
  const hangars = myHangars()
  return (
    <>
      {hangars.map((hangar) => (
        <HangarRest
          key={hangar.id}
          id={hangar.id}
          name={hangars.length > 1 ? hangar.name : null}
          busy={busy}
          notes={notes}
        />
      ))}
    </>
  )
}

function HangarRest(props: OthersProps & { id: string; name: string | null }): JSX.Element | null {
  const read = useRead(api.rigs(props.id), 300)
  if (read.value === undefined) return null
  const all = read.value.items
  const rest = all.filter((rig) => !props.busy.has(rig.id))
  if (all.length === 0) {
    return (
      <Entry heading={props.name ?? 'No rig yet'}>
        <p class="say">There is no rig in this hangar yet.</p>
        <div class="acts">
          <a class="button main" href="/start">
            Set one up
          </a>
          <a href="/sizing">See what size you need</a>
        </div>
      </Entry>
    )
  }
  if (rest.length === 0) return null
  return (
    <Entry heading={props.name ?? 'Everything else'}>
      <p class="say">
        {rest.length === 1
          ? `${rest[0]?.name ?? 'One rig'} needs nothing.`
          : `${capital(countWord(rest.length))} rigs need nothing.`}
      </p>
      <ul class="plain">
        {rest.map((rig) => (
          <RestLine key={rig.id} rig={rig} note={props.notes.find((one) => one.rig === rig.id) ?? null} />
        ))}
      </ul>
    </Entry>
  )
}

/** The air, without the beads: the page of the rig has the rest. */
export function firstSentence(text: string): string {
  return /^.*?\.(?= [A-Z]|$)/.exec(text)?.[0] ?? text
}

function RestLine({ rig, note }: { rig: Rig; note: Alert | null }): JSX.Element {
  const now = useRead(api.now(rig.id)).value
  return (
    <li>
      <a href={`/rigs/${rig.id}`}>{rig.name}</a>
      {now && <span class="soft"> {tied(note?.sentence ?? firstSentence(now.sentence))}</span>}
    </li>
  )
}
