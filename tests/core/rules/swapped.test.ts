import { describe, expect, test } from 'vitest'
import type { EndedRun, LedgerNow, Moment } from '../../../src/core/rules/rule.ts'
import { DAY_S, ENDED, Line, STEP_S } from './moment.ts'

const LN_HOUR = Math.log(60)

/** One run a day, each after a day of rest: its minutes over those of an hour, as ln, and what it is heading for. */
type Runs = { readonly ln: number; readonly floorPct?: number; readonly dryDays?: number }

function runDay(line: Line, { ln, floorPct, dryDays = 20 }: Runs, more: Partial<Moment> = {}): void {
  line.atS += DAY_S - STEP_S
  const run: EndedRun = {
    ...ENDED,
    fromS: line.atS + STEP_S - 3600,
    toS: line.atS + STEP_S,
    lnFallMin: LN_HOUR + ln,
    floor: floorPct === undefined ? null : { pct: floorPct, sePct: 0.4 },
    dryDays,
  }
  // Air that moves: a sensor that stands still would hold all judging.
  line.step({ pct: 10 + 2 * Math.sin(line.atS), with: { ...more, ended: [run] } })
}

/** A rig whose runs do not repeat better than by a tenth. */
const WOBBLE = [0.1, -0.1, 0.05, -0.05] as const

function runDays(line: Line, days: number, runs: Runs, more: Partial<Moment> = {}): void {
  for (let day = 0; day < days; day++) {
    runDay(line, { ...runs, ln: runs.ln + (WOBBLE[day % WOBBLE.length] ?? 0) }, more)
  }
}

/** Twenty days of runs that take as long as `before` has it, and half an hour off or more after them. */
function before(runs: Runs, more: Partial<Moment> = {}): { line: Line; off: Partial<Moment> } {
  const line = new Line(more)
  runDays(line, 20, runs)
  return { line, off: { backAtS: line.atS, offMinBefore: 45 } }
}

const asked = (line: Line): string[] => line.events.map((e) => `${e.event} ${e.rule}`)

describe('were the beads changed? By the runs', () => {
  test('asked when runs halve after half an hour off, of that day', () => {
    const { line, off } = before({ ln: 0.9 })
    runDays(line, 3, { ln: 0 }, off)
    expect(asked(line)).toEqual([])
    runDays(line, 1, { ln: 0 }, off)
    expect(asked(line)).toEqual(['raised swapped'])
    expect(line.open[0]).toMatchObject({ sinceS: off.backAtS, evidence: { by: 'runs', offAtS: off.backAtS } })
    expect(line.open[0]?.evidence['timeShare']).toBeCloseTo(Math.exp(-0.9), 1)
  })

  test('asked of a fill that is in the logbook too, and of a rig that is seen to be off the engine', () => {
    const { line } = before({ ln: 0.9 }, { fillFromS: new Line().atS })
    const unhookedAtS = line.atS
    line.step({ pct: 10, with: { unhookedAtS } })
    runDays(line, 4, { ln: 0 })
    expect(line.open[0]).toMatchObject({ rule: 'swapped', sinceS: unhookedAtS })
  })

  test('asked once, also where the rig was off for a flight soon after', () => {
    const { line, off } = before({ ln: 0.9 })
    runDays(line, 1, { ln: 0 }, off)
    const later = { backAtS: line.atS, offMinBefore: 200 }
    runDays(line, 20, { ln: 0 }, later)
    expect(asked(line)).toEqual(['raised swapped', 'over swapped'])
    expect(line.events[0]?.evidence['offAtS']).toBe(off.backAtS)
    expect(line.events[1]?.evidence['endedBy']).toBe('unanswered')
  })

  test('asked when what runs are heading for falls by more than its error', () => {
    const { line, off } = before({ ln: 0, floorPct: 5.5 })
    runDays(line, 4, { ln: 0, floorPct: 2 }, off)
    expect(line.open[0]?.evidence).toMatchObject({ isQuicker: false, floorBeforePct: 5.5, floorAfterPct: 2 })
  })

  test.each([
    ['without a stretch off', { ln: 0.9 }, { ln: 0 }, 20],
    ['when little changed', { ln: 0.9 }, { ln: 0.45 }, 45],
    ['of runs in the days after a flight', { ln: 0.9 }, { ln: 0, dryDays: 2 }, 45],
    [
      'when the runs before were soon after a flight, those after long after',
      { ln: 0.9, dryDays: 3 },
      { ln: 0 },
      45,
    ],
  ])('not asked %s', (_, long, short, offMinBefore) => {
    const { line, off } = before(long)
    runDays(line, 6, short, { ...off, offMinBefore })
    expect(asked(line)).toEqual([])
  })

  test('not asked of a rig whose runs differ by as much from day to day', () => {
    const line = new Line()
    for (let day = 0; day < 20; day++) runDay(line, { ln: [1.5, 0.6, -0.2, 0.9][day % 4] ?? 0 })
    const off = { backAtS: line.atS, offMinBefore: 45 }
    for (const ln of [0.2, 0, 0.6, -0.3]) runDay(line, { ln }, off)
    expect(asked(line)).toEqual([])
  })

  test('not asked in the first two weeks: an engine that was never dried has long runs', () => {
    const line = new Line()
    runDays(line, 8, { ln: 0.9 })
    runDays(line, 6, { ln: 0 }, { backAtS: line.atS, offMinBefore: 45 })
    expect(asked(line)).toEqual([])
  })

  test('runs of another fill are no comparison', () => {
    const { line, off } = before({ ln: 0.9 }, { fillFromS: new Line().atS })
    runDays(line, 6, { ln: 0 }, { ...off, fillFromS: off.backAtS ?? null })
    expect(asked(line)).toEqual([])
  })

  test('a line in the logbook answers it', () => {
    const { line, off } = before({ ln: 0.9 })
    runDays(line, 4, { ln: 0 }, off)
    line.step({ pct: 10, with: { fillFromS: line.atS } })
    expect(asked(line)).toEqual(['raised swapped', 'over swapped'])
  })
})

