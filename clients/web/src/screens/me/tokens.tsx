/** Tokens for scripts: shown once, may read or write, end by themselves. */
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import { api } from '../../api.ts'
import { CopyButton } from '../../parts/copy-button.tsx'
import { SelectField, TextField } from '../../parts/fields.tsx'
import { Entry } from '../../parts/page.tsx'
import { Shown, Trouble } from '../../parts/states.tsx'
import { useAction } from '../../parts/use-action.ts'
import { refresh, useRead } from '../../query.ts'
import { ago, fullDate, ms } from '../../when.ts'

export function Tokens(): JSX.Element {
  const read = useRead(api.tokens, 600)
  const action = useAction()
  const revoke = async (id: string): Promise<void> => {
    if (await action.send(api.removeToken(id))) await refresh(api.tokens.path)
  }
  return (
    <Entry heading="Tokens" aside={<p>for scripts that read or write in your name</p>}>
      <Shown read={read} what="your tokens">
        {({ items }) =>
          items.length === 0 ? (
            <p class="soft">None.</p>
          ) : (
            <ul class="plain">
              {items.map((one) => (
                <li key={one.id} class="acts">
                  {one.name}
                  <span class="soft">
                    may {one.may}, until {fullDate(ms(one.expiresAt))},{' '}
                    {one.usedAt === null ? 'never used' : `used ${ago(ms(one.usedAt))}`}
                  </span>
                  <button type="button" class="link" onClick={() => void revoke(one.id)}>
                    Revoke it
                  </button>
                </li>
              ))}
            </ul>
          )
        }
      </Shown>
      {action.problem && <Trouble problem={action.problem} />}
      <details>
        <summary>Make a token</summary>
        <Make />
      </details>
    </Entry>
  )
}

function Make(): JSX.Element {
  const [name, setName] = useState('')
  const [may, setMay] = useState<'read' | 'write'>('read')
  const [token, setToken] = useState<string | null>(null)
  const action = useAction()
  const make = async (): Promise<void> => {
    const made = await action.send(api.addToken(name.trim(), may))
    setToken(made?.value.token ?? null)
    await refresh(api.tokens.path)
  }
  if (token !== null) {
    return (
      <div class="notice loud">
        <p>
          <b>Copy it now.</b> It is not shown again.
        </p>
        <pre>{token}</pre>
        <p>
          <CopyButton text={token} what="the token" />
        </p>
      </div>
    )
  }
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault()
        void make()
      }}
    >
      <TextField label="For what" value={name} onValue={setName} isNeeded />
      <SelectField
        label="It may"
        value={may}
        onValue={(next) => setMay(next === 'write' ? 'write' : 'read')}
        options={[
          { value: 'read', label: 'read' },
          { value: 'write', label: 'read and write' },
        ]}
      />
      {action.problem && <Trouble problem={action.problem} />}
      <p>
        <button disabled={action.isBusy}>Make it</button>
      </p>
    </form>
  )
}
