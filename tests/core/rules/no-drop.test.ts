import { expect, test } from 'vitest'
import { HOUR_S, Line, drying, rested, sameVapour } from './moment.ts'

const toldBesideTheEngine = (basis: 'inferred' | 'reported') => {
  const line = rested({ pump: { state: 'rest', basis, sinceS: null } })
  const landed = { flightAtS: line.atS - HOUR_S, unansweredFlightAtS: line.atS - HOUR_S }
  line.forHours(60, { pct: 19, pump: 'run', with: landed })
  return line.open.map(({ rule, urgency }) => `${rule} ${urgency}`)
}

const toldWithSpentBeads = (fromPct: number, lowPct: number) => {
  const line = rested()
  const { atS } = line
  line.memory.open.push({
    rule: 'beads-spent',
    urgency: 'visit',
    sinceS: atS,
    raisedAtS: atS,
    evidence: {},
  })
  line.forHours(2, (h) => ({ pct: Math.max(lowPct, drying(fromPct, h)), pump: 'run' }))
  line.forHours(12, (h) => ({ pct: Math.min(fromPct, lowPct + 6 * h), pump: 'run' }))
  return line.events.some((e) => e.rule === 'no-drop')
}

const toldWithNoise = (sigmaPct: number) => {
  const line = rested({
    kPerH: { low: 0.37, mid: 2, high: 12 },
    sensor: { sigmaPct, stepPct: 0.1, stuckShare: 0.995 },
  })
  const fromS = line.atS
  line.forHours(24, { pct: 15, pump: 'run' })
  return line.story(fromS)
}

test('a pump that dries the air is never called dead', () => {
  const line = rested()
  line.forHours(8, (h) => ({ pct: Math.max(6.2, drying(16, h)), pump: 'run' }))
  expect(line.events).toEqual([])
})

test('a pump that moves nothing is raised as soon as the slowest drying this rig has taught would show, and since when it ran', () => {
  const line = rested()
  const fromS = line.atS
  line.forHours(6, { pct: 15, pump: 'run' })
  expect(line.story(fromS)).toEqual(['1.7 raised no-drop now'])
  const raised = line.events[0]
  expect(raised?.sinceS).toBe(fromS + 300)
  expect(raised?.evidence).toMatchObject({
    by: 'drop',
    fromPct: 15,
    nowPct: 15,
    tempC: 15,
    runFromS: fromS + 300,
  })
})

test('before the drying rate is learned it takes until the slowest rig would show more than the noise', () => {
  expect(toldWithNoise(0.1)).toEqual(['1.7 raised no-drop now'])
  expect(toldWithNoise(1)).toEqual(['4.0 raised no-drop now'])
})

test.each([
  // Rates 4 standard deviations below the median of such a rig, at -10 degC.
  ['the slowest working pump is not called dead', 0.08, 24, []],
  ['a dead one is told within 12 h', 0, 12, ['raised no-drop']],
])('in the cold, where three time constants take 28 h: %s', (_, perH, hours, events) => {
  const cold = { tempC: -10 }
  const line = new Line({ kPerH: { low: 0.6, mid: 1.5, high: 3.75 }, metalTempC: -10 })
  line.forHours(2, { pct: 15, sample: cold, pump: 'rest' })
  line.forHours(hours, (h) => ({
    pct: Math.max(6.2, 2 + 13 * Math.exp(-perH * h)),
    sample: cold,
    pump: 'run',
  }))
  expect(line.events.map((e) => `${e.event} ${e.rule}`)).toEqual(events)
})

test('floors scatter, but a rig that reaches stop has none above it: a reference just over stop tells', () => {
  const line = new Line({ floorGm3: null })
  line.floorPct = { mid: 8, high: 14 }
  line.forHours(2, { pct: 15, pump: 'rest' })
  line.forHours(6, { pct: 15, pump: 'run' })
  expect(line.isOpen('no-drop')).toBe(true)
})

test('beads that send back what they took are no dead pump where that is known, in a run that came down', () => {
  expect(toldWithSpentBeads(60, 8)).toBe(false)
  expect(toldWithSpentBeads(15, 8)).toBe(false)
  // This one never came down.
  expect(toldWithSpentBeads(15, 14.5)).toBe(true)
})

test('after a flight nobody answered, an inferred run may be a rig that lies beside the engine: left-off says so', () => {
  expect(toldBesideTheEngine('inferred')).toEqual(['left-off visit'])
  expect(toldBesideTheEngine('reported')).toContain('no-drop now')
})

