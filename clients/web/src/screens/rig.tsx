/** One rig: its sentence, what stands open, the strip, and under it everything the strip came to. */
import type { JSX } from 'preact'
import { useRoute } from 'preact-iso'
import { api } from '../api.ts'
import { Entry, Page } from '../parts/page.tsx'
import { useNowMs } from '../parts/shell.tsx'
import { Shown, ShownPage } from '../parts/states.tsx'
import { useRead } from '../query.ts'
import { byUrgency } from '../my-rigs.ts'
import { chooseHangar, roleIn } from '../session.ts'
import type { Alert, Now, Rig } from '../shapes.ts'
import { tied } from '../units.ts'
import { ago, moment, ms, span } from '../when.ts'
import { Checks, SeenButton } from './jobs.tsx'
import { AlertHistory } from './rig/alert-history.tsx'
import { AlertReasons } from './rig/evidence.tsx'
import { Exposure } from './rig/exposure.tsx'
import { FillEntry } from './rig/fill-entry.tsx'
import { LogLines } from './rig/log-lines.tsx'
import { NobodyTold, Reach } from './rig/reach.tsx'
import { Runs } from './rig/runs.tsx'
import { StripEntry } from './rig/strip-entry.tsx'

export function RigScreen(): JSX.Element {
  const id = useRoute().params['rig'] ?? ''
  const rig = useRead(api.rig(id), 300)
  const now = useRead(api.now(id))
  return (
    <ShownPage read={rig} title="Rig" what="the rig" back={{ to: '/rigs', label: 'Rigs' }}>
      {(value) => (
        <Page
          title={value.name}
          said={now.value && tied(now.value.sentence)}
          back={{ to: '/rigs', label: 'Rigs' }}
        >
          <Shown read={now} what="its state">
            {(state) => <RigBody rig={value} now={state} />}
          </Shown>
        </Page>
      )}
    </ShownPage>
  )
}

function RigBody({ rig, now }: { rig: Rig; now: Now }): JSX.Element {
  const isKeeper = roleIn(rig.hangar) === 'keeper'
  const open = now.alerts.filter((alert) => alert.state !== 'over').toSorted(byUrgency)
  return (
    <>
      <Heard rig={rig} now={now} />
      <p class="acts first-acts">
        <a class="button" href={`/rigs/${rig.id}/before-flight`}>
          Before flight
        </a>
      </p>
      <NobodyTold rig={rig.id} />
      {open.map((alert) => (
        <OpenAlert key={alert.id} alert={alert} />
      ))}
      <StripEntry rig={rig} />
      <FillEntry rig={rig} now={now} />
      <Runs rig={rig.id} />
      <Exposure rig={rig.id} />
      <LogLines rig={rig} isKeeper={isKeeper} />
      <AlertHistory rig={rig.id} />
      <Reach rig={rig.id} />
      <Unknowns now={now} />
      <Entry heading="This rig">
        <p class="acts">
          <a href={`/rigs/${rig.id}/record`}>Storage record</a>
          <a href={`/rigs/${rig.id}/settings`}>Settings and checks</a>
          <a href={api.exportCsv(rig.id)} download>
            All readings as CSV
          </a>
        </p>
      </Entry>
    </>
  )
}

function Heard({ rig, now }: { rig: Rig; now: Now }): JSX.Element {
  const nowMs = useNowMs(60)
  if (now.heardAt === null) {
    return (
      <div class="notice">
        <p>Nothing has been heard from this rig yet.</p>
        <p class="acts">
          <a href="/hub" onClick={() => chooseHangar(rig.hangar)}>
            Connect its hub
          </a>
        </p>
      </div>
    )
  }
  return (
    <p class="soft heard">
      Last heard {ago(ms(now.heardAt), nowMs)}, {moment(ms(now.heardAt), nowMs)}.
    </p>
  )
}

function OpenAlert({ alert }: { alert: Alert }): JSX.Element {
  const nowMs = useNowMs(60)
  const headings = { now: 'Drive out now', visit: 'On your next visit', note: 'To know' }
  return (
    <Entry
      heading={headings[alert.urgency]}
      urgency={alert.urgency}
      aside={
        <p class="lines">
          <span>for {span((nowMs - ms(alert.since)) / 1000)}</span>
          <span>since {moment(ms(alert.since), nowMs)}</span>
        </p>
      }
    >
      <p class="say">{tied(alert.sentence)}</p>
      <Checks alert={alert} />
      <AlertReasons alert={alert} />
      {alert.urgency === 'now' && (
        <p class="small soft">
          No alert is a reason to hurry at an aircraft: magnetos off, and treat the propeller as live.
        </p>
      )}
      <div class="acts">
        <SeenButton alert={alert} />
      </div>
    </Entry>
  )
}

/** A rule that cannot tell is shown by the question it answers; everything else says itself what is not known. */
const questions: Record<string, string> = {
  'no-drop': 'Whether the pump moves air',
  'band-not-reached': 'Whether a run reaches the lower limit',
  'floor-rising': 'Whether the beads tire',
  'beads-spent': 'How long the beads last',
  leak: 'Whether it leaks',
  'open-loop': 'Whether a hose is off',
  'wet-and-idle': 'Whether the pump fails to start',
  'stuck-running': 'Whether the pump fails to stop',
  silent: 'Whether it is heard',
  frozen: 'Whether the sensor is stuck',
  implausible: 'Whether a reading can be right',
  'left-off': 'Whether it was hooked up again',
  'wet-after-flight': 'How much water a flight left',
  condensing: 'Whether the metal sweats',
  swapped: 'Whether the beads were changed',
}
function questionOf(what: string): string {
  return questions[what] ?? what.charAt(0).toUpperCase() + what.slice(1)
}

function Unknowns({ now }: { now: Now }): JSX.Element | null {
  if (now.unknown.length === 0 && now.assumed.length === 0) return null
  return (
    <Entry heading="What cannot be told">
      <dl class="facts">
        {now.unknown.map((one) => (
          <>
            <dt>{questionOf(one.what)}</dt>
            <dd>{one.why}</dd>
          </>
        ))}
      </dl>
      {now.assumed.length > 0 && (
        <>
          <h3>Taken for granted, since nothing measures it</h3>
          <ul>
            {now.assumed.map((one) => (
              <li key={one}>{one}</li>
            ))}
          </ul>
        </>
      )}
    </Entry>
  )
}
