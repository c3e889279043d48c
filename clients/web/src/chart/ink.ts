/** Everything of the strip that is not a line: the channel, spans of alerts, gaps, the run ribbon and the marks. */
import type uPlot from 'uplot'
import type { Mark, Run } from '../shapes.ts'
import { ms } from '../when.ts'
import type { Column } from './series.ts'

export type Palette = {
  ink: string
  soft: string
  line: string
  edge: string
  channel: string
  accent: string
  sheet: string
  other: string
}

/** The colours live in the style sheet alone; the canvas asks for them each time it draws. */
export function palette(element: Element): Palette {
  const style = getComputedStyle(element)
  const of = (name: string): string => style.getPropertyValue(`--${name}`).trim()
  return {
    ink: of('ink'),
    soft: of('soft'),
    line: of('line'),
    edge: of('edge'),
    channel: of('channel'),
    accent: of('accent'),
    sheet: of('sheet'),
    other: of('other'),
  }
}

export type Overlay = {
  band: { start: number; stop: number } | null
  bandStart: Column
  bandStop: Column
  gaps: { from: string; to: string }[]
  /** Where the first reading of all lies in view: what is before it is blank paper, no gap. */
  firstAt: string | null
  runs: Run[]
  marks: Mark[]
  spans: { from: string; to: string | null; isUrgent: boolean }[]
}

const x = (u: uPlot, atMs: number): number => u.valToPos(atMs / 1000, 'x', true)
const clampX = (u: uPlot, at: number): number =>
  Math.min(Math.max(at, u.bbox.left), u.bbox.left + u.bbox.width)

function stretch(u: uPlot, from: string, to: string | null): [number, number] | null {
  const left = clampX(u, x(u, ms(from)))
  const right = clampX(u, to === null ? u.bbox.left + u.bbox.width : x(u, ms(to)))
  return right > left ? [left, right] : null
}

/** The band, with the two limits as lines: its ground alone is too near to the sheet to be told from it. */
export function drawChannel(u: uPlot, overlay: Overlay, colours: Palette): void {
  const { ctx, bbox } = u
  ctx.save()
  ctx.fillStyle = colours.channel
  ctx.strokeStyle = colours.edge
  ctx.lineWidth = devicePixelRatio
  ctx.beginPath()
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height)
  ctx.clip()
  if (overlay.band) {
    const top = Math.round(u.valToPos(overlay.band.start, 'y', true))
    const bottom = Math.round(u.valToPos(overlay.band.stop, 'y', true))
    ctx.fillRect(bbox.left, top, bbox.width, bottom - top)
    ctx.beginPath()
    for (const at of [top, bottom]) {
      ctx.moveTo(bbox.left, at + 0.5)
      ctx.lineTo(bbox.left + bbox.width, at + 0.5)
    }
    ctx.stroke()
  } else drawMovingChannel(u, overlay)
  ctx.restore()
}

/** In frost point or g/m3 the band moves with the temperature: a ribbon, broken where the trace is. */
function drawMovingChannel(u: uPlot, { bandStart, bandStop }: Overlay): void {
  const { ctx } = u
  const times = u.data[0]
  let piece: number[] = []
  const along = (indices: number[], limit: Column): void => {
    for (const i of indices)
      ctx.lineTo(u.valToPos(times[i] ?? 0, 'x', true), u.valToPos(limit[i] ?? 0, 'y', true))
  }
  const close = (): void => {
    if (piece.length > 1) {
      ctx.beginPath()
      along(piece, bandStart)
      along(piece.toReversed(), bandStop)
      ctx.closePath()
      ctx.fill()
      for (const limit of [bandStart, bandStop]) {
        ctx.beginPath()
        along(piece, limit)
        ctx.stroke()
      }
    }
    piece = []
  }
  bandStart.forEach((value, i) => {
    if (value === null) close()
    else if (value !== undefined) piece.push(i)
  })
  close()
}

/** On the axis a moving band has no place for its limits: they stand at its newest end in view. */
export function drawLimits(
  u: uPlot,
  { band, bandStart, bandStop }: Overlay,
  limits: string[],
  ink: Palette,
): void {
  if (band) return
  const { ctx, bbox } = u
  const dot = devicePixelRatio
  const right = bbox.left + bbox.width
  const last = bandStart.findLastIndex(
    (v, i) => typeof v === 'number' && x(u, (u.data[0][i] ?? 0) * 1000) <= right,
  )
  if (last < 0) return
  ctx.save()
  ctx.font = `${13 * dot}px "Source Sans 3", system-ui, sans-serif`
  ctx.textAlign = 'right'
  ctx.lineJoin = 'round'
  ctx.lineWidth = 4 * dot
  ctx.strokeStyle = ink.sheet
  ctx.fillStyle = ink.soft
  for (const [i, limit] of [bandStart, bandStop].entries()) {
    const at = u.valToPos(limit[last] ?? 0, 'y', true) + (i === 0 ? -5 : 5) * dot
    ctx.textBaseline = i === 0 ? 'bottom' : 'top'
    ctx.strokeText(limits[i] ?? '', right - 4 * dot, at)
    ctx.fillText(limits[i] ?? '', right - 4 * dot, at)
  }
  ctx.restore()
}