/** Air that comes down to `lowPct` within half an hour and stands there while a warm day adds to its water. */
const toldAfterComingDown = (basis: 'inferred' | 'reported', lowPct: number) => {
  const line = rested({
    pump: { state: 'rest', basis, sinceS: null },
    kPerH: { low: 0.6, mid: 1, high: 1.6 },
  })
  line.forHours(0.5, (h) => ({ pct: 16 - 2 * (16 - lowPct) * h, pump: 'run' }))
  line.forHours(10, (h) => ({ pct: lowPct, sample: { tempC: 15 + h }, pump: 'run' }))
  return line.memory.open.map(({ rule }) => rule)
}

test('an inferred run that has been low in the band may have ended unseen: a warm day that keeps it there is no dead pump', () => {
  expect(toldAfterComingDown('inferred', 9)).not.toContain('no-drop')
  expect(toldAfterComingDown('reported', 9)).toEqual(['band-not-reached'])
  expect(toldAfterComingDown('inferred', 12)).toEqual(['no-drop'])
})

test('a box that the pump warms by 6 K hides a dead pump in RH, not in vapour density', () => {
  const line = rested()
  line.forHours(8, (h) => {
    const tempC = 15 + 6 * (1 - Math.exp(-2 * h))
    return { pct: sameVapour(15, 15, tempC), sample: { tempC }, pump: 'run' }
  })
  expect(line.isOpen('no-drop')).toBe(true)
})

test('a hangar that cools by 10 K overnight hides it in vapour density, not in RH', () => {
  const line = rested()
  line.forHours(9, (h) => ({ pct: 15, sample: { tempC: 15 - h * 1.1 }, pump: 'run' }))
  expect(line.isOpen('no-drop')).toBe(true)
})

test('a working pump in a hangar that warms by 12 K is not called dead', () => {
  const line = rested()
  line.forHours(9, (h) => ({ pct: 7 + 9 * Math.exp(-1.2 * h), sample: { tempC: 15 + 1.3 * h }, pump: 'run' }))
  expect(line.events.filter((e) => e.rule === 'no-drop')).toEqual([])
})

test('on the wet plateau it cannot tell, and says so; the wait starts when the plateau ends', () => {
  const line = rested()
  const wet = { isOpen: true, isProven: true, openedAtS: line.atS, movedG: 5, budgetG: 40, expectedH: 6 }
  line.forHours(20, { pct: 95, pump: 'run', with: { wetGate: wet } })
  expect(line.events).toEqual([])
  expect(line.memory.unknown.find((u) => u.what === 'no-drop')?.why).toContain(
    'cannot be told from evaporation',
  )
  const fromS = line.atS
  line.forHours(4, { pct: 30, pump: 'run', with: { wetGate: { ...wet, isOpen: false } } })
  expect(line.story(fromS).at(0)).toBe('3.7 raised no-drop now')
})

test('over once the air comes down half way, not before', () => {
  const line = rested()
  line.forHours(6, { pct: 15, pump: 'run' })
  line.forHours(2, { pct: 12, pump: 'run' })
  expect(line.isOpen('no-drop')).toBe(true)
  const over = line.forHours(2, (h) => ({ pct: Math.max(6, drying(12, h)), pump: 'run' }))
  expect(over.map((e) => e.event)).toEqual(['over'])
  expect(over[0]?.evidence).toMatchObject({ endedBy: 'drop' })
})

function toldWhereItSettles(settlesPct: number): boolean {
  const line = new Line()
  line.forHours(2, { pct: 60, pump: 'rest' })
  line.forHours(14, (h) => ({ pct: settlesPct + (60 - settlesPct) * Math.exp(-1.5 * h), pump: 'run' }))
  return line.isOpen('no-drop')
}

test('a run that came half the way and stands still far above the band is told; on a floor that oil lifts it is not', () => {
  expect([32, 20].map(toldWhereItSettles)).toEqual([true, false])
})

test('neither a gap nor rests end it, and it is raised once', () => {
  const line = rested()
  line.forHours(6, { pct: 15, pump: 'run' })
  line.forHours(1.5, {})
  line.forHours(3, { pct: 15, pump: 'rest' })
  line.forHours(9, { pct: 15, pump: 'run' })
  expect(line.events.map((e) => `${e.event} ${e.rule}`)).toEqual(['raised no-drop'])
})

