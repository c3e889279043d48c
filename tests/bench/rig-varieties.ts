import type { Flight, RigPlan } from '../../src/core/rig/plan.ts'
import { typicalPlan } from '../../src/core/rig/plan.ts'
import {
  type Random,
  nextAround,
  nextBetween,
  nextNormal,
  nextUniform,
  randomOfSeed,
} from '../../src/core/rig/random.ts'
import { CLIMATES, type Climate } from '../../src/core/rig/weather.ts'

const HOUR = 3600
const DAY = 24 * HOUR

function oneOf<T>(random: Random, values: readonly T[]): T {
  const value = values[Math.floor(nextUniform(random) * values.length)]
  if (value === undefined) throw new Error('nothing to choose from')
  return value
}

const chance = (random: Random, share: number) => nextUniform(random) < share
const logBetween = (random: Random, low: number, high: number) =>
  Math.exp(nextBetween(random, Math.log(low), Math.log(high)))

/** Start and stop limits that owners use, % RH. */
const BANDS = [
  [13, 5],
  [15, 6],
  [16, 6],
  [15, 8],
  [18, 8],
  [20, 10],
  [25, 10],
  [30, 15],
] as const

function variedClimate(random: Random): Climate {
  const name = oneOf(random, ['temperate', 'coast', 'desert', 'cold', 'warm', 'heated'] as const)
  const base: Climate = CLIMATES[name]
  return {
    ...base,
    meanC: base.meanC + 2 * nextNormal(random),
    dayK: base.dayK * nextBetween(random, 0.6, 1.4),
    humidityPct: Math.min(85, Math.max(15, base.humidityPct + 5 * nextNormal(random))),
    phase: nextUniform(random),
  }
}

/** Weekly to monthly flights over `days`, at the owner's own pace, wetter or drier. */
function variedFlights(random: Random, startS: number, days: number): Flight[] {
  const everyDays = logBetween(random, 7, 30)
  const isRigLogged = chance(random, 0.5)
  const isLogging = chance(random, 0.9)
  const hub = chance(random, 0.7) ? 'on' : 'silent'
  const waterG = logBetween(random, 4, 16)
  const flights: Flight[] = []
  let atS = startS + nextBetween(random, 2, 2 + everyDays) * DAY
  while (atS < startS + days * DAY) {
    const offS = Math.round(atS / DAY) * DAY + nextBetween(random, 8, 15) * HOUR
    const landS = offS + nextBetween(random, 1, 4) * HOUR
    // Most owners hook up when the engine has cooled, some the next morning.
    const afterH = chance(random, 0.85) ? nextBetween(random, 1, 4) : nextBetween(random, 14, 22)
    flights.push({
      offS: Math.round(offS),
      landS: Math.round(landS),
      onS: Math.round(landS + afterH * HOUR),
      waterG: nextAround(random, waterG, 1.5),
      heatK: nextBetween(random, 30, 65),
      isLogged: isLogging,
      isRigLogged,
      hub,
    })
    atS = landS + Math.max(2, everyDays * nextBetween(random, 0.4, 1.6)) * DAY
  }
  return flights
}

/** Now and then a hub is cut off for up to an hour and a half: ordinary, and no fault. */
function shortGaps(random: Random, startS: number, days: number): RigPlan['faults'] {
  const everyDays = logBetween(random, 10, 120)
  const gaps: RigPlan['faults'][number][] = []
  for (let atS = startS + everyDays * DAY * nextUniform(random); atS < startS + days * DAY;) {
    gaps.push({ kind: 'silent', fromS: atS, untilS: atS + nextBetween(random, 0.2, 1.5) * HOUR, size: 1 })
    atS += everyDays * DAY * nextBetween(random, 0.3, 1.7)
  }
  return gaps
}

/** A sensor whose error leaves the stop limit within reach of healthy beads: others are a fault of their own. */
function variedOffset(random: Random, stopPct: number): number {
  for (let round = 0; round < 20; round++) {
    const offset = 2 * nextNormal(random)
    if (Math.abs(offset) <= 4 && stopPct - offset >= 3) return offset
  }
  return 0
}

/**
 * A healthy rig of its own kind: every quantity anywhere within what people build and where they keep it. `days` is how
 * long it will be watched.
 */
