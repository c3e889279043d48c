import { expect, test } from 'vitest'
import { sigmaPct, startNoise, takeNoise } from '../../../src/core/trace/noise.ts'
import { nextNormal, randomOfSeed } from '../../../src/core/rig/random.ts'

/**
 * Noise as it is read from air that climbs and falls slowly, a reading a minute for eight days, % RH. `leastPct`: the hub leaves out what
 * differs by less from its last report; `null`: it posts all.
 */
function readSigmaPct(noisePct: number, stepPct: number, leastPct: number | null): number {
  const memory = startNoise()
  const random = randomOfSeed(5)
  let postedPct = -1
  for (let i = 0; i < 12000; i++) {
    const airPct = 8 + 4 * Math.sin(i / 300) + noisePct * nextNormal(random)
    const shownPct = Math.round(airPct / stepPct) * stepPct
    if (leastPct !== null && Math.abs(shownPct - postedPct) < leastPct) continue
    postedPct = shownPct
    takeNoise(memory, shownPct, i * 60, true)
  }
  return sigmaPct(memory)
}

test.each([
  ['a steady hub, fine steps', 0.3, 0.01, null],
  ['a steady hub, whole percents', 0.5, 1, null],
  ['a hub that reports on change, fine steps', 0.3, 0.01, 0.005],
])('%s: the noise is read within a third', (_, noisePct, stepPct, leastPct) => {
  const read = readSigmaPct(noisePct, stepPct, leastPct)
  expect(read).toBeGreaterThan(noisePct / 1.35)
  expect(read).toBeLessThan(noisePct * 1.35)
})

test('a hub that reports whole percents on change does not look as noisy as its readings alternate', () => {
  for (const noisePct of [0.2, 0.3, 0.5, 0.8]) {
    const read = readSigmaPct(noisePct, 1, 0.5)
    expect(read).toBeGreaterThanOrEqual(Math.sqrt(1 / 12))
    expect(read).toBeLessThan(1)
  }
})

test.each([0.1, 0.3, 0.5])(
  'a hub that posts what differs by 2.7 sigma, %f, shows the two ends of its noise, not three times as much',
  (noisePct) => {
    const read = readSigmaPct(noisePct, 0.01, 2.7 * noisePct)
    expect(read).toBeGreaterThan(noisePct)
    expect(read).toBeLessThan(2 * noisePct)
  },
)