const says = (overShare: number) => ({ ledger: (): LedgerNow => ({ overShare, takenG: 150 }) })

/** A flight, and a run a day after it as long as the engine has been dry. */
function fly(line: Line, more: Partial<Moment>, days = 4): void {
  for (let day = 0; day < days; day++) runDay(line, { ln: 0, dryDays: day + 0.5 }, more)
}

describe('were the beads changed? By the ledger', () => {
  test('asked when beads that it calls used up have dried the wet engine of two flights down to stop', () => {
    const line = new Line()
    runDays(line, 3, { ln: 0 }, says(0.95))
    expect(asked(line)).toEqual([])
    fly(line, says(0.95))
    expect(asked(line)).toEqual([])
    fly(line, says(0.95))
    expect(asked(line)).toEqual(['raised swapped'])
    expect(line.open[0]).toMatchObject({
      urgency: 'note',
      evidence: { by: 'ledger', takenUpG: 150, endPct: 6 },
    })
  })

  test('asked of an idle engine after eight weeks', () => {
    const line = new Line()
    runDays(line, 55, { ln: 0, dryDays: 200 }, says(0.95))
    expect(asked(line)).toEqual([])
    runDays(line, 3, { ln: 0, dryDays: 200 }, says(0.95))
    expect(asked(line)).toEqual(['raised swapped'])
  })

  test('not asked when it is in doubt, nor when runs end above stop', () => {
    const doubtful = new Line()
    for (let flight = 0; flight < 4; flight++) fly(doubtful, says(0.8))
    const above = new Line({ settings: { ...new Line().moment.settings, switchTolPct: 0 } })
    above.moment = {
      ...above.moment,
      settings: { ...above.moment.settings, band: { startPct: 14, stopPct: 5 } },
    }
    for (let flight = 0; flight < 4; flight++) fly(above, says(0.95))
    expect([...asked(doubtful), ...asked(above)]).toEqual([])
  })

  test('nobody has to answer for it to stand: the ledger would forecast the same again', () => {
    const line = new Line()
    fly(line, says(0.95))
    fly(line, says(0.95))
    fly(line, says(0.95))
    runDays(line, 30, { ln: 0 }, says(0.95))
    expect(asked(line)).toEqual(['raised swapped'])
    runDays(line, 1, { ln: 0 }, says(0.2))
    expect(line.events[1]).toMatchObject({ event: 'over', evidence: { endedBy: 'ledger' } })
  })

  test('new beads in the logbook end it', () => {
    const line = new Line()
    fly(line, says(0.95))
    fly(line, says(0.95))
    fly(line, says(0.95))
    line.step({ pct: 10, with: { fillFromS: line.atS } })
    expect(line.events[1]?.evidence['endedBy']).toBe('new fill')
  })
})
