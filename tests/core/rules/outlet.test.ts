import { describe, expect, test } from 'vitest'
import { vapourDensityGm3 } from '../../../src/core/air/vapour.ts'
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

/** The pump at rest since long before. */
const calm = () => new Line({ pump: { state: 'rest', basis: 'reported', sinceS: 0 } })

/** Hangar air that goes to and fro about 40 %, every three hours. */
const aboutForty = (hour: number): Step => {
  const pct = Math.floor(hour / 3) % 2 === 0 ? 42 : 38
  return { pct: 18, pump: 'rest', with: { ambientPct: pct, ambientGm3: vapourDensityGm3(pct, 15) } }
}
/** 0.4 % an hour, with noise: over 15 % after an hour, over the limit of 16.2 % for good after four and a half. */
const creepingPct = (h: number) => 14.6 + 0.4 * h + 0.2 * Math.sin(40 * h)

describe('air above the band and the pump at rest', () => {
  test.each([
    ['is said after four and a half hours, the time of a flight', 'ddwwwwww', '......NN'],
    ['is not said for a late poll', 'ddwwrdd', '.......'],
    ['is not said within the tolerance of the outlet', 'dnnnnnnn', '........'],
    ['an hour above the limit is a missed switch, whatever the air does after it', 'wwddddd', '....NNN'],
    ['ends when the pump runs', 'dwwwwwwrr', '.....NN..'],
    ['does not end when the day dries the air: the outlet has not been seen to work', 'wwwwwdd', '....NNN'],
    ['an unknown pump state proves nothing', 'uuuuuuu', '.......'],
  ])('%s', (_, seen, states) => {
    expect(timeline(calm(), 'wet-and-idle', seen, LETTERS, 60)).toBe(states)
  })

  test('where flights are flown and never logged, the hook-up is waited for as long as six hours allow', () => {
    const unlogged = new Line({
      wettedAtS: 1_767_225_600 - 9 * 86_400,
      pump: { state: 'rest', basis: 'reported', sinceS: 0 },
    })
    expect(timeline(unlogged, 'wet-and-idle', 'dwwwwwwwwwwwww', LETTERS, 30)).toBe('............NN')
  })

  test('one reading back in the band does not start the clock again, two do', () => {
    for (const [under, isOpen] of [
      [1, true],
      [2, false],
    ] as const) {
      const line = calm()
      for (let i = 0; i < 58; i++) line.step({ pct: i > 3 && i <= 3 + under ? 14.9 : 18, pump: 'rest' })
      expect(line.isOpen('wet-and-idle')).toBe(isOpen)
    }
  })

  test('air that creeps is waited for from the start limit on, not only from where the outlet is surely late', () => {
    const line = calm()
    line.forHours(6, (h) => ({ pct: creepingPct(h), pump: 'rest' }))
    expect(line.isOpen('wet-and-idle')).toBe(true)
    // Just above the start limit, within the tolerance of the outlet, for however long.
    const within = calm()
    within.forHours(20, (h) => ({ pct: 15.5 + 0.2 * Math.sin(40 * h), pump: 'rest' }))
    expect(within.isOpen('wet-and-idle')).toBe(false)
  })

  test('a gap neither opens nor ends it, and is not time above the limit', () => {
    expect(timeline(calm(), 'wet-and-idle', 'wwwwww____rr', LETTERS, 60)).toBe('....NNNNNN..')
    const long = { ...LETTERS, w: { ...W, with: { offMinBefore: 180 } } }
    expect(timeline(calm(), 'wet-and-idle', 'ww___www', long, 60)).toBe('........')
  })

  test('a gap too short for a flight takes nothing from what was missed before it', () => {
    const told = [40, 90].map((minutes) => {
      const line = calm()
      line.forHours(3, W)
      line.forHours(minutes / 60, {})
      line.forHours(2, { ...W, with: { offMinBefore: minutes - 5 } })
      return line.isOpen('wet-and-idle')
    })
    expect(told).toEqual([true, false])
  })

  test('is one alert however often the air crosses the limit while it is open', () => {
    const line = calm()
    timeline(line, 'wet-and-idle', 'wwwwwnwwnwwwnww', LETTERS, 60)
    expect(line.events.map((e) => e.event)).toEqual(['raised'])
  })

  test('a band that is raised above the air leaves nothing missed', () => {
    const line = calm()
    timeline(line, 'wet-and-idle', 'dww', LETTERS, 60)
    const settings = { ...line.moment.settings, band: { startPct: 20, stopPct: 8 } }
    line.forHours(6, { pct: 18, pump: 'rest', with: { settings, switchStartPct: 20 } })
    expect(line.events).toEqual([])
    line.forHours(6, { pct: 22, pump: 'rest' })
    expect(line.isOpen('wet-and-idle')).toBe(true)
  })

  test('waits for three of the longest usual spacings', () => {
    const line = new Line({ spacingS: 7200, pump: { state: 'rest', basis: 'reported', sinceS: -1e6 } })
    expect(timeline(line, 'wet-and-idle', 'wwwwwwwww', LETTERS, 60)).toBe('......NNN')
  })

  test('is a visit where the hangar air cannot take the metal over 40 %', () => {
    const line = new Line({
      ambientGm3: 4,
      ambientPct: 31,
      pump: { state: 'rest', basis: 'reported', sinceS: 0 },
    })
    expect(timeline(line, 'wet-and-idle', 'wwwwww', LETTERS, 60)).toBe('....oo')
    expect(line.open[0]?.evidence).toMatchObject({ t40H: null })
  })

  test('is not now and visit in turn where the hangar air goes to and fro about 40 %', () => {
    const line = new Line({ metalPct: 30, pump: { state: 'rest', basis: 'reported', sinceS: 0 } })
    line.forHours(48, aboutForty)
    expect(line.events.map(({ event, urgency }) => `${event} ${urgency}`)).toEqual([
      'raised visit',
      'changed now',
    ])
    expect(line.open[0]?.evidence['t40H']).toBeGreaterThan(0)
    line.forHours(2, {
      pct: 18,
      pump: 'rest',
      with: { ambientPct: 29, ambientGm3: vapourDensityGm3(29, 15) },
    })
    expect(line.open[0]?.urgency).toBe('visit')
    expect(line.open[0]?.evidence['t40H']).toBeNull()
  })

  test('needs the pump state or its power, and says so', () => {
    const line = new Line({ pump: { state: 'rest', basis: 'inferred', sinceS: null } })
    expect(timeline(line, 'wet-and-idle', 'wwwwwww', LETTERS)).toBe('.......')
    expect(line.memory.unknown.find((u) => u.what === 'wet-and-idle')?.why).toContain(
      'neither the pump nor its power',
    )
  })

  test('leaves a rig that has not been seen back on after a flight to the rule for that', () => {
    const line = new Line({
      unansweredFlightAtS: 1_767_225_600 - 5 * 3600,
      flightAtS: 1_767_225_600 - 5 * 3600,
    })
    line.forHours(12, { pct: 18, pump: 'rest' })
    expect(line.isOpen('wet-and-idle')).toBe(false)
    line.forHours(5, { pct: 18, pump: 'rest', with: { unansweredFlightAtS: null } })
    expect(line.isOpen('wet-and-idle')).toBe(true)
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

  test('above stop nothing has to stop the pump, wherever it was seen to stop', () => {
    const line = new Line({ switchStopPct: 12 })
    const near = { ...letters, s: { pct: 6.3, pump: 'run' } } as const
    expect(timeline(line, 'stuck-running', 'ssssssssssss', near, 60)).toBe('............')
  })

  test('readings that look noisy do not hide an outlet that is past its limit for three hours', () => {
    const noisy = { sensor: { sigmaPct: 1.5, stepPct: 0.5, stuckShare: 0.2 } }
    const line = new Line(noisy)
    expect(timeline(line, 'stuck-running', 'llllll', letters, 60)).toBe('...ooo')
    const idle = new Line({ ...noisy, pump: { state: 'rest', basis: 'reported', sinceS: 0 } })
    expect(timeline(idle, 'wet-and-idle', 'wwwwww', LETTERS, 60)).toBe('....NN')
  })
})
