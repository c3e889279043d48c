/** Who would be told about this rig, and loudly when nobody would. */
import type { JSX } from 'preact'
import { api } from '../../api.ts'
import { Entry } from '../../parts/page.tsx'
import { useRead } from '../../query.ts'
import type { Reach as Reached } from '../../shapes.ts'
import { ago, ms } from '../../when.ts'

type Device = Reached['devices'][number]
const hindrances: Record<NonNullable<Device['hindrance']>, string> = {
  ended: 'no longer subscribed',
  'other-rigs': 'set to other rigs',
  'not-for-now': 'set not to be told “Drive out now”',
  failing: 'failing',
}

/** At the top of the rig's page: an alert that nobody hears of is none. */
export function NobodyTold({ rig }: { rig: string }): JSX.Element | null {
  const reach = useRead(api.reach(rig), 300).value
  if (!reach?.nobody) return null
  return (
    <div class="notice loud" role="status">
      <p>
        <b>Nobody would be told</b> if this rig needed somebody now.{' '}
        {reach.pushOn ? (
          <>
            <a href="/messages">Switch messages on</a>.
          </>
        ) : (
          'The host has not set messages up.'
        )}
      </p>
    </div>
  )
}

export function Reach({ rig }: { rig: string }): JSX.Element | null {
  const reach = useRead(api.reach(rig), 300).value
  if (!reach) return null
  return (
    <Entry heading="Who is told">
      {reach.nobody && <p>Nobody, if this rig needed somebody now.</p>}
      {reach.devices.length > 0 && (
        <ul class="plain">
          {reach.devices.map((device) => (
            <li key={device.id}>
              {device.owner}, {device.name}
              <span class="soft">
                {device.lastReachedAt === null
                  ? ', never reached yet'
                  : `, last reached ${ago(ms(device.lastReachedAt))}`}
                {device.hindrance !== null && `; ${hindrances[device.hindrance]}`}
              </span>
            </li>
          ))}
        </ul>
      )}
      <p class="acts">
        <a href="/messages">Devices and messages</a>
      </p>
    </Entry>
  )
}
