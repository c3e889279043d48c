/** The list to walk through before an engine is started. Ticks are for this walk only: nothing is kept or sent. */
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
import { countWord, plural, rfc3339 } from '../when.ts'

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
  const rig = useRead(api.rig(id), 300).value
  const [done, setDone] = useState<ReadonlySet<number>>(new Set())
  const left = list.length - done.size
  const tick =
    (index: number) =>
    (isOn: boolean): void => {
      const next = new Set(done)
      if (isOn) next.add(index)
      else next.delete(index)
      setDone(next)
    }
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
          {list.map((line, index) => (
            <Tick key={line} label={line} isOn={done.has(index)} onChange={tick(index)} />
          ))}
        </fieldset>
        {left > 0 && left < list.length && (
          <p class="soft" role="status">
            {countWord(left)} left.
          </p>
        )}
        {rig && roleIn(rig.hangar) === 'keeper' && <LogOff rig={id} isReady={left === 0} />}
      </div>
    </Page>
  )
}

function LogOff({ rig, isReady }: { rig: string; isReady: boolean }): JSX.Element {
  const action = useAction()
  const [isSaved, setSaved] = useState(false)
  if (isSaved) return <p role="status">Written down: the rig is off. Enter the flight when you are back.</p>
  const save = async (): Promise<void> => {
    const saved = await action.send(api.addLog(rig, { at: rfc3339(Date.now()), what: 'off', detail: {} }))
    if (!saved) return
    await refreshUnder(`/v1/rigs/${rig}`)
    setSaved(true)
  }
  return (
    <>
      {action.problem && <Trouble problem={action.problem} />}
      <p>
        <button
          type="button"
          class={isReady ? 'main' : ''}
          disabled={action.isBusy}
          onClick={() => void save()}
        >
          Write down: rig off
        </button>
      </p>
    </>
  )
}
