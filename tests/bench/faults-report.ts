import { quantile } from '../../src/core/stats/quantile.ts'
import type { Evidence, Interval } from '../../src/core/fold/outputs.ts'
import { BENCH_START_S, type FaultResult, type RigResult } from './fault-runs.ts'
import type { FillResult, FillsResult } from './fill-runs.ts'

const percent = (part: number, whole: number) =>
  whole === 0 ? '-' : `${((100 * part) / whole).toFixed(1)} %`
const fixed = (value: number | null, digits = 1) => (value === null ? '-' : value.toFixed(digits))

/** Times as days of the bench, others to four digits. */
function numberText(name: string, value: number): string {
  if (/[a-z]S$/.test(name)) return `day ${((value - BENCH_START_S) / 86_400).toFixed(2)}`
  return String(Number(value.toPrecision(4)))
}

function evidenceText(evidence: Evidence): string {
  return Object.entries(evidence)
    .map(([name, value]) => `${name}=${typeof value === 'number' ? numberText(name, value) : value}`)
    .join(' ')
}

function printFault(name: string, results: readonly FaultResult[]): void {
  const counted = results.filter((one) => one.outcome !== 'not shown' && one.outcome !== 'already open')
  const caught = counted.filter((one) => one.outcome === 'caught')
  const delays = caught.map((one) => one.delayH ?? 0)
  const rules = [...new Set(caught.map((one) => one.rule))].map(
    (rule) => `${rule} ${caught.filter((one) => one.rule === rule).length}`,
  )
  console.log(
    [
      name.padEnd(28),
      String(counted.length).padStart(5),
      percent(caught.length, counted.length).padStart(9),
      String(counted.filter((one) => one.outcome === 'late').length).padStart(5),
      String(counted.filter((one) => one.outcome === 'missed').length).padStart(7),
      fixed(quantile(delays, 0.5)).padStart(9),
      fixed(quantile(delays, 0.95)).padStart(8),
      `  ${rules.join(', ')}`,
    ].join(''),
  )
}

/** Faults caught in time, and alarms of healthy rigs. */
export function printRigs(rigs: readonly RigResult[], withDetails: boolean): void {
  console.log('\nfault                       cases  in time late  missed  median h  95 % h  raised by')
  const all = rigs.flatMap((rig) => rig.faults)
  for (const name of new Set(all.map((one) => one.fault))) {
    printFault(
      name,
      all.filter((one) => one.fault === name),
    )
  }
  printFault('all', all)
  const years = rigs.reduce((sum, rig) => sum + rig.days, 0) / 365.25
  const wrong = rigs.flatMap((rig) => rig.alarms.filter((alarm) => alarm.right === null))
  const right = rigs.flatMap((rig) => rig.alarms.filter((alarm) => alarm.right !== null))
  console.log(`\nhealthy: ${rigs.length} rigs, ${years.toFixed(0)} rig-years, ${right.length} right warnings`)
  console.log(`false alarms a rig-year: ${(wrong.length / years).toFixed(2)}`)
  for (const rule of new Set(wrong.map((alarm) => alarm.rule))) {
    const count = wrong.filter((alarm) => alarm.rule === rule).length
    console.log(`  ${rule.padEnd(20)} ${(count / years).toFixed(3)}`)
  }
  if (withDetails) for (const rig of rigs) printRig(rig)
}

function printRig(rig: RigResult): void {
  const failures = rig.faults.filter((one) => one.outcome === 'missed' || one.outcome === 'late')
  const wrong = rig.alarms.filter((alarm) => alarm.right === null)
  if (failures.length + wrong.length === 0) return
  console.log(`\nseed ${rig.seed}: ${rig.rig}`)
  for (const alarm of wrong) {
    console.log(`  false: day ${alarm.day} ${alarm.rule} ${alarm.urgency} ${evidenceText(alarm.evidence)}`)
  }
  for (const one of failures) {
    const others = one.others.slice(0, 6).join('; ')
    console.log(
      `  ${one.outcome}: ${one.fault} day ${one.day} after ${fixed(one.delayH)} h of ${fixed(one.limitH)} [${others}]`,
    )
  }
}

