import { describe, expect, test } from 'vitest'
import { Line, timeline, type Step } from './moment.ts'

const W: Step = { pct: 18, pump: 'rest' }
const LETTERS: Readonly<Record<string, Step>> = {
  w: W,
  d: { pct: 10, pump: 'rest' },
  r: { pct: 18, pump: 'run' },
  n: { pct: 15.9, pump: 'rest' },
  _: {},
  u: { pct: 18, pump: 'unknown' },
}

describe('air above the band and the pump at rest', () => {
  test.each([
    ['is said after half an hour', 'ddwwwww', '.....NN'],
    ['is not said for a late poll', 'ddwwrdd', '.......'],
    ['is not said within the tolerance of the outlet', 'dnnnnnnn', '........'],
    ['one dry reading starts the clock again', 'wwwdwwww', '.......N'],
    ['ends when the pump runs', 'wwwwwrr', '...NN..'],
    ['ends when the air is back in the band', 'wwwwwdd', '...NN..'],
    ['a gap neither opens nor ends it', 'wwwww____dd', '...NNNNNN..'],
    ['a gap is not time above the limit', 'ww___www', '........'],
    ['an unknown pump state proves nothing', 'uuuuuuu', '.......'],
  ])('%s', (_, seen, states) => {
    expect(timeline(new Line(), 'wet-and-idle', seen, LETTERS)).toBe(states)
  })

  test('is one alert however often the air crosses the limit while it is open', () => {
    const line = new Line()
    timeline(line, 'wet-and-idle', 'wwwwwnwwnwwwnww', LETTERS)
    expect(line.events.map((e) => e.event)).toEqual(['raised'])
  })

  test('waits for three of the longest usual spacings', () => {
    const line = new Line({ spacingS: 1200 })
    expect(timeline(line, 'wet-and-idle', 'wwwwwwwww', LETTERS)).toBe('......NNN')
  })

  test('is a visit where the hangar air cannot take the metal over 40 %', () => {
    const line = new Line({ ambientGm3: 4, ambientPct: 31 })
    expect(timeline(line, 'wet-and-idle', 'wwwww', LETTERS)).toBe('...oo')
    expect(line.open[0]?.evidence).toMatchObject({ t40H: null })
  })

  test('needs the pump state or its power, and says so', () => {
    const line = new Line({ pump: { state: 'rest', basis: 'inferred', sinceS: null } })
    expect(timeline(line, 'wet-and-idle', 'wwwwwww', LETTERS)).toBe('.......')
    expect(line.memory.unknown.find((u) => u.what === 'wet-and-idle')?.why).toContain(
      'neither the pump nor its power',
    )
  })

  test('judges nothing while the rig is logged off', () => {
    const line = new Line({ suspended: 'off' })
    expect(timeline(line, 'wet-and-idle', 'wwwwwwww', LETTERS)).toBe('........')
  })
})

describe('air below the band and the pump on', () => {
  const letters: Readonly<Record<string, Step>> = {
    l: { pct: 3, pump: 'run' },
    s: { pct: 5.2, pump: 'run' },
    m: { pct: 9, pump: 'run' },
    p: { pct: 5, pump: 'rest' },
    _: {},
    c: { pct: 3, pump: 'run', with: { isFloorCheck: true } },
    e: { pct: 3, pump: 'run', with: { isFloorCheck: false } },
  }

  test.each([
    ['is said after half an hour', 'mllllll', '....ooo'],
    ['is not said of a run that ends late', 'mllpppp', '.......'],
    ['ends when the pump rests', 'llllllpp', '...ooo..'],
    ['ends when the air is wetter', 'llllllmm', '...ooo..'],
    ['is silent during a floor check and counts from its end', 'cccccceeeee', '.........oo'],
    ['a gap neither opens nor ends it', 'lllll____l', '...ooooooo'],
  ])('%s', (_, seen, states) => {
    expect(timeline(new Line(), 'stuck-running', seen, letters)).toBe(states)
  })

  test('a floor between the two limits is said after eight hours', () => {
    const line = new Line()
    expect(timeline(line, 'stuck-running', 'sssssssss', letters, 60)).toBe('........o')
  })
})
