/** One guide, a step at a time; where one was left is remembered on this device, since phones lock while hands work. */
import type { JSX } from 'preact'
import { useRoute } from 'preact-iso'
import { useState } from 'preact/hooks'
import { api } from '../api.ts'
import { Cautions } from '../parts/caution.tsx'
import { Page } from '../parts/page.tsx'
import { Trouble } from '../parts/states.tsx'
import { useAction } from '../parts/use-action.ts'
import { refreshUnder, useRead } from '../query.ts'
import { roleIn } from '../session.ts'
import type { LogEntry } from '../shapes.ts'
import { tied } from '../units.ts'
import { moment, rfc3339 } from '../when.ts'
import { guides, type Guide } from './guide/guides.ts'
import { EntryForm } from './logbook/entry-form.tsx'
import { forms } from './logbook/forms.ts'
import { Missing } from './missing.tsx'
import { LogText } from './rig/log-lines.tsx'

export function GuideScreen(): JSX.Element {
  const { params } = useRoute()
  const guide = guides.find((one) => one.what === params['what'])
  if (!guide) return <Missing />
  return <Walk guide={guide} rigId={params['rig'] ?? ''} />
}

function useKeptStep(key: string): [number, (step: number) => void] {
  const [step, setStep] = useState(Number(localStorage.getItem(key) ?? 0))
  return [
    step,
    (next) => {
      localStorage.setItem(key, String(next))
      setStep(next)
    },
  ]
}

function Walk({ guide, rigId }: { guide: Guide; rigId: string }): JSX.Element {
  const rig = useRead(api.rig(rigId), 300).value
  const [at, setAt] = useKeptStep(`beadwatch-guide-${guide.what}-${rigId}`)
  const step = guide.steps[Math.min(at, guide.steps.length - 1)]
  const isLast = at >= guide.steps.length - 1
  const isKeeper = rig !== undefined && roleIn(rig.hangar) === 'keeper'
  const form = forms.find((one) => one.what === guide.entry)
  const [saved, setSaved] = useState<LogEntry | null>(null)
  const known = useRead(guide.what === 'salt-check' ? api.now(rigId) : null).value?.sensorSentence ?? null
  return (
    <Page
      title={guide.title}
      lead={tied(guide.why)}
      back={{ to: `/rigs/${rigId}`, label: rig?.name ?? 'Rig' }}
    >
      {known !== null && (
        <p class="notice" role="status">
          {tied(known)}
        </p>
      )}
      <div class="steps">
        <section aria-live="polite">
          <h2>
            {at + 1} of {guide.steps.length}. {step?.title}
          </h2>
          <div class="fields guide-step">
            {step?.cautions && <Cautions of={step.cautions} />}
            <ul>
              {step?.lines.map((line) => (
                <li key={line}>{line}</li>
              ))}
            </ul>
            {at === 0 && guide.begins && isKeeper && <Begin rig={rigId} begins={guide.begins} />}
          </div>
        </section>
        {isLast && form && isKeeper && !guide.begins && !saved && (
          <EntryForm
            rig={rigId}
            form={form}
            onSaved={(entry) => {
              setSaved(entry)
              setAt(0)
            }}
          />
        )}
        {saved && (
          <div class="notice" role="status">
            <p>
              Saved: <LogText entry={saved} />
            </p>
            {guide.what === 'salt-check' && (
              <p>Whether it is accepted stands here within a quarter of an hour of its end.</p>
            )}
          </div>
        )}
        <p class="acts">
          {at > 0 && (
            <button type="button" onClick={() => setAt(at - 1)}>
              Back
            </button>
          )}
          {!isLast && (
            <button type="button" class="main" onClick={() => setAt(at + 1)}>
              Next: {guide.steps[at + 1]?.title.toLowerCase()}
            </button>
          )}
          {isLast && (
            <a class="button" href={`/rigs/${rigId}`} onClick={() => setAt(0)}>
              Done
            </a>
          )}
        </p>
      </div>
    </Page>
  )
}

type Begins = NonNullable<Guide['begins']>

/** The stretch is written down when it starts, with its end: the hub needs no second visit. */
function Begin({ rig, begins }: { rig: string; begins: Begins }): JSX.Element {
  const action = useAction()
  const [untilMs, setUntilMs] = useState<number | null>(null)
  const begin = async (): Promise<void> => {
    const nowMs = Date.now()
    const endMs = nowMs + begins.hours * 3_600_000
    const body = { at: rfc3339(nowMs), what: begins.entry, detail: { until: rfc3339(endMs) } }
    if (!(await action.send(api.addLog(rig, body)))) return
    await refreshUnder(`/v1/rigs/${rig}`)
    setUntilMs(endMs)
  }
  if (untilMs !== null) return <p role="status">Written down, until {moment(untilMs)}.</p>
  return (
    <>
      {action.problem && <Trouble problem={action.problem} />}
      <p>
        <button type="button" disabled={action.isBusy} onClick={() => void begin()}>
          {begins.label}
        </button>
      </p>
    </>
  )
}
