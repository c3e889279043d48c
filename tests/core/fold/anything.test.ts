import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Inputs } from '../../../src/core/fold/inputs.ts'
import { newMemory, packMemory } from '../../../src/core/fold/memory.ts'
import type { AlertEvent, Cycle, Forecast } from '../../../src/core/fold/outputs.ts'
import { lookAt } from '../../../src/core/fold/view.ts'
import type { Step } from '../../../src/core/fold/work.ts'
import { MEMORY_MAX_BYTES } from '../../../src/core/limits.ts'
import { alertExplanation, alertSentence, overSentence } from '../../../src/core/words/alert-words.ts'
import { forecastSentence } from '../../../src/core/words/forecast-sentence.ts'
import { rigSentence } from '../../../src/core/words/rig-sentence.ts'
import { PLAIN } from '../../../src/core/words/tongue.ts'
import { anything, START_S } from './anything.ts'
import { every, inPieces } from './in-pieces.ts'

const DAY_S = 86_400
const DAYS = 16
const END_S = START_S + DAYS * DAY_S
const SEEDS = Array.from({ length: 24 }, (_, index) => index + 1)

/** Where something is no number that text can hold. */
function unwritable(value: unknown, path: string): string[] {
  if (typeof value === 'number') return Number.isFinite(value) ? [] : [`${path} ${value}`]
  if (typeof value !== 'object' || value === null) return value === undefined ? [path] : []
  return Object.entries(value).flatMap(([name, part]) => unwritable(part, `${path}.${name}`))
}

/** What is wrong with the order of an alert's events. */
function disorder(events: readonly AlertEvent[], open: number): string[] {
  const wrong: string[] = []
  const standing = new Map<string, AlertEvent>()
  let beforeS = 0
  for (const event of events) {
    const said = `${event.event} ${event.rule} at ${event.atS}`
    const before = standing.get(event.rule)
    if (event.atS < beforeS || event.sinceS > event.atS || !Number.isInteger(event.sinceS)) wrong.push(said)
    beforeS = event.atS
    if ((before === undefined) !== (event.event === 'raised')) wrong.push(said)
    if (before !== undefined && (before.sinceS !== event.sinceS || before.raisedAtS !== event.raisedAtS))
      wrong.push(`${said}: since`)
    if (event.event === 'changed' && before?.urgency === event.urgency) wrong.push(`${said}: the same`)
    if (event.event === 'over') standing.delete(event.rule)
    else standing.set(event.rule, event)
  }
  return standing.size === open ? wrong : [...wrong, 'alerts that are not open']
}

function badCycles(cycles: readonly Cycle[]): Cycle[] {
  const sorted = [...cycles].sort((a, b) => a.runFromS - b.runFromS)
  return sorted.filter(
    ({ runFromS, runToS, restMin, waterG }, index) =>
      !Number.isInteger(runFromS) ||
      !Number.isInteger(runToS) ||
      runFromS > runToS ||
      restMin < 0 ||
      (waterG ?? 0) < 0 ||
      runFromS < (sorted[index - 1]?.runToS ?? 0),
  )
}

const isBad = ({ takenUpG, capacityG, flightsLeft, daysLeft }: Forecast): boolean =>
  [takenUpG, capacityG, flightsLeft, daysLeft].some(
    (left) => left !== null && !(left.low >= 0 && left.low <= left.mid && left.mid <= left.high),
  )

function sentences(step: Step): string[] {
  const alerts = step.events.flatMap((event) => {
    const { seen, causes, notMeasured, decides, checks } = alertExplanation(event, PLAIN)
    const said = [alertSentence(event, PLAIN), overSentence(event, PLAIN), seen, decides]
    return [...said, ...causes, ...notMeasured, ...checks]
  })
  const fills = step.fills.map(({ forecast }) => forecastSentence(forecast, PLAIN, END_S))
  return [...alerts, ...fills, rigSentence(lookAt(step.memory, END_S), PLAIN, END_S)]
}

function told(inputs: Inputs): { startS: number; step: Step } {
  const startS = inputs.readings[0]?.atS ?? START_S
  return { startS, step: advance(newMemory(startS), inputs, END_S) }
}

test.each(SEEDS)('whatever hubs and people do, nothing impossible is told: %d', (seed) => {
  const { startS, step } = told(anything(seed, DAYS))
  expect(unwritable(step, '')).toEqual([])
  expect(packMemory(step.memory).length).toBeLessThan(MEMORY_MAX_BYTES)
  expect(disorder(step.events, step.memory.rules.open.length)).toEqual([])
  expect(badCycles(step.cycles)).toEqual([])
  expect(step.fills.filter(({ forecast }) => isBad(forecast))).toEqual([])
  expect(sentences(step).filter((text) => /NaN|undefined|null|Infinity/.test(text))).toEqual([])
  const { under40, from40to60, from60to80, over80, gapsH, offH, wet } = lookAt(step.memory, END_S).exposure
  expect(under40 + from40to60 + from60to80 + over80 + gapsH + offH).toBeCloseTo((END_S - startS) / 3600, 3)
  expect(wet).toBeLessThanOrEqual(over80 + 1e-6)
})

test.each(SEEDS.slice(0, 6))('and it is the same from day to day as in one piece: %d', (seed) => {
  const inputs = anything(seed, DAYS)
  const startS = inputs.readings[0]?.atS ?? START_S
  const whole = inPieces(inputs, startS, [END_S])
  expect(inPieces(inputs, startS, every(DAY_S + 700, startS, END_S))).toEqual(whole)
})
