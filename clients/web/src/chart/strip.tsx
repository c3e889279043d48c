/** The strip chart: trace in its channel, runs under it, marks and alerts on it, and the values under a finger or a key. */
import type uPlot from 'uplot'
import { PLACES } from '../../../../src/core/fold/inputs.ts'
import { useEffect, useMemo, useRef, useState } from 'preact/hooks'
import type { JSX } from 'preact'
import type { Alert, Place, Run, Trace } from '../shapes.ts'
import { temperature } from '../units.ts'
import { moment, ms, zone } from '../when.ts'
import { limitView, listen, moved, zoomed, type View } from './gestures.ts'
import type { Overlay } from './ink.ts'
import { markLabel } from './marks.ts'
import { buildPlot } from './plot.ts'
import { shown, valueOf, type Quantity } from './quantity.ts'
import { columnsOf, mainPlace, nearestIndex, type Columns } from './series.ts'

/** In general, for choices and keys; what the return sensor is in at an instant depends on the pump. */
export const placeNames: Record<Place, string> = {
  return: 'air from the engine',
  supply: 'air from the beads',
  ambient: 'hangar air',
  engine: 'air in the engine',
}

export type StripProps = {
  trace: Trace
  band: { start: number; stop: number }
  quantity: Quantity
  alerts: Alert[]
  /** Where the sensor of the return air sits. */
  sits: 'box' | 'engine'
  /** Where what is drawn begins with the first reading of all; its gap before that is not among the trace's. */
  firstAt: string | null
  view: View
  newestS: number
  onView: (view: View) => void
  /** What the strip shows, for those who cannot see it. */
  label: string
}

export function Strip(props: StripProps): JSX.Element {
  const host = useRef<HTMLDivElement>(null)
  const plot = useRef<uPlot | null>(null)
  const live = useRef(props)
  live.current = props
  const [readAtS, setReadAtS] = useState<number | null>(null)
  const columns = useMemo(
    () => columnsOf(props.trace, props.quantity, props.band),
    [props.trace, props.quantity, props.band.start, props.band.stop, zone.value],
  )
  const show = (view: View): void => live.current.onView(limitView(view, live.current.newestS))

  useEffect(() => {
    const element = host.current
    if (!element) return undefined
    const made = buildPlot({
      host: element,
      columns,
      overlay: overlayOf(live.current, columns),
      quantity: props.quantity,
      mainPlace: mainPlace(props.trace),
      view: live.current.view,
      heightPx: plotHeight(element.clientWidth),
      limitsPct: live.current.band,
      isSmall: false,
    })
    plot.current = made
    made.setScale('x', { min: live.current.view.fromS, max: live.current.view.toS })
    const stop = listen({ u: made, view: () => live.current.view, show, read: setReadAtS })
    const stopFollowing = follow(element, made)
    return () => {
      stop()
      stopFollowing()
      made.destroy()
      plot.current = null
    }
  }, [columns, props.alerts])

  const { fromS, toS } = props.view
  useEffect(() => plot.current?.setScale('x', { min: fromS, max: toS }), [fromS, toS])
  const isRead = readAtS !== null && readAtS >= fromS && readAtS <= toS
  const index = isRead ? nearestIndex(columns, readAtS) : null
  useEffect(() => {
    const u = plot.current
    if (!u) return
    const atS = index === null ? undefined : columns.atS[index]
    // Off the plot is uPlot's way to say that there is no cursor.
    u.setCursor(atS === undefined ? { left: -10, top: -10 } : { left: u.valToPos(atS, 'x'), top: 0 })
  }, [index, columns, fromS, toS, props.alerts])

  const onKeyDown = (event: KeyboardEvent): void => {
    const step = keyStep(event, { columns, index, view: props.view, newestS: props.newestS })
    if (!step) return
    event.preventDefault()
    if ('atS' in step) setReadAtS(step.atS)
    else show(step)
  }
  return (
    <div class="strip">
      <Readout columns={columns} index={index} props={props} />
      <div
        class="strip-plot"
        ref={host}
        tabIndex={0}
        role="group"
        aria-roledescription="strip chart"
        aria-label={`${props.label} Arrow keys read values, shift with arrows moves, plus and minus zoom.`}
        onKeyDown={onKeyDown}
      />
    </div>
  )
}

export function plotHeight(widthPx: number): number {
  return Math.round(Math.min(400, Math.max(280, widthPx * 0.5)))
}

