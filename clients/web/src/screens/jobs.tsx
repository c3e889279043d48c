/** The first screen: what has to be done at the field, most urgent first. Ten seconds have to be enough. */
import type { JSX } from 'preact'
import { api } from '../api.ts'
import { Entry, Page } from '../parts/page.tsx'
import { NeverHeard, notWatched } from '../parts/never-heard.tsx'
import { NoDevice } from '../parts/no-device.tsx'
import { Trouble, Waiting } from '../parts/states.tsx'
import { refreshUnder, useRead } from '../query.ts'
import { request } from '../request.ts'
import { byUrgency, myHangars, useAllRigs, useHasNoRig, useUnheard, type Unheard } from '../my-rigs.ts'
import { roleIn } from '../session.ts'
import type { Alert, Rig } from '../shapes.ts'
import { capital, countWord, moment, ms, span } from '../when.ts'
import { tied } from '../units.ts'
import { useNowMs } from '../parts/shell.tsx'
import { useState } from 'preact/hooks'

export function Jobs(): JSX.Element {
  const read = useRead(api.alerts)
  const isChecked = useRead(api.health).value?.ok ?? true
  const isEmpty = useHasNoRig()
  const rigCount = useAllRigs().length
  const unheard = useUnheard()
  if (read.value === undefined) {
    return (
      <Page title="Jobs">
        {read.problem ? <Trouble problem={read.problem} again={read.again} /> : <Waiting what="the jobs" />}
      </Page>
    )
  }
  const open = read.value.items.filter((alert) => alert.state !== 'over')
  const jobs = open.filter((alert) => alert.urgency !== 'note').toSorted(byUrgency)
  const urgent = jobs.filter((alert) => alert.urgency === 'now').length
  const known = { isChecked, rigCount, unheard }
  return (
    <Page
      title={isEmpty ? 'Nothing to watch yet.' : headline(urgent, jobs.length - urgent, known)}
      tabTitle="Jobs"
    >
      <NoDevice />
      {jobs.map((alert) => (
        <Job key={alert.id} alert={alert} />
      ))}
      <NeverHeard rigs={unheard.rigs} />
      <Others
        busy={new Set([...jobs.map((alert) => alert.rig), ...unheard.rigs.map((rig) => rig.id)])}
        notes={open.filter((alert) => alert.urgency === 'note')}
        isKnown={unheard.isKnown}
      />
    </Page>
  )
}

export type Known = { isChecked: boolean; rigCount: number; unheard: Unheard }

/** Nothing known is not nothing to do: while the checks stand still, or a rig was never heard, that is not said. */
export function headline(urgent: number, visit: number, known: Known): string {
  if (urgent === 0 && visit === 0) return withoutJob(known)
  const now = urgent === 1 ? 'One thing cannot wait' : `${capital(countWord(urgent))} things cannot wait`
  if (visit === 0) return `${now}.`
  const later = visit === 1 ? 'one thing can be done' : `${countWord(visit)} things can be done`
  if (urgent === 0) return `${capital(later)} on your next visit.`
  return `${now}, ${countWord(visit)} can.`
}

function withoutJob({ isChecked, rigCount, unheard }: Known): string {
  if (!isChecked) return 'No job is known, and nothing is checked.'
  if (unheard.rigs.length > 0) return notWatched(unheard.rigs.length, rigCount)
  return unheard.isKnown ? 'Nothing has to be done.' : 'No job is known.'
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

/** How the server says of a note that it has no steps: nothing to unfold. */
const nothingToDo = 'Nothing to do.'

/** Open where there is no time to lose, folded where there is. */
export function Checks({ alert }: { alert: Alert }): JSX.Element | null {
  if (alert.check.every((step) => step === nothingToDo)) return null
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

type OthersProps = { busy: ReadonlySet<string>; notes: Alert[]; isKnown: boolean }

function Others(props: OthersProps): JSX.Element {
  const hangars = myHangars()
  return (
    <>
      {hangars.map((hangar) => (
        <HangarRest
          key={hangar.id}
          id={hangar.id}
          name={hangars.length > 1 ? hangar.name : null}
          {...props}
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
  if (all.length === 0) return <NoRig hangar={props.id} name={props.name} />
  if (rest.length === 0) return null
  return (
    <Entry heading={props.name ?? 'Everything else'}>
      {props.isKnown && (
        <p class="say">
          {rest.length === 1
            ? `${rest[0]?.name ?? 'One rig'} needs nothing.`
            : `${capital(countWord(rest.length))} rigs need nothing.`}
        </p>
      )}
      <ul class="plain">
        {rest.map((rig) => (
          <RestLine key={rig.id} rig={rig} note={props.notes.find((one) => one.rig === rig.id) ?? null} />
        ))}
      </ul>
    </Entry>
  )
}

function NoRig({ hangar, name }: { hangar: string; name: string | null }): JSX.Element {
  const isKeeper = roleIn(hangar) === 'keeper'
  return (
    <Entry heading={name ?? 'To begin'}>
      {isKeeper ? (
        <div class="acts">
          <a class="button main" href="/start">
            Set up the first rig
          </a>
          <a href="/sizing">See what size you need</a>
        </div>
      ) : (
        <p>
          A keeper of the hangar sets up its first rig. <a href="/people">Who that is</a>
        </p>
      )}
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