const isInside = (interval: Interval, value: number) => value >= interval.low && value <= interval.high

function printForecasts(name: string, fills: readonly FillResult[]): void {
  const told = fills.filter((fill) => fill.half.forecast !== null)
  const errors = told.map(({ half }) => Math.abs((half.forecast?.mid ?? 0) / half.flightsLeft - 1))
  const inside = told.filter(
    ({ half }) => half.forecast !== null && isInside(half.forecast, half.flightsLeft),
  )
  const taken = told.map(({ half }) => Math.abs((half.takenUp?.mid ?? 0) / half.takenUpG - 1))
  const room = told.map(({ half, capacityG }) => Math.abs((half.capacity?.mid ?? 0) / capacityG - 1))
  console.log(
    `${name.padEnd(34)}${String(fills.length).padStart(5)}${String(told.length).padStart(7)}` +
      `${percent(quantile(errors, 0.5) ?? 0, 1).padStart(10)}${percent(inside.length, told.length).padStart(10)}` +
      `${percent(quantile(taken, 0.5) ?? 0, 1).padStart(10)}${percent(quantile(room, 0.5) ?? 0, 1).padStart(10)}`,
  )
}

const isLater = (fill: FillResult) => fill.number > 1 || fill.wasWeighed

/** Beads used up: warned in time, and the forecast at half of the fill. */
export function printFills(results: readonly FillsResult[], withDetails: boolean): void {
  const fills = results.flatMap((rig) => rig.fills)
  const warned = fills.filter((fill) => fill.warnedDaysAhead !== null && fill.warnedDaysAhead >= -1)
  const early = warned.filter(
    (fill) => (fill.warnedDaysAhead ?? 0) >= 7 && (fill.warnedFlightsAhead ?? 0) >= 1,
  )
  const ahead = warned.map((fill) => fill.warnedDaysAhead ?? 0)
  console.log(`\nbeads used up: ${fills.length} fills of ${results.length} rigs`)
  console.log(`  warned at most 24 h after: ${percent(warned.length, fills.length)}`)
  console.log(`  a flight and 7 days ahead: ${percent(early.length, fills.length)}`)
  const asOthers = fills.filter((fill) => fill.toldAs.length > 0)
  const wrongFirst = fills.filter((fill) => fill.isWrongFirst)
  console.log(
    `  told as another fault: ${percent(asOthers.length, fills.length)}, first or only so: ${percent(wrongFirst.length, fills.length)}`,
  )
  console.log(
    `  days ahead, 10, 50, 90 %: ${[0.1, 0.5, 0.9].map((p) => fixed(quantile(ahead, p), 0)).join(', ')}`,
  )
  console.log('\nflights left at half             fills   told  error   80 % holds  taken up  capacity')
  const long = fills.filter((fill) => fill.flights >= 6)
  printForecasts(
    '  first fill, not weighed',
    long.filter((fill) => !isLater(fill)),
  )
  printForecasts('  second fill on, or weighed', long.filter(isLater))
  printForecasts('  all', long)
  if (!withDetails) return
  for (const { seed, rig, fills: own } of results) {
    console.log(`\nseed ${seed}: ${rig}`)
    for (const fill of own) {
      const { half } = fill
      const forecast = half.forecast
      console.log(
        `  fill ${fill.number}${fill.wasWeighed ? ' weighed' : ''}: ${fixed(fill.days, 0)} d ${fill.flights} flights ` +
          `${fixed(fill.capacityG, 0)} g, warned ${fixed(fill.warnedDaysAhead)} d ahead; at half ` +
          `${fixed(half.flightsLeft)} flights left, told ${forecast === null ? '-' : `${fixed(forecast.mid)} (${fixed(forecast.low)} to ${fixed(forecast.high)})`}, ` +
          `taken up ${fixed(half.takenUpG, 0)} g, told ${fixed(half.takenUp?.mid ?? null, 0)} of ${fixed(half.capacity?.mid ?? null, 0)} g`,
      )
    }
  }
}
