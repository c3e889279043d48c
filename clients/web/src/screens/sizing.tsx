/** The model forwards: what a rig that somebody thinks of building would do. */
import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import { api } from '../api.ts'
import { limits, loopPressure } from '../cautions.ts'
import { Cautions } from '../parts/caution.tsx'
import { NumberField, readNumber } from '../parts/fields.tsx'
import { Entry, Page } from '../parts/page.tsx'
import { Trouble } from '../parts/states.tsx'
import { useAction } from '../parts/use-action.ts'
import type { Interval, Sizing, SizingQuestion } from '../shapes.ts'
import { number } from '../units.ts'
import { BeadKindField } from './settings/settings-fields.tsx'
import { fromC, temperatureLabel, toC } from './logbook/forms.ts'

const begin = {
  crankcaseL: '40',
  hoseM: '4',
  hoseMm: '8',
  columnL: '3',
  flowLPerMin: '2.5',
  beadMassG: '2000',
  beadKind: 'regular-gel',
  start: '15',
  stop: '6',
  humidityPct: '70',
  temp: fromC(12).toFixed(0),
  flightEveryDays: '14',
  gPerFlight: '',
  leakLPerH: '',
  pumpW: '',
}
type Draft = typeof begin

/** Crankcase, hoses and column, L. */
export function loopL(draft: Pick<Draft, 'crankcaseL' | 'hoseM' | 'hoseMm' | 'columnL'>): number {
  const [crankcase, length, bore, column] = [draft.crankcaseL, draft.hoseM, draft.hoseMm, draft.columnL].map(
    (text) => readNumber(text) ?? 0,
  )
  const hose = (Math.PI / 4) * ((bore ?? 0) / 100) ** 2 * (length ?? 0) * 10
  return Math.round(((crankcase ?? 0) + hose + (column ?? 0)) * 10) / 10
}

function questionOf(draft: Draft): SizingQuestion {
  return {
    volumeL: loopL(draft),
    flowLPerMin: readNumber(draft.flowLPerMin) ?? 0,
    beadMassG: readNumber(draft.beadMassG) ?? 0,
    ...(draft.beadKind === '' ? {} : { beadKind: draft.beadKind }),
    band: { start: readNumber(draft.start) ?? 0, stop: readNumber(draft.stop) ?? 0 },
    ambient: {
      humidity: readNumber(draft.humidityPct) ?? 0,
      temperature: toC(readNumber(draft.temp) ?? 0),
    },
    flightEveryDays: readNumber(draft.flightEveryDays),
    gPerFlight: readNumber(draft.gPerFlight),
    leakLPerH: readNumber(draft.leakLPerH),
    pumpW: readNumber(draft.pumpW),
  }
}

export function SizingScreen(): JSX.Element {
  const [draft, setDraft] = useState(begin)
  const [answer, setAnswer] = useState<Sizing | null>(null)
  const action = useAction()
  const of = (name: keyof Draft) => ({
    value: draft[name],
    onValue: (value: string): void => setDraft({ ...draft, [name]: value }),
  })
  const ask = async (): Promise<void> => {
    const got = await action.send(api.sizing(questionOf(draft)))
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
        <form
          onSubmit={(event) => {
            event.preventDefault()
            void ask()
          }}
        >
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
          {action.problem && <Trouble problem={action.problem} />}
          <p>
            <button class="main" disabled={action.isBusy}>
              Work it out
            </button>
          </p>
        </form>
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
  const flights = answer.flightsPerFill
  const lines: [string, string | null][] = [
    ['Dry-down after a flight', range(answer.dryDownH, 'hours')],
    ['Runs a week', range(answer.runsPerWeek, '')],
    ['Minutes a run', range(answer.runMin, 'min')],
    ['Pump on', range(answer.dutyPct, '% of the time')],
    ['Flights from bake to bake', range(flights, '')],
    ['Days from bake to bake', range(answer.daysPerFill, 'days')],
    ['Water a fill takes up', range(answer.capacityG, 'g')],
    ['Leakage brings', range(answer.idleGPerWeek, 'g a week')],
    ['Pump energy', range(answer.whPerWeek, 'Wh a week')],
  ]
  return (
    <Entry heading="What it would do">
      <p class="say" role="status">
        {flights
          ? `About ${number(flights.mid, 0)} flights from bake to bake, and dry again ${number(answer.dryDownH?.mid ?? 0, 0)} hours after each.`
          : `About ${number(answer.daysPerFill.mid, 0)} days from bake to bake.`}
      </p>
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

function range(value: Interval | null, unit: string): string | null {
  if (!value) return null
  const digits = value.mid < 10 ? 1 : 0
  const text = `${number(value.mid, digits)} (${number(value.low, digits)} to ${number(value.high, digits)})`
  return unit === '' ? text : `${text} ${unit}`
}
