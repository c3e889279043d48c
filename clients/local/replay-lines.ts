import type {
  AlertEvent,
  Cycle,
  Evidence,
  Forecast,
  Interval,
  OpenAlert,
} from '../../src/core/fold/outputs.ts'
import type { View } from '../../src/core/fold/view.ts'
import { timestampText } from '../../src/core/ingest/instant.ts'
import { alertSentence } from '../../src/core/words/alert-words.ts'
import { PLAIN } from '../../src/core/words/tongue.ts'

/** What stands first among lines of one time. */
export type LineKind = 'over' | 'raised' | 'changed' | 'cycle' | 'forecast'

/** A line of the output, and where it belongs. */
export type OutLine = {
  readonly atS: number
  readonly kind: LineKind
  readonly json: Readonly<Record<string, unknown>>
}

const ORDER: Readonly<Record<LineKind, number>> = { over: 0, raised: 1, changed: 2, cycle: 3, forecast: 4 }

/** By time, then over, raised, changed, cycle, forecast; lines of one kind keep their order. */
export function sortLines(lines: OutLine[]): OutLine[] {
  return lines.sort((a, b) => a.atS - b.atS || ORDER[a.kind] - ORDER[b.kind])
}

/** Numbers to a millionth of their size, at most four decimals: more would only be noise. */
export function rounded(value: number | null): number | null {
  return value === null ? null : roundOne(value)
}

function roundOne(value: number): number {
  return Math.round(value * 1e4) / 1e4
}

function time(atS: number | null): string | null {
  return atS === null ? null : timestampText(Math.round(atS))
}

/** Unix seconds in evidence carry names that end in S, as every time inside does; outside they are RFC 3339. */
const UNIX_MIN_S = 946_684_800

function evidenceOf(evidence: Evidence): Record<string, unknown> {
  const shown: Record<string, unknown> = {}
  for (const [name, value] of Object.entries(evidence)) {
    if (typeof value !== 'number') shown[name] = value
    else if (name.endsWith('S') && value >= UNIX_MIN_S) shown[name.slice(0, -1)] = time(value)
    else shown[name] = rounded(value)
  }
  return shown
}

export function alertLine(event: AlertEvent): OutLine {
  return {
    atS: event.atS,
    kind: event.event,
    json: {
      at: time(event.atS),
      event: event.event,
      rule: event.rule,
      urgency: event.urgency,
      since: time(event.sinceS),
      sentence: alertSentence(event, PLAIN),
      evidence: evidenceOf(event.evidence),
    },
  }
}

export function cycleLine(cycle: Cycle): OutLine {
  return {
    atS: cycle.atS,
    kind: 'cycle',
    json: {
      at: time(cycle.atS),
      event: 'cycle',
      runFrom: time(cycle.runFromS),
      runTo: time(cycle.runToS),
      basis: cycle.basis,
      startPct: rounded(cycle.startPct),
      peakPct: rounded(cycle.peakPct),
      endPct: rounded(cycle.endPct),
      apparentFloorPct: rounded(cycle.apparentFloorPct),
      floorSePct: rounded(cycle.floorSePct),
      runTimeRatio: rounded(cycle.runTimeRatio),
      runMin: rounded(cycle.runMin),
      restMin: rounded(cycle.restMin),
      kPerH: rounded(cycle.kPerH),
      ingressPerH: rounded(cycle.ingressPerH),
      waterG: rounded(cycle.waterG),
      afterFlight: cycle.afterFlight,
    },
  }
}

function interval(value: Interval | null): Interval | null {
  if (value === null) return null
  return { low: roundOne(value.low), mid: roundOne(value.mid), high: roundOne(value.high) }
}

const NOTHING: Forecast = {
  takenUpG: null,
  capacityG: null,
  flightsLeft: null,
  daysLeft: null,
  emptyAtS: null,
  noFlightsUntilS: null,
}

function forecastFields(forecast: Forecast | null): Record<string, unknown> {
  const { takenUpG, capacityG, flightsLeft, daysLeft, emptyAtS, noFlightsUntilS } = forecast ?? NOTHING
  return {
    takenUpG: interval(takenUpG),
    capacityG: interval(capacityG),
    flightsLeft: interval(flightsLeft),
    daysLeft: interval(daysLeft),
    emptyAt: time(emptyAtS),
    noFlightsUntil: time(noFlightsUntilS),
  }
}

export function forecastLine(atS: number, forecast: Forecast | null): OutLine {
  return { atS, kind: 'forecast', json: { at: time(atS), event: 'forecast', ...forecastFields(forecast) } }
}

function openOf({ rule, urgency, sinceS }: OpenAlert): Record<string, unknown> {
  return { rule, urgency, since: time(sinceS) }
}

/** The last line. `fromS` is the first reading. */
export function summaryLine(view: View, fromS: number, readings: number): Readonly<Record<string, unknown>> {
  const { gapsH, offH, ...classes } = view.exposure
  return {
    event: 'summary',
    from: time(fromS),
    to: time(view.atS),
    readings,
    cycles: view.cycles,
    gapsH: rounded(gapsH),
    offH: rounded(offH),
    exposureH: Object.fromEntries(Object.entries(classes).map(([name, hours]) => [name, rounded(hours)])),
    fill: view.fill === null ? null : forecastFields(view.forecast),
    open: view.open.map(openOf),
    unknown: view.unknown,
    assumed: view.assumed,
  }
}
