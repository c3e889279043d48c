/** Who belongs to the hangar, and the way in for the next one. */
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import { api } from '../api.ts'
import { SelectField, TextField } from '../parts/fields.tsx'
import { HangarChoice } from '../parts/hangar-choice.tsx'
import { LinkToShow } from '../parts/link-to-show.tsx'
import { Entry, Page } from '../parts/page.tsx'
import { Shown, Trouble } from '../parts/states.tsx'
import { useAction } from '../parts/use-action.ts'
import { refresh, useRead } from '../query.ts'
import { hangar, isKeeper, me } from '../session.ts'
import { HangarEntry } from './people/hangar-entry.tsx'
import type { Link, Member, Role } from '../shapes.ts'
import { fullDate, moment, ms } from '../when.ts'

const roleWords: Record<Role, string> = {
  keeper: 'keeper: may change things',
  watcher: 'watcher: may look and get messages',
}
const roleOptions = (['watcher', 'keeper'] as const).map((role) => ({ value: role, label: roleWords[role] }))

export function People(): JSX.Element {
  const here = hangar.value
  if (!here) {
    return (
      <Page title="People" back={{ to: '/more', label: 'More' }}>
        <p>You belong to no hangar yet. Ask a keeper for an invite.</p>
      </Page>
    )
  }
  return (
    <Page title={`The people of ${here.name}`} tabTitle="People" back={{ to: '/more', label: 'More' }}>
      <HangarChoice />
      <Members key={here.id} hangarId={here.id} />
      {isKeeper.value && <Invites key={`${here.id} invites`} hangarId={here.id} />}
      {isKeeper.value && <HangarEntry key={`${here.id} itself`} hangar={here} />}
    </Page>
  )
}

function Members({ hangarId }: { hangarId: string }): JSX.Element {
  const read = useRead(api.members(hangarId), 300)
  return (
    <Entry heading="Members">
      <Shown read={read} what="the members">
        {({ items }) => (
          <ul class="plain">
            {items.map((member) => (
              <MemberLine key={member.person} hangarId={hangarId} member={member} />
            ))}
          </ul>
        )}
      </Shown>
    </Entry>
  )
}

function MemberLine({ hangarId, member }: { hangarId: string; member: Member }): JSX.Element {
  const action = useAction()
  const [isAsking, setAsking] = useState(false)
  const isMe = member.person === me.value?.person?.id
  const other: Role = member.role === 'keeper' ? 'watcher' : 'keeper'
  const afterwards = async (done: unknown): Promise<void> => {
    if (!done) return
    await refresh(api.members(hangarId).path)
    if (isMe) await refresh(api.me.path)
  }
  const change = async (): Promise<void> =>
    afterwards(await action.send(api.changeMember(hangarId, member.person, other)))
  const remove = async (): Promise<void> =>
    afterwards(await action.send(api.removeMember(hangarId, member.person)))
  return (
    <li class="person">
      <p>
        <b>{member.name}</b>
        {isMe && ' (you)'}
        <span class="soft">
          , {roleWords[member.role]}, since {fullDate(ms(member.since))}
        </span>
      </p>
      {action.problem && <Trouble problem={action.problem} />}
      <p class="acts">
        {isKeeper.value && (
          <button type="button" class="link" disabled={action.isBusy} onClick={() => void change()}>
            Make {isMe ? 'yourself' : member.name} a {other}
          </button>
        )}
        {(isKeeper.value || isMe) &&
          (isAsking ? (
            <>
              <button type="button" disabled={action.isBusy} onClick={() => void remove()}>
                {isMe ? 'Leave the hangar' : `Remove ${member.name}`}
              </button>
              <button type="button" class="link" onClick={() => setAsking(false)}>
                No
              </button>
            </>
          ) : (
            <button type="button" class="link" onClick={() => setAsking(true)}>
              {isMe ? 'Leave …' : 'Remove …'}
            </button>
          ))}
      </p>
    </li>
  )
}

function Invites({ hangarId }: { hangarId: string }): JSX.Element {
  const [role, setRole] = useState<Role>('watcher')
  const [name, setName] = useState('')
  const [link, setLink] = useState<Link | null>(null)
  const action = useAction()
  const read = useRead(api.invites(hangarId), 300)
  const invite = async (): Promise<void> => {
    const who = name.trim() === '' ? {} : { name: name.trim() }
    const made = await action.send(api.invite(hangarId, { role, ...who }))
    if (!made) return
    setLink(made.value)
    setName('')
    await refresh(api.invites(hangarId).path)
  }
  const takeBack = async (id: string): Promise<void> => {
    if (await action.send(api.removeInvite(hangarId, id))) await refresh(api.invites(hangarId).path)
  }
  const open = (read.value?.items ?? []).filter((one) => one.usedAt === null)
  return (
    <>
      <Entry heading="Invite somebody">
        {link ? (
          <>
            <LinkToShow
              link={link.link}
              expiresAt={link.expiresAt}
              words="Hand this link over yourself: it is shown only now."
            />
            <p>
              <button type="button" class="link" onClick={() => setLink(null)}>
                Invite another
              </button>
            </p>
          </>
        ) : (
          <form
            onSubmit={(event) => {
              event.preventDefault()
              void invite()
            }}
          >
            <TextField label="Name" value={name} onValue={setName} hint="They can change it." />
            <SelectField
              label="As"
              value={role}
              options={roleOptions}
              onValue={(next) => setRole(next === 'keeper' ? 'keeper' : 'watcher')}
            />
            <p>
              <button class="main" disabled={action.isBusy}>
                Make an invite
              </button>
            </p>
          </form>
        )}
        {action.problem && <Trouble problem={action.problem} />}
      </Entry>
      {open.length > 0 && (
        <Entry heading="Not used yet">
          <ul class="plain">
            {open.map((one) => (
              <li key={one.id} class="acts">
                {one.name ?? 'Somebody'}, {one.role}
                <span class="soft">until {moment(ms(one.expiresAt))}</span>
                <button type="button" class="link" onClick={() => void takeBack(one.id)}>
                  Take it back
                </button>
              </li>
            ))}
          </ul>
        </Entry>
      )}
    </>
  )
}
