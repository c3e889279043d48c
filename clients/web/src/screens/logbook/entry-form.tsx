/** One entry: chosen, set and saved with a thumb. */
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import { api } from '../../api.ts'
import { Field, NumberField, SelectField, Stepper, TextField, TimeField } from '../../parts/fields.tsx'
import { Form as CheckedForm } from '../../parts/form.tsx'
import { Trouble } from '../../parts/states.tsx'
import { useForm } from '../../parts/use-form.ts'
import { refreshUnder } from '../../query.ts'
import type { LogEntry } from '../../shapes.ts'
import { ms, toLocalInput } from '../../when.ts'
import { bodyOf, entryWrongs, entryPlace, shownText } from './entry.ts'
import { fromC, temperatureLabel, type Ask, type Form } from './forms.ts'

type Props = {
  rig: string
  form: Form
  /** The entry to correct; without it a new one is made. */
  entry?: LogEntry | undefined
  onSaved: (entry: LogEntry) => void
}

export function EntryForm({ rig, form, entry, onSaved }: Props): JSX.Element {
  const nowMs = Date.now()
  const [startMs] = useState(entry ? ms(entry.at) : nowMs)
  const [at, setAt] = useState(toLocalInput(startMs))
  const [given, setGiven] = useState<Record<string, string>>(() =>
    entry ? shownOf(form, entry) : starts(form, nowMs),
  )
  const sending = useForm((pointer) => entryPlace(form, pointer))
  const set =
    (name: string) =>
    (value: string): void => {
      sending.mend(name)
      setGiven((before) => ({ ...before, [name]: value }))
    }
  const setTime = (value: string): void => {
    sending.mend('at')
    setAt(value)
  }
  const save = async (): Promise<void> => {
    const call = () => {
      const body = bodyOf({ form, at, given, startMs }, entry)
      return entry ? api.changeLog(rig, entry.id, body) : api.addLog(rig, body)
    }
    const saved = await sending.send(call, entryWrongs({ form, at, given, nowMs: Date.now() }))
    if (!saved) return
    await refreshUnder(`/v1/rigs/${rig}`, api.alerts.path)
    onSaved(saved.value)
  }
  return (
    <CheckedForm form={sending} onSubmit={() => void save()}>
      {form.hint && <p class="soft">{form.hint}</p>}
      {form.asks.map((ask) => (
        <AskField
          key={ask.name}
          ask={ask}
          value={given[ask.name] ?? ''}
          wrong={sending.wrongs[ask.name] ?? null}
          onValue={set(ask.name)}
        />
      ))}
      <TimeField
        label={form.at}
        value={at}
        wrong={sending.wrongs['at'] ?? null}
        onValue={setTime}
        isNeeded
        last={toLocalInput(nowMs)}
      />
      {sending.problem && <Trouble problem={sending.problem} />}
      <p>
        <button class="main wide-button" disabled={sending.isBusy}>
          Save
        </button>
      </p>
    </CheckedForm>
  )
}

/** An entry in the form it was made with: local times, the person's unit, and nothing where nothing was said. */
function shownOf(form: Form, { detail }: LogEntry): Record<string, string> {
  return Object.fromEntries(
    form.asks.map((ask) => {
      const text = detail[ask.name] ?? ''
      return [ask.name, text === '' ? '' : shownText(ask, text)]
    }),
  )
}

function starts(form: Form, nowMs: number): Record<string, string> {
  return Object.fromEntries(form.asks.map((ask) => [ask.name, startOf(ask, nowMs)]))
}

function startOf(ask: Ask, nowMs: number): string {
  if (ask.kind === 'number') return ask.start
  if (ask.kind === 'temperature') return ask.startC === null ? '' : fromC(ask.startC).toFixed(0)
  if (ask.kind === 'word') return ask.options[0]?.value ?? ''
  if (ask.kind === 'until') return toLocalInput(nowMs + ask.startH * 3_600_000)
  return ''
}

function AskField(props: {
  ask: Ask
  value: string
  wrong: string | null
  onValue: (value: string) => void
}): JSX.Element {
  const { ask, ...rest } = props
  const hint = 'hint' in ask && ask.hint !== undefined ? { hint: ask.hint } : {}
  if (ask.kind === 'number' && ask.start !== '') {
    const { label, unit, step, digits } = ask
    return <Stepper label={label} unit={unit} step={step} digits={digits} {...hint} {...rest} />
  }
  if (ask.kind === 'number') return <NumberField label={ask.label} unit={ask.unit} {...hint} {...rest} />
  if (ask.kind === 'temperature') return <NumberField label={ask.label} unit={temperatureLabel()} {...rest} />
  if (ask.kind === 'word') return <SelectField label={ask.label} options={ask.options} {...rest} />
  if (ask.kind === 'until') return <TimeField label={ask.label} {...rest} />
  if (ask.name === 'text') {
    return (
      <Field label={ask.label} wrong={rest.wrong}>
        {(ids) => (
          <textarea
            {...ids}
            value={rest.value}
            onInput={(event) => rest.onValue(event.currentTarget.value)}
          />
        )}
      </Field>
    )
  }
  return <TextField label={ask.label} {...hint} {...rest} />
}
