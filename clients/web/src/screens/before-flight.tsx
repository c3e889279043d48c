/** The list to walk through before an engine is started. Ticks are for this walk only: nothing of them is sent. */
import type { JSX } from 'preact'
import { useRoute } from 'preact-iso'
import { useState } from 'preact/hooks'
import { api } from '../api.ts'
import { propeller, startUp } from '../cautions.ts'
import { Cautions } from '../parts/caution.tsx'
import { Tick } from '../parts/fields.tsx'
import { Page } from '../parts/page.tsx'
import { Trouble } from '../parts/states.tsx'
import { useAction } from '../parts/use-action.ts'
import { refreshUnder, useRead } from '../query.ts'
import { roleIn } from '../session.ts'
import { capital, clock, countWord, plural, rfc3339 } from '../when.ts'
import { useTicks } from './before-flight/ticks.ts'

const list = [
  'Pump switched off at the outlet, and the outlet will not switch it on again.',
  'Hose off the oil filler.',
  'Hose and fitting off the breather.',
  'Whatever covered the breather’s ice-relief hole is off.',
  'Every plug and cap that was put on is in your hand: count them.',
  'Dipstick back in and locked.',
  'Filler cap on and locked.',
  'Nothing of the rig is left under the cowl.',
  'Streamer stowed with the rig, away from the propeller.',
]

export function BeforeFlight(): JSX.Element {
  const id = useRoute().params['rig'] ?? ''
  return <Walk key={id} id={id} />
}

function Walk({ id }: { id: string }): JSX.Element {
  const rig = useRead(api.rig(id), 300).value
  const ticks = useTicks(id)
  const left = list.filter((line) => !ticks.done.has(line)).length
  return (
    <Page
      title={rig ? `Before ${rig.name} flies` : 'Before flight'}
      tabTitle="Before flight"
      back={{ to: `/rigs/${id}`, label: rig?.name ?? 'Rig' }}
      lead={
        left === 0
          ? 'All done. Fly well.'
          : `${plural(left, 'thing')} to go. This list adds to the aircraft’s own checklist and replaces nothing in it.`
      }
    >
      <div class="fields">
        <Cautions of={[propeller, startUp]} />
        <fieldset>
          <legend class="hidden-text">The list</legend>
          {list.map((line) => (
            <Tick
              key={line}
              label={line}
              isOn={ticks.done.has(line)}
              onChange={(isOn) => ticks.tick(line, isOn)}
            />
          ))}
        </fieldset>
        {ticks.keptAtMs !== null && (
          <p class="acts">
            <span class="soft">Ticks of today, {clock(ticks.keptAtMs)}, kept on this device.</span>
            <button type="button" class="link" onClick={ticks.startAgain}>
              Start again
            </button>
          </p>
        )}
        {left > 0 && left < list.length && (
          <p class="soft" role="status">
            {capital(countWord(left))} left.
          </p>
        )}
        {rig && roleIn(rig.hangar) === 'keeper' && <LogOff rig={id} left={left} onSaved={ticks.drop} />}
      </div>
    </Page>
  )
}

const focus = (button: HTMLButtonElement | null): void => button?.focus()

type LogOffProps = { rig: string; left: number; onSaved: () => void }

/** A rig may be taken off by other means than this list: what is left of it is asked about, not forbidden. */
function LogOff({ rig, left, onSaved }: LogOffProps): JSX.Element {
  const action = useAction()
  const [isAsking, setAsking] = useState(false)
  const [isSaved, setSaved] = useState(false)
  if (isSaved) return <p role="status">Written down: the rig is off. Enter the flight when you are back.</p>
  const save = async (): Promise<void> => {
    const saved = await action.send(api.addLog(rig, { at: rfc3339(Date.now()), what: 'off', detail: {} }))
    if (!saved) return
    await refreshUnder(`/v1/rigs/${rig}`)
    onSaved()
    setSaved(true)
  }
  return (
    <>
      {action.problem && <Trouble problem={action.problem} />}
      {isAsking && left > 0 ? (
        <div class="notice" role="alert">
          <p>
            <b>{left} not ticked:</b> write it anyway?
          </p>
          <p class="acts">
            <button type="button" class="main" ref={focus} onClick={() => setAsking(false)}>
              Back to the list
            </button>
            <button type="button" disabled={action.isBusy} onClick={() => void save()}>
              Write it anyway
            </button>
          </p>
        </div>
      ) : (
        <p>
          <button
            type="button"
            class={left === 0 ? 'main' : ''}
            disabled={action.isBusy}
            onClick={() => (left > 0 ? setAsking(true) : void save())}
          >
            Write down: rig off
          </button>
        </p>
      )}
    </>
  )
}
