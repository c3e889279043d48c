/** Keys of a hub: made, shown once, rotated by having two for a while, revoked. */
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import { api } from '../../api.ts'
import { CopyButton } from '../../parts/copy-button.tsx'
import { Tick } from '../../parts/fields.tsx'
import { Entry } from '../../parts/page.tsx'
import { Trouble } from '../../parts/states.tsx'
import { useAction } from '../../parts/use-action.ts'
import { refresh } from '../../query.ts'
import type { Source } from '../../shapes.ts'
import { moment, ms } from '../../when.ts'
import { readyRequests } from './requests.ts'

const liveMax = 2

export function KeysAndRequests({ source }: { source: Source }): JSX.Element {
  const [key, setKey] = useState<string | null>(null)
  const action = useAction()
  const live = source.keys.filter((one) => one.revokedAt === null)
  const make = async (): Promise<void> => {
    const made = await action.send(api.addKey(source.id))
    if (made) setKey(made.value.key)
    await refresh(api.source(source.id).path)
  }
  const revoke = async (id: string): Promise<void> => {
    if (await action.send(api.revokeKey(source.id, id))) await refresh(api.source(source.id).path)
  }
  const allow = async (keyInQuery: boolean): Promise<void> => {
    await action.send(api.changeSource(source.id, { keyInQuery }))
    await refresh(api.source(source.id).path)
  }
  const rig = source.rigs.length > 1 ? (source.rigs[0] ?? null) : null
  return (
    <>
      <Entry heading="Key" aside={<p>shown once; only its fingerprint is kept</p>}>
        {key && (
          <div class="notice loud">
            <p>
              <b>Copy it now.</b> It is not shown again.
            </p>
            <pre data-testid="key">{key}</pre>
            <p>
              <CopyButton text={key} what="the key" />
            </p>
          </div>
        )}
        {live.length === 0 && !key && <p>No key yet: the hub cannot send.</p>}
        {live.length > 0 && (
          <ul class="plain">
            {live.map((one) => (
              <li key={one.id} class="acts">
                A key made {moment(ms(one.madeAt))}
                <button type="button" class="link" onClick={() => void revoke(one.id)}>
                  Revoke it
                </button>
              </li>
            ))}
          </ul>
        )}
        {live.length < liveMax ? (
          <p>
            <button
              type="button"
              class={live.length === 0 ? 'main' : ''}
              disabled={action.isBusy}
              onClick={() => void make()}
            >
              {live.length === 0 ? 'Make the key' : 'Make a second key, to change over'}
            </button>
          </p>
        ) : (
          <p class="soft">
            Two keys are live, the most there can be: revoke the old one once the hub uses the new one.
          </p>
        )}
        {action.problem && <Trouble problem={action.problem} />}
      </Entry>
      <Entry heading="How to post" aside={<p>pick the one your hub can do</p>}>
        {readyRequests({ origin: location.origin, key, rig, isKeyInQuery: source.keyInQuery }).map((one) => (
          <div key={one.title} class="fields request">
            <h3>{one.title}</h3>
            <p class="soft">{one.why}</p>
            <pre>{one.text}</pre>
            <p>
              <CopyButton text={one.text} what="it" />
            </p>
          </div>
        ))}
        <Tick
          label="Take the key in the address too (?key=), for hubs that cannot set a header"
          isOn={source.keyInQuery}
          onChange={(isOn) => void allow(isOn)}
        />
      </Entry>
    </>
  )
}
