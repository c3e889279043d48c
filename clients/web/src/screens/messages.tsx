/** Who is told, on which device, and a test that it arrives. */
import type { JSX } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import { api } from '../api.ts'
import { service } from '../cautions.ts'
import { Entry, Page } from '../parts/page.tsx'
import { Shown } from '../parts/states.tsx'
import { refresh, useRead } from '../query.ts'
import { ability, hasOldKey, switchOn, thisDevice, type Ability } from '../notifications.ts'
import { DeviceEntry } from './messages/device-entry.tsx'

export function Messages(): JSX.Element {
  const read = useRead(api.devices, 120)
  return (
    <Page
      title={titleOf(read.value?.items.filter((one) => one.endedAt === null).length)}
      tabTitle="Devices and messages"
      back={{ to: '/more', label: 'More' }}
    >
      <ThisDevice />
      <Shown read={read} what="your devices">
        {({ items }) => (
          <>
            {items.map((device) => (
              <DeviceEntry key={device.id} device={device} />
            ))}
          </>
        )}
      </Shown>
      <Entry heading="Do not rely on it alone">
        <p>{service.lines[0]}</p>
      </Entry>
    </Page>
  )
}

function titleOf(count: number | undefined): string {
  if (count === undefined) return 'Devices and messages'
  if (count === 0) return 'Nobody would reach you yet.'
  return count === 1 ? 'Messages reach you on one device.' : `Messages reach you on ${count} devices.`
}

function ThisDevice(): JSX.Element {
  const [here, setHere] = useState<Here | null>(null)
  const [said, setSaid] = useState<string | null>(null)
  const [isBusy, setBusy] = useState(false)
  const key = useRead(api.pushKey, 3600)
  const mine = useRead(api.devices, 120).value?.items
  const current = key.value?.key ?? null
  const look = async (): Promise<void> => {
    const isOld = current !== null && (await hasOldKey(current))
    setHere({ can: ability(), id: isOld ? null : await thisDevice() })
  }
  useEffect(() => void look(), [current])
  // Switched on once is not on: the subscription may have ended, or the device was removed from elsewhere.
  const id = here?.id ?? null
  const isOn = id !== null && (mine?.some((one) => one.id === id && one.endedAt === null) ?? true)
  const press = async (): Promise<void> => {
    setBusy(true)
    setSaid(null)
    const done = await switchOn({})
    setSaid(done.ok ? 'This device gets messages now. Send a test to it below.' : done.why)
    await Promise.all([refresh(api.devices.path), look()])
    setBusy(false)
  }
  return (
    <Entry heading="This device">
      {key.value?.key === null ? (
        <p>The host has not set messages up here. Until then, open this page to know.</p>
      ) : (
        <Offer here={here} isOn={isOn} isBusy={isBusy} onPress={() => void press()} />
      )}
      {said && <p role="status">{said}</p>}
    </Entry>
  )
}

type Here = { can: Ability; id: string | null }

const cannot = {
  unsupported: 'This browser cannot receive messages when it is closed. Use another one, or another device.',
  'needs-install':
    'On an iPhone or iPad, add this page to the home screen first (Share, then Add to Home Screen) and open it from there.',
  blocked:
    'This browser has been told not to show notifications from here. Allow them in its settings for this site, then come back.',
}

function Offer(props: {
  here: Here | null
  isOn: boolean
  isBusy: boolean
  onPress: () => void
}): JSX.Element {
  const { here, isOn, isBusy, onPress } = props
  if (!here) return <p class="waiting">Looking at what this browser can do …</p>
  if (here.can !== 'can-ask' && here.can !== 'granted') return <p>{cannot[here.can]}</p>
  if (here.can === 'granted' && isOn) return <p>Notifications are on here.</p>
  return (
    <>
      <p>Be told when someone has to act, even when this page is closed.</p>
      <p>
        <button type="button" class="main" disabled={isBusy} onClick={onPress}>
          Switch notifications on
        </button>
      </p>
    </>
  )
}