export function drawSpans(u: uPlot, overlay: Overlay, colours: Palette): void {
  const { ctx, bbox } = u
  const dot = devicePixelRatio
  ctx.save()
  for (const span of overlay.spans) {
    const found = stretch(u, span.from, span.to)
    if (!found) continue
    const [left, right] = found
    ctx.fillStyle = span.isUrgent ? colours.accent : colours.soft
    ctx.globalAlpha = span.isUrgent ? 0.1 : 0.07
    ctx.fillRect(left, bbox.top, right - left, bbox.height)
    ctx.globalAlpha = 1
    ctx.fillRect(left, bbox.top, right - left, (span.isUrgent ? 3 : 1.5) * dot)
  }
  ctx.restore()
}

/** A gap is drawn as ruled-out paper, so that nobody takes it for dry. */
export function drawGaps(u: uPlot, overlay: Overlay, colours: Palette): void {
  const { ctx, bbox } = u
  const step = 8 * devicePixelRatio
  ctx.save()
  ctx.strokeStyle = colours.edge
  ctx.lineWidth = devicePixelRatio
  for (const gap of overlay.gaps) {
    const found = stretch(u, gap.from, gap.to)
    if (!found) continue
    const [left, right] = found
    ctx.save()
    ctx.beginPath()
    ctx.rect(left, bbox.top, right - left, bbox.height)
    ctx.clip()
    ctx.beginPath()
    for (let at = left - bbox.height; at < right; at += step) {
      ctx.moveTo(at, bbox.top + bbox.height)
      ctx.lineTo(at + bbox.height, bbox.top)
    }
    ctx.stroke()
    ctx.restore()
  }
  ctx.restore()
}

const firstWords = 'before the first reading'

/** Nothing was expected before the first reading: that is said on blank paper, where it has room. */
export function drawBefore(u: uPlot, firstAt: string | null, colours: Palette): void {
  if (firstAt === null) return
  const { ctx, bbox } = u
  const dot = devicePixelRatio
  const right = clampX(u, x(u, ms(firstAt)))
  ctx.save()
  ctx.fillStyle = colours.sheet
  ctx.fillRect(bbox.left, bbox.top, right - bbox.left, bbox.height)
  ctx.font = `${13 * dot}px "Source Sans 3", system-ui, sans-serif`
  if (ctx.measureText(firstWords).width < right - bbox.left - 8 * dot) {
    ctx.fillStyle = colours.soft
    ctx.textAlign = 'center'
    ctx.textBaseline = 'middle'
    ctx.fillText(firstWords, (bbox.left + right) / 2, bbox.top + bbox.height / 2)
  }
  ctx.restore()
}

/** Runs under the plot: solid where the pump was reported or metered, hollow where it is only inferred from the band. */
export function drawRibbon(
  u: uPlot,
  runs: Run[],
  colours: Palette,
  offsetPx: number,
  heightPx: number,
): void {
  const { ctx, bbox } = u
  const dot = devicePixelRatio
  const top = bbox.top + bbox.height + offsetPx * dot
  ctx.save()
  ctx.fillStyle = colours.ink
  ctx.strokeStyle = colours.ink
  ctx.lineWidth = dot
  for (const run of runs) {
    const found = stretch(u, run.from, run.to)
    if (!found) continue
    const [left, right] = found
    const width = Math.max(right - left, 1.5 * dot)
    if (run.basis === 'inferred') ctx.strokeRect(left + dot / 2, top + dot / 2, width, heightPx * dot - dot)
    else ctx.fillRect(left, top, width, heightPx * dot)
  }
  ctx.restore()
}

/** Words on the marks, only where there is room; the table under the chart has them all. */
export function drawMarks(u: uPlot, marks: Mark[], colours: Palette, label: (mark: Mark) => string): void {
  const { ctx, bbox } = u
  const dot = devicePixelRatio
  let freeFrom = bbox.left
  ctx.save()
  ctx.strokeStyle = colours.soft
  ctx.fillStyle = colours.soft
  ctx.lineWidth = dot
  ctx.font = `${12 * dot}px "Source Sans 3", system-ui, sans-serif`
  ctx.textBaseline = 'top'
  ctx.textAlign = 'left'
  for (const mark of marks) {
    const at = x(u, ms(mark.at))
    if (at < bbox.left || at > bbox.left + bbox.width) continue
    ctx.setLineDash([1.5 * dot, 3 * dot])
    ctx.beginPath()
    ctx.moveTo(at, bbox.top)
    ctx.lineTo(at, bbox.top + bbox.height)
    ctx.stroke()
    const text = label(mark)
    const width = ctx.measureText(text).width
    const isLeft = at + 6 * dot + width > bbox.left + bbox.width
    const from = isLeft ? at - 4 * dot - width : at + 4 * dot
    if (from < freeFrom) continue
    ctx.fillStyle = colours.sheet
    ctx.fillRect(from - 2 * dot, bbox.top + 4 * dot, width + 4 * dot, 16 * dot)
    ctx.fillStyle = colours.soft
    ctx.fillText(text, from, bbox.top + 6 * dot)
    freeFrom = from + width + 8 * dot
  }
  ctx.restore()
}
