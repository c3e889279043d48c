import { expect, test } from 'vitest'
import { sigmaPct, startNoise, takeNoise } from '../../../src/core/trace/noise.ts'
import { nextNormal, randomOfSeed } from '../../../src/core/rig/random.ts'

/** Noise as it is read from air that climbs slowly, a reading every five minutes, % RH. */
function readSigmaPct(noisePct: number, stepPct: number, isOnChange: boolean): number {
  const memory = startNoise()
  const random = randomOfSeed(5)
  let postedPct = -1
  for (let i = 0; i < 3000; i++) {
    const airPct = 8 + 4 * Math.sin(i / 60) + noisePct * nextNormal(random)
    const shownPct = Math.round(airPct / stepPct) * stepPct
    if (isOnChange && shownPct === postedPct) continue
    postedPct = shownPct
    takeNoise(memory, shownPct, i * 300, true)
  }
  return sigmaPct(memory)
}

test.each([
  ['a steady hub, fine steps', 0.3, 0.01, false],
  ['a steady hub, whole percents', 0.5, 1, false],
  ['a hub that reports on change, fine steps', 0.3, 0.01, true],
])('%s: the noise is read within a third', (_, noisePct, stepPct, isOnChange) => {
  const read = readSigmaPct(noisePct, stepPct, isOnChange)
  expect(read).toBeGreaterThan(noisePct / 1.35)
  expect(read).toBeLessThan(noisePct * 1.35)
})

test('a hub that reports whole percents on change does not look as noisy as its readings alternate', () => {
  for (const noisePct of [0.2, 0.3, 0.5, 0.8]) {
    const read = readSigmaPct(noisePct, 1, true)
    expect(read).toBeGreaterThanOrEqual(Math.sqrt(1 / 12))
    expect(read).toBeLessThan(1)
  }
})
