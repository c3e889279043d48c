/** Seven days of a rig in a line of a list: the same ink, without axes or hands. */
import { useEffect, useRef } from 'preact/hooks'
import type { JSX } from 'preact'
import type { Trace } from '../shapes.ts'
import { buildPlot } from './plot.ts'
import { columnsOf, mainPlace } from './series.ts'
import type { View } from './gestures.ts'

const heightPx = 76

type Props = {
  trace: Trace
  /** Where what is drawn begins with the first reading of all; its gap before that is not among the trace's. */
  firstAt: string | null
  band: { start: number; stop: number }
  view: View
  label: string
}

export function SmallStrip({ trace, firstAt, band, view, label }: Props): JSX.Element {
  const host = useRef<HTMLDivElement>(null)
  useEffect(() => {
    const element = host.current
    if (!element) return undefined
    const place = mainPlace(trace)
    const only = { ...trace, series: trace.series.filter((one) => one.place === place) }
    const columns = columnsOf(only, 'humidity', band)
    const { bandStart, bandStop } = columns
    const { gaps, runs } = trace
    const overlay = { band, bandStart, bandStop, gaps, firstAt, runs, marks: [], spans: [] }
    const made = buildPlot({
      host: element,
      columns,
      overlay,
      quantity: 'humidity',
      mainPlace: place,
      view,
      heightPx,
      limitsPct: band,
      isSmall: true,
    })
    made.setScale('x', { min: view.fromS, max: view.toS })
    const sizes = new ResizeObserver(() => {
      if (element.clientWidth > 0 && element.clientWidth !== made.width)
        made.setSize({ width: element.clientWidth, height: heightPx })
    })
    sizes.observe(element)
    const dark = matchMedia('(prefers-color-scheme: dark)')
    const onScheme = (): void => made.redraw()
    dark.addEventListener('change', onScheme)
    return () => {
      sizes.disconnect()
      dark.removeEventListener('change', onScheme)
      made.destroy()
    }
  }, [trace, firstAt, band.start, band.stop, view.fromS, view.toS])
  return <div class="small-strip" ref={host} role="img" aria-label={label} />
}
