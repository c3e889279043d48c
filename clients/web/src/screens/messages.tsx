/** Who is told, on which device, and a test that it arrives. */
import type { JSX } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import { api } from '../api.ts'
import { service } from '../cautions.ts'
import { Entry, Page } from '../parts/page.tsx'
import { Shown, Trouble } from '../parts/states.tsx'
import { useAction } from '../parts/use-action.ts'
import { refresh, useRead } from '../query.ts'
import { deviceName, standing, subscribe, type Standing } from '../this-device.ts'
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
  const [here, setHere] = useState<Standing | null>(null)
  const [said, setSaid] = useState<string | null>(null)
  const key = useRead(api.pushKey, 3600)
  const action = useAction()
  useEffect(() => {
    void standing().then(setHere)
  }, [])
  const switchOn = async (): Promise<void> => {
    setSaid(null)
    const serverKey = key.value?.key
    if (!serverKey) return
    const made = await subscribe(serverKey)
    if (made === 'failed')
      return setSaid('The browser’s push service did not answer. Try again with a network.')
    if (made !== 'denied') {
      const body = { subscription: made.toJSON(), name: deviceName(), ...standard }
      if (await action.send(api.addDevice(body))) setSaid('This device gets messages now. Send a test below.')
      await refresh(api.devices.path)
    }
    return setHere(await standing())
  }
  return (
    <Entry heading="This device">
      {key.value?.key === null ? (
        <p>The host has not set messages up here. Until then, open this page to know.</p>
      ) : (
        <Offer here={here} isBusy={action.isBusy} onPress={() => void switchOn()} />
      )}
      {said && <p role="status">{said}</p>}
      {action.problem && <Trouble problem={action.problem} />}
    </Entry>
  )
}

const standard = { rigs: null, urgencies: ['now' as const, 'visit' as const], quietHours: null }

function Offer(props: { here: Standing | null; isBusy: boolean; onPress: () => void }): JSX.Element {
  const { here, isBusy, onPress } = props
  if (!here) return <p class="waiting">Looking at what this browser can do …</p>
  if (here.kind === 'on') return <p>Notifications are on here.</p>
  if (here.kind === 'denied') {
    return (
      <p>
        This browser has been told not to show notifications from here. Allow them in the browser’s settings
        for this site, then come back.
      </p>
    )
  }
  if (here.kind === 'cannot') {
    return (
      <p>
        {here.isIphone
          ? 'On an iPhone or iPad, add this page to the home screen first (Share, then Add to Home Screen) and open it from there.'
          : 'This browser cannot receive messages when it is closed. Use another one, or another device.'}
      </p>
    )
  }
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
