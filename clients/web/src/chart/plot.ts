/** Builds the uPlot chart of a strip: scales, axes and the order in which things are inked. */
import uPlot from 'uplot'
import type { Place } from '../shapes.ts'
import { clock, day, fullDate, shortDate, zone } from '../when.ts'
import {
  drawBefore,
  drawChannel,
  drawGaps,
  drawLimits,
  drawMarks,
  drawRibbon,
  drawSpans,
  palette,
  type Overlay,
} from './ink.ts'
import { markLabel } from './marks.ts'
import { axisRange, axisTicks, isSquareRoot, limitText, tick, withLimits, type Quantity } from './quantity.ts'
import { extent, type Columns } from './series.ts'
import type { View } from './gestures.ts'

const ribbonGapPx = 9
const ribbonPx = 7
const daySpanS = 86_400

export type PlotParts = {
  host: HTMLElement
  columns: Columns
  overlay: Overlay
  quantity: Quantity
  mainPlace: Place
  view: View
  heightPx: number
  /** The two limits as they are set, % RH, whatever they are drawn as. */
  limitsPct: { start: number; stop: number }
  /** A small strip in a list: no axes, no marks, no hands. */
  isSmall: boolean
}

/** Only the place that drives the band is solid; the others are told apart by dashes, not by hue alone. */
const dashes: Record<Place, number[]> = { return: [], supply: [2, 3], ambient: [7, 4], engine: [1, 4] }

export function buildPlot(parts: PlotParts): uPlot {
  const { host, columns, overlay, isSmall } = parts
  const { start, stop } = parts.limitsPct
  const ink = (): ReturnType<typeof palette> => palette(host)
  const data: uPlot.AlignedData = [
    columns.atS,
    columns.high,
    columns.low,
    ...columns.places.map((one) => one.values),
  ]
  const options: uPlot.Options = {
    width: Math.max(host.clientWidth, 100),
    height: parts.heightPx,
    legend: { show: false },
    cursor: { show: !isSmall, y: false, drag: { x: false, y: false }, points: { size: 8 } },
    padding: isSmall ? [2, 0, 14, 0] : [14, 8, 0, 0],
    tzDate: (atS) => uPlot.tzDate(new Date(atS * 1000), zone.value),
    scales: scalesOf(parts),
    axes: isSmall ? [{ show: false }, { show: false }] : axesOf(parts, ink),
    bands: [{ series: [1, 2], fill: () => shade(ink().ink, 0.16) }],
    series: seriesOf(parts, ink),
    hooks: {
      drawClear: [
        (u) => {
          drawChannel(u, overlay, ink())
          drawGaps(u, overlay, ink())
          if (!isSmall) drawSpans(u, overlay, ink())
        },
      ],
      draw: [
        (u) => {
          drawBefore(u, overlay.firstAt, ink())
          if (!isSmall) drawLimits(u, overlay, [start, stop].map(limitText), ink())
          drawRibbon(u, overlay.runs, ink(), isSmall ? 6 : ribbonGapPx, isSmall ? 4 : ribbonPx)
          if (!isSmall) drawMarks(u, overlay.marks, ink(), markLabel)
        },
      ],
    },
  }
  return new uPlot(options, data, host)
}

function scalesOf({ columns, quantity, view, overlay }: PlotParts): uPlot.Scales {
  const found = extent([
    columns.low,
    columns.high,
    columns.bandStart,
    columns.bandStop,
    ...columns.places.map((one) => one.values),
  ])
  const [low, high] = found ?? (overlay.band ? [overlay.band.stop, overlay.band.start] : [0, 20])
  const y: uPlot.Scale = { range: axisRange(quantity, low, high) }
  if (isSquareRoot(quantity)) {
    // 100 is uPlot's word for a scale given by its two functions.
    // oxlint-disable-next-line typescript/no-unsafe-enum-assignment
    y.distr = 100
    y.fwd = (v) => Math.sqrt(Math.max(v, 0))
    y.bwd = (v) => v * v
  }
  return { x: { time: true, range: (_u, min, max) => [min ?? view.fromS, max ?? view.toS] }, y }
}

function seriesOf({ columns, mainPlace }: PlotParts, ink: () => ReturnType<typeof palette>): uPlot.Series[] {
  const edge: uPlot.Series = { stroke: 'transparent', width: 0, points: { show: false } }
  return [
    {},
    edge,
    edge,
    ...columns.places.map(({ place }): uPlot.Series => {
      const isMain = place === mainPlace
      return {
        label: place,
        stroke: () => (isMain ? ink().ink : ink().other),
        width: isMain ? 1.6 : 1.2,
        dash: dashes[place],
        points: { show: false },
      }
    }),
  ]
}

/** Ribbon and times under the plot and the room over it, px: the rest of its height is the axis. */
const aroundPx = 48 + 14

function axesOf(
  { quantity, overlay, heightPx }: PlotParts,
  ink: () => ReturnType<typeof palette>,
): uPlot.Axis[] {
  const font = '13px "Source Sans 3", system-ui, sans-serif'
  const limits = overlay.band ? [overlay.band.stop, overlay.band.start] : []
  return [
    {
      stroke: () => ink().soft,
      font,
      size: 48,
      gap: ribbonGapPx + ribbonPx + 4,
      space: 76,
      grid: { stroke: () => ink().line, width: 1, dash: [1, 4] },
      ticks: { show: false },
      values: (_u, splits, _axis, _space, stepS) => splits.map((atS) => timeLabel(atS * 1000, stepS)),
    },
    {
      stroke: () => ink().soft,
      font,
      size: quantity === 'frost' ? 56 : 46,
      gap: 6,
      // The limits have their own lines, under the trace and stronger than these.
      grid: {
        stroke: () => ink().line,
        width: 1,
        filter: (_u, splits) => splits.map((value) => (limits.includes(value) ? null : value)),
      },
      ticks: { show: false },
      splits: (_u, _axis, low, high) => {
        const ticks = axisTicks(quantity, low, high)
        return limits.length === 0
          ? ticks
          : withLimits(ticks, limits, { low, high, heightPx: heightPx - aroundPx })
      },
      // All of them are labelled: uPlot would thin an uneven scale as if it were logarithmic.
      filter: (_u, splits) => splits,
      values: (_u, splits) => splits.map((value) => tick(quantity, value)),
    },
  ]
}

function timeLabel(atMs: number, stepS: number): string {
  if (stepS >= 28 * daySpanS) return fullDate(atMs).split(' ').slice(1).join(' ')
  if (stepS >= daySpanS) return shortDate(atMs)
  return clock(atMs) === '00:00' ? day(atMs).replace(/ \w+$/, '') : clock(atMs)
}

/** A hex colour made thin. */
function shade(hex: string, alpha: number): string {
  const byte = Math.round(alpha * 255)
    .toString(16)
    .padStart(2, '0')
  return /^#[\da-f]{6}$/i.test(hex) ? `${hex}${byte}` : hex
}