export function variedPlan(seed: number, startS: number, days: number): RigPlan {
  const random = randomOfSeed(seed * 7919 + 17)
  const base = typicalPlan(seed, startS)
  const [startPct, stopPct] = oneOf(random, BANDS)
  const everyS = oneOf(random, [60, 120, 180, 300, 300, 600])
  const volumeL = nextBetween(random, 25, 65)
  const massG = logBetween(random, 500, 3000)
  const stepPct = oneOf(random, [0.01, 0.1, 0.1, 0.5, 1])
  const mode = oneOf(random, ['steady', 'steady', 'steady', 'on-change', 'cached'] as const)
  return {
    ...base,
    volumeL,
    boxL: nextBetween(random, 1, 4),
    flowLPerMin: nextBetween(random, 1, 4),
    beads: {
      ...base.beads,
      kind: oneOf(random, ['regular-gel', 'regular-gel', 'fine-pore-gel', 'round-pore-gel']),
      massG,
      scale: Math.min(1.6, Math.max(0.5, nextAround(random, 0.9, 1.3))),
      cells: Math.max(6, Math.round(massG / 110)),
      approach: nextBetween(random, 0.6, 1),
      firstBakeC: nextBetween(random, 100, 130),
      bakeC: Math.round(nextBetween(random, 105, 130)),
      bakeAtExitPct: stopPct * nextBetween(random, 0.35, 0.6),
      isWeighed: chance(random, 0.4),
    },
    engine: {
      filmRatio: nextBetween(random, 0, 2),
      filmHours: logBetween(random, 0.3, 4),
      oilRatio: nextBetween(random, 0, 6),
      oilHours: logBetween(random, 6, 36),
      metalLagH: nextBetween(random, 2, 6),
      evaporationLPerMin: logBetween(random, 15, 150),
      coolingH: nextBetween(random, 1.5, 4),
    },
    leaks: {
      engineLPerH: (volumeL / 45) * logBetween(random, 0.25, 2),
      boxLPerH: 2 * logBetween(random, 0.005, 0.05),
      suctionShare: chance(random, 0.7) ? 0 : nextBetween(random, 0, 0.01),
      breathing: nextUniform(random),
      siphonLPerHK: chance(random, 0.75) ? 0 : nextBetween(random, 0, 0.4),
      restLPerH: logBetween(random, 0.02, 0.5),
    },
    pump: { heatK: nextBetween(random, 2, 8), powerW: nextBetween(random, 2.5, 6) },
    openHosesPerH: logBetween(random, 0.3, 5),
    climate: variedClimate(random),
    sensor: {
      sits: chance(random, 0.85) ? 'box' : 'engine',
      noisePct: logBetween(random, 0.05, 0.5),
      stepPct,
      offsetPct: variedOffset(random, stopPct),
      gain: 1 + 0.03 * nextNormal(random),
      lagS: logBetween(random, 8, 150),
      tempStepC: oneOf(random, [0.01, 0.1, 0.1, 0.5]),
    },
    outlet: {
      startPct,
      stopPct,
      stateLagS: chance(random, 0.5) ? 0 : nextBetween(random, 60, 900),
    },
    hub: {
      everyS,
      mode,
      quietMaxS: oneOf(random, [900, 1800, 3600]),
      renewS: mode === 'cached' ? oneOf(random, [300, 600, 900]) : everyS,
      hasTemp: chance(random, 0.85),
      hasPump: chance(random, 0.75),
      hasPower: chance(random, 0.25),
      hasAmbient: chance(random, 0.4),
      hasSupply: chance(random, 0.1),
      hasEngine: chance(random, 0.05),
      lostShare: chance(random, 0.5) ? 0 : nextBetween(random, 0, 0.03),
    },
    flights: variedFlights(random, startS, days),
    faults: shortGaps(random, startS, days),
    // The owner tells that fresh beads went in; a fill already running has no known start.
    bakes: chance(random, 0.8)
      ? [{ atS: startS + 2 * HOUR, tempC: base.beads.bakeC, isLogged: true, isWeighed: false }]
      : [],
  }
}

/** What somebody needs to know to find a rig's failure again. */
export function describeRig(plan: RigPlan): string {
  const { hub, sensor, outlet, beads, leaks } = plan
  const has = (['hasTemp', 'hasPump', 'hasPower', 'hasAmbient'] as const).filter((name) => hub[name])
  return [
    `${plan.volumeL.toFixed(0)} L ${plan.flowLPerMin.toFixed(1)} L/min ${beads.massG.toFixed(0)} g ${beads.kind}`,
    `band ${outlet.stopPct}/${outlet.startPct} every ${hub.everyS} s ${hub.mode}`,
    `noise ${sensor.noisePct.toFixed(2)} step ${sensor.stepPct} offset ${sensor.offsetPct.toFixed(1)} ${sensor.sits}`,
    `leak ${leaks.engineLPerH.toFixed(2)} L/h siphon ${leaks.siphonLPerHK.toFixed(2)} lag ${outlet.stateLagS.toFixed(0)} s`,
    `mean ${plan.climate.meanC.toFixed(0)} degC ${plan.climate.humidityPct.toFixed(0)} %`,
    has.map((name) => name.slice(3).toLowerCase()).join('+') || 'humidity alone',
    plan.flights[0]?.isLogged === false ? 'flights not logged' : '',
  ]
    .filter((part) => part !== '')
    .join(', ')
}
