/** From the server's trace to columns a chart can draw: one time axis for all places, with holes where nothing was heard. */
import type { Place, Trace } from '../shapes.ts'
import { ms } from '../when.ts'
import { valueOf, type Quantity } from './quantity.ts'

/** `undefined`: no sample of this place at this time, the line goes on. `null`: a gap, the line breaks. */
export type Column = (number | null | undefined)[]

export type Columns = {
  atS: number[]
  places: { place: Place; values: Column }[]
  /** Extremes of the return air within each point: a surge survives thinning as a bar. */
  low: Column
  high: Column
  /** The band at each point's own temperature. */
  bandStart: Column
  bandStop: Column
  /** As reported, for the readout: humidity and temperature by place. */
  samples: ReadonlyMap<
    number,
    Partial<Record<Place, { humidity: number | null; temperature: number | null }>>
  >
}

const s = (text: string): number => Math.round(ms(text) / 1000)

export function columnsOf(trace: Trace, quantity: Quantity, band: { start: number; stop: number }): Columns {
  const samples = new Map<
    number,
    Partial<
      Record<
        Place,
        { humidity: number | null; temperature: number | null; min: number | null; max: number | null }
      >
    >
  >()
  for (const { place, points } of trace.series) {
    for (const point of points) {
      const atS = s(point.at)
      samples.set(atS, { ...samples.get(atS), [place]: point })
    }
  }
  const breaks = new Set(trace.gaps.map((gap) => s(gap.from) + 1))
  const atS = [...new Set([...samples.keys(), ...breaks])].toSorted((a, b) => a - b)
  const column = (pick: (at: number) => number | null | undefined): Column =>
    atS.map((at) => (samples.has(at) ? pick(at) : null))
  const main = mainPlace(trace)
  const ofMain =
    (key: 'min' | 'max') =>
    (at: number): number | null | undefined => {
      const point = samples.get(at)?.[main]
      if (!point) return undefined
      return valueOf(quantity, point[key] ?? point.humidity, point.temperature)
    }
  const bandAt =
    (pct: number) =>
    (at: number): number | null | undefined => {
      const point = samples.get(at)?.[main]
      return point ? valueOf(quantity, pct, point.temperature) : undefined
    }
  return {
    atS,
    samples,
    places: trace.series.map(({ place }) => ({
      place,
      values: column((at) => {
        const point = samples.get(at)?.[place]
        return point ? valueOf(quantity, point.humidity, point.temperature) : undefined
      }),
    })),
    low: column(ofMain('min')),
    high: column(ofMain('max')),
    bandStart: column(bandAt(band.start)),
    bandStop: column(bandAt(band.stop)),
  }
}

export function mainPlace(trace: Trace): Place {
  return trace.series.some((one) => one.place === 'return') ? 'return' : (trace.series[0]?.place ?? 'return')
}

/** Lowest and highest over some columns, or `null` when they hold nothing. */
export function extent(columns: Column[]): [number, number] | null {
  let low = Infinity
  let high = -Infinity
  for (const column of columns) {
    for (const value of column) {
      if (value === null || value === undefined) continue
      if (value < low) low = value
      if (value > high) high = value
    }
  }
  return low <= high ? [low, high] : null
}

/** Index of the sample nearest in time that has any value; `null` when there is none. */
export function nearestIndex(columns: Columns, atS: number): number | null {
  let best: number | null = null
  let bestGap = Infinity
  columns.atS.forEach((at, index) => {
    const gap = Math.abs(at - atS)
    if (gap < bestGap && columns.samples.has(at)) {
      best = index
      bestGap = gap
    }
  })
  return best
}

/**
 * The silence in front of a rig's first reading is no gap: nothing was expected. Returns the trace without it, and where it
 * ends. `firstDayS` is the UTC day of that reading; without it every silence is a gap.
 */
export function withoutBefore(
  trace: Trace,
  firstDayS: number | null,
): { trace: Trace; firstAt: string | null } {
  const lead = leadOf(trace)
  if (lead === null || firstDayS === null || s(lead.to) >= firstDayS + 86_400) return { trace, firstAt: null }
  return { trace: { ...trace, gaps: trace.gaps.slice(1) }, firstAt: lead.to }
}

/** The silence that a trace begins with. */
export function leadOf(trace: Trace): Trace['gaps'][number] | null {
  const lead = trace.gaps[0]
  const points = trace.series.find((one) => one.place === mainPlace(trace))?.points ?? []
  const first = points[0]
  return lead && first && ms(first.at) >= ms(lead.to) ? lead : null
}
