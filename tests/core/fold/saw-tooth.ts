import type { Inputs, LogEntry, Reading, RigSettings } from '../../../src/core/fold/inputs.ts'

/** 2026-03-01T00:00:00Z. */
export const DAY_ZERO_S = 1_772_323_200

export const SETTINGS: RigSettings = {
  band: { startPct: 15, stopPct: 6 },
  beadMassG: 2000,
  beadKind: 'regular-gel',
  volumeL: 45,
  flowLPerMin: 2.5,
  reportEveryS: null,
  elevationM: 0,
  pumpOnW: null,
  switchTolPct: 1,
  sensorSits: 'box',
  boxL: 2,
  ambient: { humidityPct: 60, tempC: 15 },
}

export type SawTooth = {
  readonly days: number
  readonly everyS?: number
  readonly kPerH?: number
  readonly floorPct?: number
  readonly ingressPerH?: number
  readonly tempC?: number
  readonly noisePct?: number
  readonly stepPct?: number
  readonly basis?: 'reported' | 'power' | 'inferred'
  readonly from?: number
  readonly stopPct?: number
}

/** A small generator with a seed (mulberry32): noise without the platform's randomness. */
export function seeded(seed: number): () => number {
  let state = seed
  return () => {
    state = (state + 0x6d2b79f5) | 0
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state)
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296
  }
}

/**
 * The plain saw-tooth of a rig in order, at one temperature: the engine's air rises by the closed form of a well-mixed
 * box and is dried by a single exponential; the box shows it only while the pump runs, and lags behind at rest.
 */
export function sawTooth(options: SawTooth): Reading[] {
  const {
    everyS = 300,
    kPerH = 2,
    floorPct = 2,
    ingressPerH = 0.015,
    tempC = 15,
    noisePct = 0,
    stepPct = 0.01,
    stopPct = 6,
  } = options
  const fromS = options.from ?? DAY_ZERO_S
  const random = seeded(7)
  const readings: Reading[] = []
  let enginePct = 14
  let boxPct = 10
  let isOn = false
  const dtH = 30 / 3600
  for (let atS = fromS; atS <= fromS + options.days * 86_400; atS += 30) {
    if (isOn) {
      enginePct = floorPct + (enginePct - floorPct) * Math.exp(-kPerH * dtH)
      boxPct += (enginePct - boxPct) * (1 - Math.exp(-60 * dtH))
    } else {
      enginePct = 60 - (60 - enginePct) * Math.exp(-ingressPerH * dtH)
      boxPct += (enginePct * 0.98 - boxPct) * (1 - Math.exp(-0.5 * dtH))
    }
    if (!isOn && boxPct >= 15) isOn = true
    else if (isOn && boxPct <= stopPct) isOn = false
    if ((atS - fromS) % everyS !== 0) continue
    const noisy = boxPct + noisePct * (random() + random() + random() - 1.5) * 2
    const humidityPct = Math.min(100, Math.max(0, Math.round(noisy / stepPct) * stepPct))
    readings.push({
      atS,
      place: 'return',
      humidityPct: Math.round(humidityPct * 100) / 100,
      tempC,
      pumpOn: (options.basis ?? 'reported') === 'reported' ? isOn : null,
      powerW: options.basis === 'power' ? (isOn ? 4.1 : 0.3) : null,
    })
  }
  return readings
}

export function inputsOf(
  readings: readonly Reading[],
  log: readonly LogEntry[] = [],
  settings = SETTINGS,
): Inputs {
  return { readings, log, settings: [{ fromS: 0, settings }] }
}
