/** The model forwards: what a rig that somebody thinks of building would do. */
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import { api } from '../api.ts'
import { limits, loopPressure } from '../cautions.ts'
import { Cautions } from '../parts/caution.tsx'
import { NumberField } from '../parts/fields.tsx'
import { Form } from '../parts/form.tsx'
import { Entry, Page } from '../parts/page.tsx'
import { Trouble } from '../parts/states.tsx'
import { useForm } from '../parts/use-form.ts'
import type { Sizing } from '../shapes.ts'
import { number } from '../units.ts'
import { BeadKindField } from './settings/settings-fields.tsx'
import { temperatureLabel } from './logbook/forms.ts'
import { begin, loopL, questionOf, questionPlace, questionWrongs, type Draft } from './sizing/question.ts'
import { fillSentence, range, restlessSentence } from './sizing/sentences.ts'

export function SizingScreen(): JSX.Element {
  const [draft, setDraft] = useState(begin)
  const [answer, setAnswer] = useState<Sizing | null>(null)
  const form = useForm(questionPlace)
  const of = (name: keyof Draft) => ({
    value: draft[name],
    wrong: form.wrongs[name] ?? null,
    onValue: (value: string): void => {
      form.mend(name)
      setDraft({ ...draft, [name]: value })
    },
  })
  const ask = async (): Promise<void> => {
    const got = await form.send(() => api.sizing(questionOf(draft)), questionWrongs(draft))
    setAnswer(got?.value ?? null)
  }
  return (
    <Page
      title="What size do you need?"
      tabTitle="Sizing"
      lead="The middle and what four in five such rigs would lie between. What you leave empty widens the ranges."
      back={{ to: '/more', label: 'More' }}
    >
      <Entry heading="The rig">
        <Form form={form} onSubmit={() => void ask()}>
          <div class="pair">
            <NumberField
              label="Free space in the engine"
              unit="L"
              {...of('crankcaseL')}
              hint="Crankcase and sump above the oil."
            />
            <NumberField label="Hoses, both together" unit="m" {...of('hoseM')} />
            <NumberField label="Bore of the hoses" unit="mm" {...of('hoseMm')} />
            <NumberField label="Column and pump box" unit="L" {...of('columnL')} />
          </div>
          <p class="soft">That is a loop of {number(loopL(draft), 1)} L.</p>
          <div class="pair">
            <NumberField label="Pump" unit="L/min" {...of('flowLPerMin')} />
            <NumberField label="Dry beads" unit="g" {...of('beadMassG')} />
            <BeadKindField {...of('beadKind')} />
          </div>
          <div class="pair">
            <NumberField label="Pump starts at" unit="%" {...of('start')} />
            <NumberField label="Pump stops at" unit="%" {...of('stop')} />
          </div>
          <div class="pair">
            <NumberField label="Hangar air" unit="%" {...of('humidityPct')} />
            <NumberField label="Hangar" unit={temperatureLabel()} {...of('temp')} />
            <NumberField
              label="A flight every"
              unit="days"
              {...of('flightEveryDays')}
              hint="Empty: it only stands."
            />
          </div>
          <details>
            <summary>If you know more</summary>
            <div class="pair">
              <NumberField label="Water a flight leaves" unit="g" {...of('gPerFlight')} />
              <NumberField label="Leakage" unit="L/h" {...of('leakLPerH')} />
              <NumberField label="Pump power" unit="W" {...of('pumpW')} />
            </div>
          </details>
          {form.problem && <Trouble problem={form.problem} />}
          <p>
            <button class="main" disabled={form.isBusy}>
              Work it out
            </button>
          </p>
        </Form>
      </Entry>
      {answer && <Answer answer={answer} />}
      <Entry heading="Before you build">
        <Cautions of={[loopPressure, limits]} />
        <p>
          <a href="/cautions">All cautions</a>
        </p>
      </Entry>
    </Page>
  )
}

function Answer({ answer }: { answer: Sizing }): JSX.Element {
  const lines: [string, string | null][] = [
    ['Dry-down after a flight', range(answer.dryDownH, 'hours')],
    ['Runs a week', range(answer.runsPerWeek, '')],
    ['Minutes a run', range(answer.runMin, 'min')],
    ['Pump on', range(answer.dutyPct, '% of the time')],
    ['With the pump kept on', `the air settles at ${range(answer.settlesPct, '%')}`],
    ['Flights from bake to bake', range(answer.flightsPerFill, '')],
    ['Days from bake to bake', range(answer.daysPerFill, 'days')],
    ['Water a fill takes up', range(answer.capacityG, 'g')],
    ['Leakage brings', range(answer.idleGPerWeek, 'g a week')],
    ['Pump energy', range(answer.whPerWeek, 'Wh a week')],
  ]
  const warning = restlessSentence(answer)
  return (
    <Entry heading="What it would do">
      <div role="status">
        {warning && <p class="say">{warning}</p>}
        <p class="say">{fillSentence(answer)}</p>
      </div>
      <dl class="facts">
        {lines.map(([name, text]) =>
          text === null ? null : (
            <>
              <dt>{name}</dt>
              <dd>{text}</dd>
            </>
          ),
        )}
      </dl>
      {answer.assumed.length > 0 && (
        <ul class="soft">
          {answer.assumed.map((one) => (
            <li key={one}>{one}</li>
          ))}
        </ul>
      )}
    </Entry>
  )
}
