/** Everything that is not looked at every day. */
import type { JSX } from 'preact'
import { Entry, Page } from '../parts/page.tsx'
import { hangar, isKeeper, me, signOut } from '../session.ts'
import { HangarChoice } from '../parts/hangar-choice.tsx'

export function More(): JSX.Element {
  return (
    <Page title="More" lead={me.value?.person ? `Signed in as ${me.value.person.name}.` : undefined}>
      <Entry heading="This device">
        <List
          items={[
            { to: '/messages', label: 'Devices and messages', why: 'who is told, when, and a test' },
            { to: '/me', label: 'You', why: 'name, time zone, units, passkeys, your other device' },
          ]}
        />
      </Entry>
      {hangar.value && (
        <Entry heading="The hangar" aside={<p>{hangar.value.name}</p>}>
          <HangarChoice />
          <List
            items={[
              {
                to: '/people',
                label: 'People',
                why: isKeeper.value ? 'members and invites' : 'who belongs here',
              },
              { to: '/hub', label: 'Hubs', why: 'where readings come from, keys, posts, recipes' },
              { to: '/compare', label: 'Compare rigs', why: 'run minutes, floors, leakage, water' },
              { to: '/start', label: 'Set up a rig', why: 'from nothing to the first message' },
            ]}
          />
        </Entry>
      )}
      <Entry heading="Tools">
        <List
          items={[
            { to: '/sizing', label: 'Sizing', why: 'how large a column, how long it lasts' },
            { to: '/cautions', label: 'Cautions', why: 'read once before you build, again before you bake' },
          ]}
        />
      </Entry>
      <Entry heading="Sign out">
        <p class="acts">
          <button type="button" onClick={() => void signOut('here')}>
            Sign out here
          </button>
          <button type="button" class="link" onClick={() => void signOut('everywhere')}>
            Sign out everywhere
          </button>
        </p>
      </Entry>
    </Page>
  )
}

function List({ items }: { items: { to: string; label: string; why: string }[] }): JSX.Element {
  return (
    <ul class="plain links">
      {items.map((item) => (
        <li key={item.to}>
          <a href={item.to}>{item.label}</a> <span class="soft">{item.why}</span>
        </li>
      ))}
    </ul>
  )
}
