/** What an owner reads of a salt check: accepted or not, why, and what follows. Points by Greenspan 1977. */
import { expect, test } from 'vitest'
import { startSensor, takePoint } from '../../../src/core/fold/sensor-memory.ts'
import { PLAIN } from '../../../src/core/words/tongue.ts'
import { sensorSentence } from '../../../src/core/words/sensor-sentence.ts'

const NOW_S = Date.parse('2026-03-20T12:00:00Z') / 1000
const point = (day: number, shownPct: number, truePct: number) => ({
  atS: Date.parse(`2026-03-${String(day).padStart(2, '0')}T12:00:00Z`) / 1000,
  shownPct,
  truePct,
  sigmaPct: 0.5,
})

function said(points: readonly ReturnType<typeof point>[], refusal: string | null = null): string | null {
  const sensor = startSensor()
  for (const one of points) takePoint(sensor, one)
  if (refusal !== null) sensor.refusal = refusal
  return sensorSentence(sensor, PLAIN, NOW_S)
}

test('nothing is said before there was a check', () => {
  expect(said([])).toBeNull()
})

test.each([
  [
    [point(3, 13.1, 11.3)],
    'The salt check of 3 March was accepted: the sensor showed 13.1 % where the salt has 11.3 %. Readings are corrected by -1.8 %.',
  ],
  [
    [point(3, 10.1, 11.3)],
    'The salt check of 3 March was accepted: the sensor showed 10.1 % where the salt has 11.3 %. Readings are corrected by +1.2 %.',
  ],
  [
    [point(3, 13.1, 11.3), point(5, 33.9, 32.8)],
    'The salt check of 5 March was accepted: the sensor showed 34 % where the salt has 33 %. Readings are corrected by a line through two salts.',
  ],
  [
    [point(3, 77, 75.3)],
    'The salt check of 3 March was accepted: the sensor showed 77 % where the salt has 75 %. Nothing is corrected: so wet a salt only confirms the sensor.',
  ],
  [
    [point(3, 6, 11.3), point(5, 41, 32.8)],
    'The salt check of 5 March was accepted: the sensor showed 41 % where the salt has 33 %. No sensor in order shows both salts so: the newest alone counts. Readings are corrected by -8.2 %.',
  ],
])('%j', (points, sentence) => {
  expect(said(points)).toBe(sentence)
})

test('one that was refused says why, and what holds on', () => {
  expect(said([], 'too_short')).toBe(
    'The last salt check was not accepted: it was shorter than 8 hours. Nothing is corrected.',
  )
  expect(said([point(3, 13.1, 11.3)], 'not_steady')).toBe(
    'The last salt check was not accepted: the humidity was not steady over its last two hours. The one of 3 March holds on. Readings are corrected by -1.8 %.',
  )
})

test.each([
  'too_short',
  'temperature_out_of_range',
  'not_steady',
  'temperature_drifts',
  'too_far_off',
  'unknown_salt',
  'nothing_shown',
])('%s has words', (refusal) => {
  expect(said([], refusal)).toMatch(/^The last salt check was not accepted: .{20,}\. Nothing is corrected\.$/)
})
