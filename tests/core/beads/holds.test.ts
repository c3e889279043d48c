import { describe, expect, test } from 'vitest'
import { type FillEnd, holdsAfter, nextFillSd } from '../../../src/core/beads/holds.ts'

const over = (share: number): FillEnd => ({ share, kind: 'over' })

describe('what a jar holds, by the ledgers of its earlier fills', () => {
  test('a fill that was used up says it, to an eighth or so', () => {
    const holds = holdsAfter(null, over(150))
    expect(Math.exp(holds?.mean ?? 0)).toBeCloseTo(150, 6)
    expect(holds?.sd).toBeGreaterThan(0.13)
    expect(holds?.sd).toBeLessThan(0.2)
  })

  test('the next fills average, and old ones fade because beads age', () => {
    let holds = holdsAfter(null, over(150))
    for (let fill = 0; fill < 8; fill++) holds = holdsAfter(holds, over(120))
    expect(Math.exp(holds?.mean ?? 0)).toBeGreaterThan(119)
    expect(Math.exp(holds?.mean ?? 0)).toBeLessThan(122)
    expect(holds?.sd).toBeGreaterThan(0.1)
  })

  test('an exit that had begun to rise tells of as much more as its front has left, less surely', () => {
    const risen = holdsAfter(null, { share: 90, kind: 'rising', part: 0.9 })
    expect(Math.exp(risen?.mean ?? 0)).toBeCloseTo(100, 6)
    const atStop = holdsAfter(null, { share: 90, kind: 'rising', part: 1 })
    expect(Math.exp(atStop?.mean ?? 0)).toBeCloseTo(90, 6)
    // However blunt the column: no more than a fifth.
    const blunt = holdsAfter(null, { share: 80, kind: 'rising', part: 0.3 })
    expect(Math.exp(blunt?.mean ?? 0)).toBeCloseTo(100, 6)
    expect(risen?.sd).toBeGreaterThan(holdsAfter(null, over(90))?.sd ?? 1)
  })

  test('a fill baked in time without a sign only says that it held more than it took up', () => {
    const early: FillEnd = { share: 60, kind: 'no-sign' }
    expect(holdsAfter(null, early)).toBeNull()
    const known = holdsAfter(null, over(150))
    expect(holdsAfter(known, early)?.mean).toBe(known?.mean)
    expect(holdsAfter(known, early)?.sd).toBeGreaterThan(known?.sd ?? 0)
    expect(Math.exp(holdsAfter(known, { share: 170, kind: 'no-sign' })?.mean ?? 0)).toBeCloseTo(170, 6)
  })

  test('one fill is told less surely than the jar: it has a scatter of its own, however many went before', () => {
    let holds = holdsAfter(null, over(150))
    for (let fill = 0; fill < 20; fill++) holds = holdsAfter(holds, over(150))
    if (holds === null) throw new Error('a fill that was used up tells something')
    expect(nextFillSd(holds)).toBeGreaterThan(0.17)
    expect(nextFillSd(holds)).toBeGreaterThan(holds.sd + 0.04)
  })

  test('an empty ledger changes nothing', () => {
    const known = holdsAfter(null, over(150))
    expect(holdsAfter(known, over(0))).toBe(known)
  })
})
