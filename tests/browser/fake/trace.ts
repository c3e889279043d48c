/** Answers to `/trace` for the screens' tests: a saw-tooth in its band, with whatever the story adds to it. */
import type { Run, Trace, TracePoint } from '../../../clients/web/src/shapes.ts'

export const iso = (atS: number): string => `${new Date(atS * 1000).toISOString().slice(0, 19)}Z`
const hourS = 3600

export type Story = {
  /** Hours before now at which a flight landed. */
  flightAgoH?: number
  /** Hours before now since which the pump runs in vain. */
  deadAgoH?: number
  /** Hours before now since which nothing is heard. */
  silentAgoH?: number
  hasAmbient?: boolean
  /** Hours before now at which the first reading came; 90 days unless said. */
  bornAgoH?: number
}

const cycleS = 30 * hourS
const runS = 0.8 * hourS

/** Humidity by the saw-tooth: rest climbs 6 to 15.5, run falls back, with a surge at the pump's start. */
function sawTooth(atS: number): { pct: number; isRun: boolean } {
  const phase = ((atS % cycleS) + cycleS) % cycleS
  if (phase < runS) {
    const surge = phase < 300 ? 3 : 0
    return { pct: 6 + 9.5 * Math.exp((-phase / runS) * 3.4) + surge, isRun: true }
  }
  const rest = (phase - runS) / (cycleS - runS)
  return { pct: 6.3 + 9.4 * rest ** 0.75 + 0.5 * Math.sin((atS / 86_400) * 2 * Math.PI), isRun: false }
}

function storied(atS: number, nowS: number, story: Story): { pct: number; isRun: boolean } | null {
  const agoH = (nowS - atS) / hourS
  if (story.silentAgoH !== undefined && agoH < story.silentAgoH) return null
  if (story.deadAgoH !== undefined && agoH < story.deadAgoH)
    return { pct: 16 + (story.deadAgoH - agoH) * 1.1, isRun: true }
  if (story.flightAgoH !== undefined && agoH < story.flightAgoH && agoH > story.flightAgoH - 9) {
    const sinceH = story.flightAgoH - agoH
    return { pct: sinceH < 6 ? 97 - sinceH : 91 * Math.exp(-(sinceH - 6) * 0.95) + 5, isRun: true }
  }
  return sawTooth(atS)
}

const flightMark = (at: string): Trace['marks'][number] => ({
  id: 'm1',
  by: 'p1',
  madeAt: at,
  at,
  what: 'flight',
  detail: { hours: '1.4' },
})

export function traceOf(args: {
  fromS: number
  toS: number
  nowS: number
  points: number
  story: Story
}): Trace {
  const { nowS, story } = args
  const bornS = nowS - (story.bornAgoH ?? 90 * 24) * hourS
  const fromS = Math.max(args.fromS, bornS)
  const toS = Math.min(args.toS, nowS)
  const stepS = Math.max(300, Math.ceil((toS - fromS) / args.points / 300) * 300)
  const points: TracePoint[] = []
  const ambient: TracePoint[] = []
  const runs: Run[] = []
  for (let atS = Math.ceil(fromS / stepS) * stepS; atS <= toS; atS += stepS) {
    const found = storied(atS, nowS, story)
    const tempC = 14 + 5 * Math.sin(((atS - 9 * hourS) / 86_400) * 2 * Math.PI)
    if (story.hasAmbient === true)
      ambient.push({
        at: iso(atS),
        humidity: 68 - (tempC - 14) * 2.4,
        temperature: tempC,
        min: null,
        max: null,
      })
    if (!found) continue
    points.push({
      at: iso(atS),
      humidity: found.pct,
      temperature: tempC,
      min: found.pct - 0.2,
      max: found.pct + 0.3,
    })
    const last = runs.at(-1)
    if (!found.isRun) continue
    if (last && Date.parse(last.to) / 1000 >= atS - 2 * stepS) last.to = iso(atS)
    else runs.push({ from: iso(atS), to: iso(atS), basis: 'reported' })
  }
  const marks =
    story.flightAgoH !== undefined && nowS - story.flightAgoH * hourS > fromS
      ? [flightMark(iso(nowS - story.flightAgoH * hourS))]
      : []
  const gaps = args.fromS < bornS ? [{ from: iso(args.fromS), to: iso(bornS) }] : []
  if (story.silentAgoH !== undefined) gaps.push({ from: iso(nowS - story.silentAgoH * hourS), to: iso(nowS) })
  const series: Trace['series'] = points.length > 0 ? [{ place: 'return', points }] : []
  if (ambient.length > 0) series.push({ place: 'ambient', points: ambient })
  return { series, gaps, runs, marks, basis: 'readings' }
}
