import { describe, expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { LogEntry, Place, Reading } from '../../../src/core/fold/inputs.ts'
import { type Memory, newMemory, packMemory } from '../../../src/core/fold/memory.ts'
import { timestampText } from '../../../src/core/ingest/instant.ts'
import { MEMORY_MAX_BYTES } from '../../../src/core/limits.ts'
import { DAY_ZERO_S, sawTooth, seeded, SETTINGS } from './saw-tooth.ts'

const DAY_S = 86_400
const WEEK_S = 7 * DAY_S

/** Everything a rig can have: all four places, temperature, power, noise, the heaviest column there is. */
const HEAVY = { ...SETTINGS, beadMassG: 3000, reportEveryS: 300, pumpOnW: 2 }

/** The trace of a rig with a sensor at every place, each with its own weather. */
function fullTrace(days: number, everyS: number): Reading[] {
  const random = seeded(3)
  const others: readonly Place[] = ['supply', 'ambient', 'engine']
  const readings: Reading[] = []
  for (const reading of sawTooth({ days, everyS, noisePct: 0.4, ingressPerH: 0.05 })) {
    const tempC = 12 + 8 * Math.sin((reading.atS / DAY_S) * 6.28) + random()
    readings.push({ ...reading, tempC, powerW: reading.pumpOn === true ? 4 + random() : 0.4 })
    for (const place of others) {
      const humidityPct = place === 'ambient' ? 70 + 25 * random() : 4 + 8 * random()
      readings.push({
        atS: reading.atS,
        place,
        humidityPct,
        tempC: tempC + random(),
        pumpOn: null,
        powerW: null,
      })
    }
  }
  return readings
}

const until = (day: number): string => timestampText(Math.round(DAY_ZERO_S + day * DAY_S))

/** Every kind of entry, again and again: a flight a week, a bake in turn of six jars a month, all the checks. */
function fullLog(days: number): LogEntry[] {
  const log: LogEntry[] = []
  const add = (day: number, what: string, detail: Record<string, string> = {}): void => {
    if (day < days) log.push({ atS: DAY_ZERO_S + Math.round(day * DAY_S), what, detail })
  }
  for (let day = 0; day < days; day += 28) {
    const jar = `jar ${(day / 28) % 6}`
    add(day + 0.1, day % 56 === 0 ? 'bake' : 'beads', {
      tempC: '120',
      beforeG: '3600',
      afterG: '3300',
      jar,
      massG: '3000',
    })
    add(day + 1, 'floor-check', { until: until(day + 1.3) })
    add(day + 2, 'loop-test', { until: until(day + 2.1) })
    add(day + 3, 'salt-check', { salt: 'LiCl', until: until(day + 3.5) })
    add(day + 4, 'salt-check', { salt: 'MgCl2', until: until(day + 4.5) })
    for (let week = 0; week < 28; week += 7) {
      add(day + week + 5, 'flight', { hours: '1.5' })
      add(day + week + 5.1, 'on')
      add(day + week + 6, 'weighing', { grossG: String(4000 + day + week) })
    }
    add(day + 8, 'off')
    add(day + 8.2, 'on')
    add(day + 9, 'power-off')
    add(day + 10, 'preheat')
    add(day + 11, 'away', { until: until(day + 12) })
    add(day + 13, 'note', { text: 'looked at the beads' })
    add(day + 14, 'sensor', { change: day % 84 === 0 ? 'replaced' : 'battery' })
  }
  return log.sort((a, b) => a.atS - b.atS)
}

/** The same readings said over and over, every few seconds, as some hubs do. */
function hasty(readings: readonly Reading[]): Reading[] {
  const often: Reading[] = []
  for (const reading of readings)
    for (let afterS = 0; afterS < 30; afterS += 5) often.push({ ...reading, atS: reading.atS + afterS })
  return often
}

/** Bytes of the memory at the end of each week; within it at odd times too, so that runs and checks are caught halfway. */
function bytesByWeek(days: number, readings: readonly Reading[]): number[] {
  const log = fullLog(days)
  const settings = [{ fromS: 0, settings: HEAVY }]
  const largest: number[] = []
  let memory: Memory = newMemory(DAY_ZERO_S)
  let [reading, entry] = [0, 0]
  for (let fromS = DAY_ZERO_S; fromS < DAY_ZERO_S + days * DAY_S; fromS += WEEK_S) {
    let bytes = 0
    for (let part = 1; part <= 24; part++) {
      const untilS = fromS + Math.round((part * WEEK_S) / 24)
      const fresh: Reading[] = []
      for (let next = readings[reading]; next !== undefined && next.atS <= untilS; next = readings[reading]) {
        fresh.push(next)
        reading += 1
      }
      const entries: LogEntry[] = []
      for (let next = log[entry]; next !== undefined && next.atS <= untilS; next = log[entry]) {
        entries.push(next)
        entry += 1
      }
      memory = advance(memory, { readings: fresh, log: entries, settings }, untilS).memory
      bytes = Math.max(bytes, packMemory(memory).length)
    }
    largest.push(bytes)
  }
  return largest
}

describe('the memory of a rig with everything', () => {
  const weeks = bytesByWeek(364, fullTrace(364, 900))

  test('is largest far below its limit', () => {
    expect(Math.max(...weeks)).toBeLessThan(0.75 * MEMORY_MAX_BYTES)
  })

  test('is after a year what it was after four weeks', () => {
    const early = Math.max(...weeks.slice(0, 4))
    expect(Math.max(...weeks.slice(4))).toBeLessThan(1.1 * early)
  })

  test('does not grow with how often a hub reports', () => {
    const trace = fullTrace(7, 30).filter(({ place }) => place === 'return')
    const [usual = 0] = bytesByWeek(7, trace)
    const [often = 0] = bytesByWeek(7, hasty(trace))
    expect(often).toBeLessThan(1.05 * usual)
  })
})