test.each([
  ['a motor that draws a tenth', 0.4, 'raised no-drop'],
  ['a motor that stalls at three times its power', 12, 'raised no-drop'],
  ['a meter that is 20 % off', 4.8, undefined],
])('%s is told by its power within the hour', (_, powerW, first) => {
  const line = rested({ pumpPowerW: 4, kPerH: { low: 0.37, mid: 2, high: 12 } })
  const fromS = line.atS
  line.forHours(1, (h) => ({ pct: drying(15, h), sample: { powerW, pumpOn: true }, pump: 'run' }))
  const [event] = line.events
  expect(event && `${event.event} ${event.rule}`).toBe(first)
  if (event) expect(event.atS - fromS).toBeLessThanOrEqual(HOUR_S)
})

test.each([0, 1, 2, 3])(
  'mended, it is over once and stays over, wherever the readings were counted from: %s',
  (late) => {
    const line = rested()
    line.forHours(6 + late / 12, { pct: 15, pump: 'run' })
    expect(line.isOpen('no-drop')).toBe(true)
    line.forHours(2, { pct: 6.5, pump: 'run' })
    expect(line.events.map((e) => e.event)).toEqual(['raised', 'over'])
  },
)

test('right after a landing only the meter tells: a motor that draws nothing, at once', () => {
  const toldAfterLanding = [0.3, null].map((powerW) => {
    const line = rested({ pumpPowerW: 4, suspended: 'flight' })
    line.forHours(3, { pct: 15, sample: { powerW, pumpOn: true }, pump: 'run' })
    return line.isOpen('no-drop')
  })
  expect(toldAfterLanding).toEqual([true, false])
})

test('a plateau that nothing proved is told by a day and a half; in a saturated box soon after its time is over', () => {
  const told = [false, true].map((isStagnant) => {
    const line = rested({ kPerH: { low: 0.1, mid: 0.3, high: 1 } })
    const open = { isOpen: true, isProven: false, openedAtS: line.atS, movedG: 5, budgetG: 40, expectedH: 6 }
    line.forHours(30, { pct: 80, pump: 'run', with: { wetGate: open } })
    const fromS = line.atS
    const wetGate = { ...open, isOpen: false, isTimedOut: true, isStagnant }
    line.forHours(6, { pct: 80, pump: 'run', with: { wetGate } })
    return line.story(fromS)
  })
  expect(told).toEqual([['3.7 raised no-drop now'], ['1.7 raised no-drop now']])
})

test('told by power, it ends when the power is normal again', () => {
  const line = rested({ pumpPowerW: 4 })
  line.forHours(1, { pct: 15, sample: { powerW: 0.3, pumpOn: true }, pump: 'run' })
  line.forHours(0.5, { pct: 15, sample: { powerW: 4.1, pumpOn: true }, pump: 'run' })
  expect(line.events.map((e) => e.event)).toEqual(['raised', 'over'])
})

/** Told in air of 15 %, by its drop or by `powerW`, then wet air that opens the gate. */
const openAfterGate = (isProven: boolean, powerW: number | null = null) => {
  const line = rested({ pumpPowerW: 4 })
  line.forHours(6, { pct: 15, sample: { powerW }, pump: 'run' })
  expect(line.isOpen('no-drop')).toBe(true)
  const wetGate = { isOpen: true, isProven, openedAtS: line.atS + 300, movedG: 0, budgetG: 40, expectedH: 6 }
  line.forHours(1, { pct: 80, sample: { powerW }, pump: 'run', with: { wetGate } })
  return line.isOpen('no-drop')
}

test('only a surge that proves the flow ends it, and none where the meter told it', () => {
  expect([true, false].map((isProven) => openAfterGate(isProven))).toEqual([false, true])
  expect(openAfterGate(true, 0.3)).toBe(true)
})

test('once it ended because the air got drier, the pump of that run is no dead one', () => {
  const line = rested()
  line.forHours(6, { pct: 15, pump: 'run' })
  line.forHours(2, (h) => ({ pct: drying(15, h), pump: 'run' }))
  expect(line.isOpen('no-drop')).toBe(false)
  line.forHours(12, (h) => ({ pct: Math.min(22, 4 + 3 * h), pump: 'run' }))
  expect(line.open.map(({ rule }) => rule)).toEqual(['band-not-reached'])
})

test('readings too coarse for the span between reference and floor judge nothing', () => {
  const line = rested({ sensor: { sigmaPct: 3, stepPct: 1, stuckShare: 0.9 } })
  line.forHours(12, { pct: 15, pump: 'run' })
  expect(line.events.filter((e) => e.rule === 'no-drop')).toEqual([])
})
