/** One device: when it was last reached, what it gets, and a test. */
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import { api } from '../../api.ts'
import { TextField, Tick, TimeField } from '../../parts/fields.tsx'
import { Entry } from '../../parts/page.tsx'
import { Trouble } from '../../parts/states.tsx'
import { useAction } from '../../parts/use-action.ts'
import { sendTest, switchOff, thisDevice } from '../../notifications.ts'
import { useAllRigs } from '../../my-rigs.ts'
import { refresh } from '../../query.ts'
import type { Device, DeviceChoices, Urgency } from '../../shapes.ts'
import { ago, moment, ms } from '../../when.ts'

export function DeviceEntry({ device }: { device: Device }): JSX.Element {
  const [said, setSaid] = useState<string | null>(null)
  const action = useAction()
  const test = async (): Promise<void> => {
    setSaid(null)
    const tested = await sendTest(device.id)
    setSaid(tested.ok ? tested.value : tested.why)
    await refresh(api.devices.path)
  }
  const remove = async (): Promise<void> => {
    if ((await thisDevice()) === device.id) {
      const off = await switchOff()
      setSaid(off.ok ? null : off.why)
    } else await action.send(api.removeDevice(device.id))
    await refresh(api.devices.path)
  }
  return (
    <Entry heading={device.name} aside={<p>{reached(device)}</p>}>
      {device.endedAt !== null && (
        <p>
          <b>Not reached any more</b> since {moment(ms(device.endedAt))}: switch notifications on again on
          that device.
        </p>
      )}
      {device.failingSince !== null && device.endedAt === null && (
        <p>
          <b>Failing</b> since {moment(ms(device.failingSince))}
          {device.failure && ` (${device.failure})`}. It is tried again.
        </p>
      )}
      <p class="acts">
        <button type="button" disabled={action.isBusy} onClick={() => void test()}>
          Send a test
        </button>
        <button type="button" class="link" disabled={action.isBusy} onClick={() => void remove()}>
          Send nothing more to it
        </button>
      </p>
      {said && <p role="status">{said}</p>}
      {action.problem && <Trouble problem={action.problem} />}
      <details>
        <summary>What it gets</summary>
        <Choices device={device} />
      </details>
    </Entry>
  )
}

function reached(device: Device): string {
  return device.lastReachedAt === null ? 'never reached yet' : `last reached ${ago(ms(device.lastReachedAt))}`
}

const urgencies: { key: Urgency; label: string }[] = [
  { key: 'now', label: 'Drive out now' },
  { key: 'visit', label: 'On your next visit' },
  { key: 'note', label: 'To know, no action' },
]

function Choices({ device }: { device: Device }): JSX.Element {
  const [draft, setDraft] = useState<DeviceChoices>(device)
  const [isSaved, setSaved] = useState(false)
  const action = useAction()
  const rigs = useAllRigs()
  const set = (change: Partial<DeviceChoices>): void => {
    setSaved(false)
    setDraft({ ...draft, ...change })
  }
  const save = async (): Promise<void> => {
    const { name, rigs: which, urgencies: wanted, quietHours } = draft
    if (
      !(await action.send(api.changeDevice(device.id, { name, rigs: which, urgencies: wanted, quietHours })))
    )
      return
    await refresh(api.devices.path)
    setSaved(true)
  }
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault()
        void save()
      }}
    >
      <TextField label="Name" value={draft.name} onValue={(name) => set({ name })} isNeeded />
      <fieldset>
        <legend>Messages</legend>
        {urgencies.map(({ key, label }) => (
          <Tick
            key={key}
            label={label}
            isOn={draft.urgencies.includes(key)}
            onChange={(isOn) => set({ urgencies: toggled(draft.urgencies, key, isOn) })}
          />
        ))}
      </fieldset>
      <fieldset>
        <legend>Rigs</legend>
        <Tick
          label="Every rig I can see"
          isOn={draft.rigs === null}
          onChange={(isOn) => set({ rigs: isOn ? null : rigs.map((rig) => rig.id) })}
        />
        {draft.rigs !== null &&
          rigs.map((rig) => (
            <Tick
              key={rig.id}
              label={rig.name}
              isOn={draft.rigs?.includes(rig.id) ?? false}
              onChange={(isOn) => set({ rigs: toggled(draft.rigs ?? [], rig.id, isOn) })}
            />
          ))}
      </fieldset>
      <QuietFields quiet={draft.quietHours} onQuiet={(quietHours) => set({ quietHours })} />
      {action.problem && <Trouble problem={action.problem} />}
      {isSaved && <p role="status">Saved.</p>}
      <p>
        <button class="main" disabled={action.isBusy}>
          Save
        </button>
      </p>
    </form>
  )
}

type Quiet = DeviceChoices['quietHours']

function QuietFields({ quiet, onQuiet }: { quiet: Quiet; onQuiet: (quiet: Quiet) => void }): JSX.Element {
  return (
    <fieldset>
      <legend>Quiet hours, in your time zone</legend>
      <Tick
        label="Hold messages back at night"
        isOn={quiet !== null}
        onChange={(isOn) => onQuiet(isOn ? { from: '22:00', to: '07:00', forNow: false } : null)}
      />
      {quiet && (
        <>
          <div class="pair">
            <TimeField
              kind="time"
              label="From"
              value={quiet.from}
              onValue={(from) => onQuiet({ ...quiet, from })}
            />
            <TimeField kind="time" label="To" value={quiet.to} onValue={(to) => onQuiet({ ...quiet, to })} />
          </div>
          <Tick
            label="Hold back even “Drive out now”"
            isOn={quiet.forNow}
            onChange={(forNow) => onQuiet({ ...quiet, forNow })}
          />
        </>
      )}
    </fieldset>
  )
}

function toggled<T>(list: readonly T[], one: T, isOn: boolean): T[] {
  const without = list.filter((other) => other !== one)
  return isOn ? [...without, one] : without
}