/** Size with the page, colours with the system. */
function follow(element: HTMLElement, u: uPlot): () => void {
  const sizes = new ResizeObserver(() => {
    if (element.clientWidth > 0 && element.clientWidth !== u.width)
      u.setSize({ width: element.clientWidth, height: plotHeight(element.clientWidth) })
  })
  sizes.observe(element)
  const dark = matchMedia('(prefers-color-scheme: dark)')
  const onScheme = (): void => u.redraw()
  dark.addEventListener('change', onScheme)
  // The canvas was measured with a fallback face if the fonts came later.
  void document.fonts.ready.then(() => u.redraw(false, true))
  return () => {
    sizes.disconnect()
    dark.removeEventListener('change', onScheme)
  }
}

function overlayOf(props: StripProps, columns: Columns): Overlay {
  return {
    band: props.quantity === 'humidity' ? props.band : null,
    bandStart: columns.bandStart,
    bandStop: columns.bandStop,
    gaps: props.trace.gaps,
    firstAt: props.firstAt,
    runs: props.trace.runs,
    marks: props.trace.marks,
    spans: props.alerts
      .filter((alert) => alert.urgency !== 'note')
      .map((alert) => ({ from: alert.since, to: alert.overAt, isUrgent: alert.urgency === 'now' })),
  }
}

type KeyState = { columns: Columns; index: number | null; view: View; newestS: number }

/** Arrows walk over samples, with shift they move the window; + and - zoom; Home and End go to the ends. */
function keyStep(event: KeyboardEvent, state: KeyState): View | { atS: number } | null {
  const { columns, view } = state
  const wideS = view.toS - view.fromS
  const direction = event.key === 'ArrowLeft' ? -1 : event.key === 'ArrowRight' ? 1 : 0
  if (direction !== 0 && event.shiftKey) return moved(view, direction * wideS * 0.25)
  if (direction !== 0) {
    let next = (state.index ?? columns.atS.length) + direction
    while (next >= 0 && next < columns.atS.length && !columns.samples.has(columns.atS[next] ?? 0))
      next += direction
    const atS = columns.atS[next]
    return atS === undefined ? null : { atS }
  }
  if (event.key === '+' || event.key === '=') return zoomed(view, 0.5, (view.fromS + view.toS) / 2)
  if (event.key === '-') return zoomed(view, 2, (view.fromS + view.toS) / 2)
  if (event.key === 'End') return { fromS: state.newestS - wideS, toS: state.newestS }
  const firstS = columns.atS[0]
  if (event.key === 'Home' && firstS !== undefined) return { atS: firstS }
  return null
}

/** At rest no air comes from the engine: a sensor in the box then tells of the air beside the pump. */
export function returnAt(run: Run | undefined, sits: 'box' | 'engine'): string {
  const inferred = run?.basis === 'inferred' ? ' (inferred from the band)' : ''
  const pump = run ? `pump on${inferred}` : 'at rest'
  if (sits === 'engine') return `air in the engine, ${pump}`
  return run ? `air from the engine, ${pump}` : 'air beside the pump, at rest'
}

function Readout(given: { columns: Columns; index: number | null; props: StripProps }): JSX.Element {
  const { columns, index, props } = given
  const lastIndex = columns.atS.findLastIndex((at) => columns.samples.has(at))
  const at = columns.atS[index ?? lastIndex]
  const sample = at === undefined ? undefined : columns.samples.get(at)
  if (at === undefined || !sample) return <p class="readout">No reading in this window.</p>
  const run = props.trace.runs.find((one) => ms(one.from) <= at * 1000 && at * 1000 <= ms(one.to))
  const said = PLACES.flatMap((place) => {
    const one = sample[place]
    if (!one) return []
    const value = valueOf(props.quantity, one.humidity, one.temperature)
    if (value === null) return []
    const warm = one.temperature === null ? '' : ` at ${temperature(one.temperature)}`
    return [
      {
        name: place === 'return' ? returnAt(run, props.sits) : placeNames[place],
        text: `${shown(props.quantity, value)}${warm}`,
      },
    ]
  })
  const wide = (props.view.toS - props.view.fromS) / 600
  const marks = props.trace.marks.filter(
    (mark) => Math.abs(ms(mark.at) / 1000 - at) < Math.max(wide, 300) * 6,
  )
  return (
    <p class="readout" role="status">
      <span class="readout-when">{moment(at * 1000)}</span>
      {said.map((one) => (
        <span key={one.name}>
          <b>{one.text}</b> {one.name}
        </span>
      ))}
      {!sample.return && <span>{run ? 'pump on' : 'pump at rest'}</span>}
      {index !== null && marks.slice(0, 1).map((mark) => <span key={mark.at}>{markLabel(mark)}</span>)}
    </p>
  )
}
