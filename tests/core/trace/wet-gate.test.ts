import { expect, test } from 'vitest'
import {
  type GatePoint,
  startGateRun,
  startWetGate,
  takeGatePoint,
} from '../../../src/core/trace/wet-gate.ts'

const HOUR_S = 3600

const POINT: GatePoint = {
  atS: 0,
  humidityPct: 12,
  startPct: 15,
  sigmaPct: 0.2,
  movedG: 0.1,
  expectedS: 8 * HOUR_S,
  evaporatingShare: 0.9,
  isMetalMeasured: true,
  hangarPct: 60,
  isHangarMeasured: true,
}

/** A gate that nothing has made eligible, and a run whose air jumps from 12 % to what `more` says. */
function jump(more: Partial<GatePoint>) {
  const gate = startWetGate(0)
  gate.eligibleFromS = null
  startGateRun(gate, 12, 0)
  for (let atS = 300; atS <= 2 * HOUR_S; atS += 300) takeGatePoint(gate, { ...POINT, ...more, atS })
  return gate
}

test.each([
  ['air far wetter than the hangar is a flight that nobody logged', { humidityPct: 95 }, true],
  ['air as wet as a damp hangar is a loop that came open', { humidityPct: 90, hangarPct: 88 }, false],
  [
    'the same where the hangar is only known by its climate',
    { humidityPct: 95, hangarPct: 80, isHangarMeasured: false },
    false,
  ],
  ['a dry climate leaves no doubt', { humidityPct: 95, hangarPct: 45, isHangarMeasured: false }, true],
  ['too dry for an engine with water in it', { humidityPct: 75, hangarPct: 40 }, false],
])('without an entry, %s', (_, more, isOpen) => {
  expect(jump(more).isOpen).toBe(isOpen)
})

/** A plateau with proven flow that falls to `share` of saturation at the metal. */
function fallTo(share: number, isMetalMeasured: boolean): boolean {
  const gate = jump({ humidityPct: 95, isMetalMeasured })
  expect(gate.isProven).toBe(true)
  takeGatePoint(gate, {
    ...POINT,
    atS: 2.5 * HOUR_S,
    humidityPct: 60,
    evaporatingShare: share,
    isMetalMeasured,
  })
  return gate.isOpen
}

test('a box that the pump warms makes the metal look too warm: the plateau is held lower there', () => {
  expect(fallTo(0.6, true)).toBe(false)
  expect(fallTo(0.6, false)).toBe(true)
  expect(fallTo(0.45, false)).toBe(false)
})
