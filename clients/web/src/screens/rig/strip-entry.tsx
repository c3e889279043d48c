/** The strip with its switches: how long, which quantity, and the window that hands and keys move. */
import type { JSX } from 'preact'
import { useEffect, useMemo, useState } from 'preact/hooks'
import { api } from '../../api.ts'
import { limitView, type View } from '../../chart/gestures.ts'
import { quantities, type Quantity } from '../../chart/quantity.ts'
import { leadOf, mainPlace, withoutBefore } from '../../chart/series.ts'
import { placeNames, Strip } from '../../chart/strip.tsx'
import { TraceTable } from '../../chart/trace-table.tsx'
import { Tabs } from '../../parts/fields.tsx'
import { Shown } from '../../parts/states.tsx'
import { useRead } from '../../query.ts'
import type { Place, Rig, Trace } from '../../shapes.ts'
import { moment } from '../../when.ts'
import { endS } from '../rigs.tsx'
import { historyS } from './alert-history.tsx'
import { useFirstDayS } from './first-day.ts'

const dayS = 86_400
type Span = 'day' | 'week' | 'month' | 'year' | 'all'
const spans: readonly { key: Span; label: string }[] = [
  { key: 'day', label: 'Day' },
  { key: 'week', label: 'Week' },
  { key: 'month', label: 'Month' },
  { key: 'year', label: 'Year' },
  { key: 'all', label: 'All' },
]
const spanS: Record<Span, number> = {
  day: dayS,
  week: 7 * dayS,
  month: 31 * dayS,
  year: 366 * dayS,
  all: 10 * 366 * dayS,
}
/** No more is ever downloaded for one series; a wide screen has fewer pixels. */
const pointsMax = 2000
/** Windows asked for are rounded and a good deal wider than what is shown, so that moving does not ask at each step. */
const settleMs = 250

export function StripEntry({ rig }: { rig: Rig }): JSX.Element {
  const newestS = endS()
  const [span, setSpan] = useState<Span | null>('week')
  const [quantity, setQuantity] = useState<Quantity>('humidity')
  const [view, setView] = useState<View>({ fromS: newestS - spanS.week, toS: newestS })
  const asked = useSettled(view, newestS)
  const read = useRead(api.trace(rig.id, asked, pointsMax))
  const [last, setLast] = useState<Trace | null>(null)
  useEffect(() => {
    if (read.value) setLast(read.value)
  }, [read.value])
  // All of them: a year's strip without its older alerts would read as a year without any.
  const alerts = useRead(api.alertsOf(rig.id), historyS)
  const alertItems = useMemo(() => alerts.value?.items ?? [], [alerts.value])
  const choose = (next: Span): void => {
    setSpan(next)
    setView({ fromS: newestS - spanS[next], toS: newestS })
  }
  useWholeLife(span, read.value, newestS, setView)
  // While a moved window is being asked for, the former trace stays: a blank strip would read as a gap.
  const whole = read.value ?? last
  const [also, setAlso] = useState<readonly Place[]>([])
  const firstDayS = useFirstDayS(rig.id, whole ? leadOf(whole) !== null : false) ?? null
  const drawn = useMemo(
    () => (whole ? withoutBefore(withPlaces(whole, also), firstDayS) : null),
    [whole, also, firstDayS],
  )
  return (
    <section class="strip-entry" aria-label="Strip chart">
      <div class="strip-bar">
        <Tabs label="How long" options={spans} value={span} onValue={choose} />
        <Tabs label="Shown as" options={quantities} value={quantity} onValue={setQuantity} />
      </div>
      <Shown read={{ ...read, value: drawn ?? undefined }} what="the trace">
        {({ trace: value, firstAt }) =>
          value.series.every((one) => one.points.length === 0) ? (
            <p class="waiting">
              No reading from {moment(view.fromS * 1000)} to {moment(view.toS * 1000)}.
            </p>
          ) : (
            <>
              <Strip
                trace={value}
                band={rig.settings.band}
                quantity={quantity}
                alerts={alertItems}
                firstAt={firstAt}
                sits={rig.settings.sensorSits ?? 'box'}
                view={view}
                newestS={newestS}
                onView={(next) => {
                  setSpan(null)
                  setView(next)
                }}
                label={`${rig.name}, ${moment(view.fromS * 1000)} to ${moment(view.toS * 1000)}.`}
              />
              {whole && <OtherPlaces trace={whole} also={also} onAlso={setAlso} />}
              <p class="key">{keyText(value, rig)}</p>
              <TraceTable trace={value} firstAt={firstAt} view={view} />
            </>
          )
        }
      </Shown>
    </section>
  )
}

