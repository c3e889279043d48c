/** The storage record of a period: for the owner, the mechanic and the next owner, on paper or as PDF. */
import type { JSX } from 'preact'
import { useRoute } from 'preact-iso'
import { useState } from 'preact/hooks'
import { api } from '../api.ts'
import { markDetail, markName } from '../chart/marks.ts'
import { withoutBefore } from '../chart/series.ts'
import { TimeField } from '../parts/fields.tsx'
import { Entry, Page } from '../parts/page.tsx'
import { Shown, ShownPage, Waiting } from '../parts/states.tsx'
import { useRead } from '../query.ts'
import type { Exposure, Fill, LogEntry, Rig, Trace } from '../shapes.ts'
import { grams, hours, number } from '../units.ts'
import { fullDate, fullMoment, ms, plural, utcDate, zone } from '../when.ts'
import { ExposureTable, exposureClasses } from './rig/exposure.tsx'
import { useFirstDayS } from './rig/first-day.ts'

const dayS = 86_400

/** The record counts whole UTC days, as the analysis keeps them. */
const dateOf = (atS: number): string => new Date(atS * 1000).toISOString().slice(0, 10)
const startOf = (date: string): number => Date.parse(`${date}T00:00:00Z`) / 1000

export function Record(): JSX.Element {
  const id = useRoute().params['rig'] ?? ''
  const read = useRead(api.rig(id), 300)
  return (
    <ShownPage read={read} title="Storage record" what="the rig" back={{ to: `/rigs/${id}`, label: 'Rig' }}>
      {(rig) => <Begun rig={rig} />}
    </ShownPage>
  )
}

/** The period begins with what was heard: until that is known there is none to show. */
function Begun({ rig }: { rig: Rig }): JSX.Element {
  const firstDayS = useFirstDayS(rig.id)
  if (firstDayS !== undefined) return <Sheet rig={rig} firstDayS={firstDayS} />
  return (
    <Page title={`Storage record of ${rig.name}`} back={{ to: `/rigs/${rig.id}`, label: rig.name }}>
      <Waiting what="the record" />
    </Page>
  )
}

function Sheet({ rig, firstDayS }: { rig: Rig; firstDayS: number | null }): JSX.Element {
  const todayS = Math.floor(Date.now() / 1000 / dayS) * dayS
  const [from, setFrom] = useState(dateOf(Math.max(todayS - 365 * dayS, firstDayS ?? 0)))
  const [to, setTo] = useState(dateOf(todayS))
  const fromS = startOf(from)
  const toS = startOf(to) + dayS
  const isPeriod = Number.isFinite(fromS) && Number.isFinite(toS) && toS > fromS
  const nowS = Math.ceil(Date.now() / 1000 / 300) * 300
  const span = { fromS, toS: Math.min(toS, nowS) }
  return (
    <Page
      title={`Storage record of ${rig.name}`}
      back={{ to: `/rigs/${rig.id}`, label: rig.name }}
      lead={isPeriod ? `${utcDate(fromS)} to ${utcDate(toS - dayS)}` : undefined}
    >
      <form class="no-print record-form" onSubmit={(event) => event.preventDefault()}>
        <div class="pair">
          <TimeField kind="date" label="From" value={from} onValue={setFrom} />
          <TimeField kind="date" label="To" value={to} onValue={setTo} />
        </div>
        <p>
          <button type="button" class="main" onClick={() => globalThis.print()}>
            Print, or save as PDF
          </button>
        </p>
      </form>
      {isPeriod ? (
        <Body rig={rig} span={span} firstDayS={firstDayS} />
      ) : (
        <p role="alert">The period ends before it begins.</p>
      )}
    </Page>
  )
}

type BodyProps = { rig: Rig; span: { fromS: number; toS: number }; firstDayS: number | null }

function Body({ rig, span, firstDayS }: BodyProps): JSX.Element {
  const log = useRead(api.logbook(rig.id), 600)
  const fills = useRead(api.fills(rig.id), 600)
  const trace = useRead(api.trace(rig.id, span, 400), 600)
  const isIn = (at: string): boolean => ms(at) / 1000 >= span.fromS && ms(at) / 1000 < span.toS
  return (
    <>
      <Shown read={trace} what="the trace">
        {(value) =>
          value.series.every((one) => one.points.length === 0) ? (
            <Entry heading="Hours at the metal">
              <p>Never heard in this period: nothing is known of it.</p>
            </Entry>
          ) : (
            <>
              <Hours rig={rig} span={span} firstDayS={firstDayS} />
              <Outages gaps={withoutBefore(value, firstDayS).trace.gaps} toS={span.toS} />
            </>
          )
        }
      </Shown>
      <Entry heading="Fills of beads">
        <Shown read={fills} what="the fills">
          {({ items }) => <Fills fills={items} span={span} />}
        </Shown>
      </Entry>
      <Entry heading="Logbook">
        <Shown read={log} what="the logbook">
          {({ items }) => <Log entries={items.filter((entry) => isIn(entry.at)).toReversed()} />}
        </Shown>
      </Entry>
      <Entry heading="What this does not say">
        <p>
          Hours are judged from the air in the crankcase while the pump moves it, and from the hangar’s
          temperature for the metal. Cylinders above the pistons, valves, exhaust and induction are not seen
          at all. The record does not replace the maker’s preservation procedure; approved maintenance data
          and a licensed mechanic decide what is airworthy.
        </p>
        <p class="soft">
          Made {fullDate(Date.now())}; times in {zone.value.replaceAll('_', ' ')}, days counted in UTC.
        </p>
      </Entry>
    </>
  )
}

function Hours({ rig, span, firstDayS }: BodyProps): JSX.Element {
  // What lies before the first reading has a row of its own: the server would count it as not heard.
  const heard = { ...span, fromS: Math.max(span.fromS, Math.min(firstDayS ?? 0, span.toS - 1)) }
  const exposure = useRead(api.exposure(rig.id, heard), 600)
  const beforeS = firstDayS === null ? 0 : Math.min(firstDayS, span.toS) - span.fromS
  return (
    <Entry heading="Hours at the metal">
      <Shown read={exposure} what="the hours">
        {(value) => (
          <>
            <p>{summary(value)}</p>
            {firstDayS !== null && beforeS > 0 && <p>The first reading is of {utcDate(firstDayS)}.</p>}
            {wholeOf(value) > 0 && (
              <div class="keep">
                <ExposureTable hours={value} beforeH={Math.max(0, beforeS / 3600)} />
              </div>
            )}
          </>
        )}
      </Shown>
    </Entry>
  )
}

/** An outage that goes on ends with the period: nobody knows more. */
function Outages({ gaps, toS }: { gaps: Trace['gaps']; toS: number }): JSX.Element {
  return (
    <Entry heading="Outages" aside={<p>nothing heard: unknown, never counted as dry</p>}>
      {gaps.length === 0 ? (
        <p>None of note.</p>
      ) : (
        <ul class="plain">
          {gaps.map((gap) => (
            <li key={gap.from}>
              {fullMoment(ms(gap.from))} to{' '}
              {ms(gap.to) / 1000 < toS ? fullMoment(ms(gap.to)) : 'the end of the period'},{' '}
              {hours((ms(gap.to) - ms(gap.from)) / 3_600_000)}
            </li>
          ))}
        </ul>
      )}
    </Entry>
  )
}

function wholeOf(value: Exposure): number {
  return exposureClasses.reduce((sum, one) => sum + value[one.key], 0)
}

function summary(value: Exposure): string {
  const whole = wholeOf(value)
  const known = whole - value.gapsH - value.offH
  if (whole === 0) return 'No closed day in this period yet.'
  const share = known > 0 ? number((value.under40 / known) * 100, 0) : '0'
  return `${number(whole, 0)} hours, of which ${number(known, 0)} known; ${share}\u202f% of the known hours under 40\u202f%. ${number(
    value.gapsH,
    0,
  )} hours nothing was heard.`
}

function Fills({ fills, span }: { fills: Fill[]; span: { fromS: number; toS: number } }): JSX.Element {
  const shown = fills.filter(
    (fill) => ms(fill.from) / 1000 < span.toS && (fill.to === null || ms(fill.to) / 1000 > span.fromS),
  )
  if (shown.length === 0) return <p>No bake or change of beads is entered.</p>
  return (
    <ul class="plain">
      {shown.map((fill) => (
        <li key={fill.from}>
          {fullDate(ms(fill.from))} to {fill.to === null ? 'now' : fullDate(ms(fill.to))}
          {fill.jar && `, jar ${fill.jar}`}
          {fill.bakeTempC !== null && `, baked at ${fill.bakeTempC}\u202f°C`},{' '}
          {plural(fill.flights, 'flight')}
          {fill.forecast.takenUpG && `, about ${grams(fill.forecast.takenUpG.mid)} of water taken up`}
        </li>
      ))}
    </ul>
  )
}

function Log({ entries }: { entries: LogEntry[] }): JSX.Element {
  if (entries.length === 0) return <p>Nothing entered in this period.</p>
  const flights = entries.filter((entry) => entry.what === 'flight').length
  return (
    <>
      <p>{plural(flights, 'flight')} entered.</p>
      <table>
        <thead>
          <tr>
            <th scope="col">When</th>
            <th scope="col" class="text">
              What
            </th>
          </tr>
        </thead>
        <tbody>
          {entries.map((entry) => (
            <tr key={entry.id}>
              <th scope="row">{fullMoment(ms(entry.at))}</th>
              <td class="text">
                {markName(entry.what)}
                {markDetail(entry) && `, ${markDetail(entry)}`}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </>
  )
}