/** The other places take the axis to 100 % and the band its room: they are drawn when asked for. */
function withPlaces(trace: Trace, also: readonly Place[]): Trace {
  const main = mainPlace(trace)
  return { ...trace, series: trace.series.filter(({ place }) => place === main || also.includes(place)) }
}

type OtherProps = { trace: Trace; also: readonly Place[]; onAlso: (also: Place[]) => void }

function OtherPlaces({ trace, also, onAlso }: OtherProps): JSX.Element | null {
  const main = mainPlace(trace)
  const others = trace.series.map((one) => one.place).filter((place) => place !== main)
  if (others.length === 0) return null
  return (
    <div class="tabs" role="group" aria-label="Also show">
      {others.map((place) => {
        const isOn = also.includes(place)
        const next = isOn ? also.filter((one) => one !== place) : [...also, place]
        return (
          <button key={place} type="button" aria-pressed={isOn} onClick={() => onAlso([...next])}>
            Also the {placeNames[place]}
          </button>
        )
      })}
    </div>
  )
}

function keyText(trace: Trace, rig: Rig): string {
  const { start, stop } = rig.settings.band
  const others = trace.series.map((one) => one.place).filter((place) => place !== 'return')
  const dashed = others.length > 0 ? ` Dashed: ${others.map((place) => placeNames[place]).join(', ')}.` : ''
  return `The channel is the band, ${stop} to ${start} %. Bars under the strip: pump runs. Ruled out: nothing heard.${dashed}`
}

/** The window to ask for: what is shown and as much again, rounded, once the hand has come to rest. */
function useSettled(view: View, newestS: number): View {
  const [asked, setAsked] = useState<View>(() => widened(view, newestS))
  useEffect(() => {
    const isCovered = view.fromS >= asked.fromS && view.toS <= Math.max(asked.toS, newestS)
    const wideS = view.toS - view.fromS
    const isFineEnough = asked.toS - asked.fromS <= wideS * 3.5
    if (isCovered && isFineEnough) return undefined
    const timer = setTimeout(() => setAsked(widened(view, newestS)), settleMs)
    return () => clearTimeout(timer)
  }, [view.fromS, view.toS, newestS])
  return asked
}

function widened(view: View, newestS: number): View {
  const wideS = view.toS - view.fromS
  const stepS = wideS > 40 * dayS ? dayS : 300
  const fromS = Math.max(0, view.fromS - wideS * 0.5)
  const toS = Math.min(newestS, view.toS + wideS * 0.5)
  return { fromS: Math.floor(fromS / stepS) * stepS, toS: Math.ceil(toS / stepS) * stepS }
}

/** "All" begins where the first reading is, once that is known. */
function useWholeLife(
  span: Span | null,
  trace: Trace | undefined,
  newestS: number,
  setView: (view: View) => void,
): void {
  useEffect(() => {
    if (span !== 'all' || !trace) return
    const starts = trace.series.flatMap((one) =>
      one.points.slice(0, 1).map((point) => Date.parse(point.at) / 1000),
    )
    if (starts.length === 0) return
    const fromS = Math.min(...starts)
    setView(limitView({ fromS: fromS - (newestS - fromS) * 0.02, toS: newestS }, newestS))
  }, [span, trace])
}
