import { heldSaturationGm3 } from '../air/held-saturation.ts'
import { FLIGHT_MIN } from '../rules/drying.ts'
import type { Sample } from '../rules/rule.ts'
import { correctPct } from '../sensor/correction.ts'
import { breakNoise, sigmaPct, stepPct, takeNoise } from '../trace/noise.ts'
import { takeMetered } from '../trace/metered.ts'
import { forgetPump, takePower } from '../trace/pump.ts'
import { gapMaxS, ordinarySpacingS, takeSpacing } from '../trace/spacing.ts'
import { makeEligible } from '../trace/wet-gate.ts'
import { ambientAt, stoodInTempC } from './ambient.ts'
import { account } from './exposure.ts'
import { startUnknownFill } from './fill.ts'
import type { Reading } from './inputs.ts'
import { isRigAway } from './log-memory.ts'
import type { PlaceMemory } from './memory.ts'
import { takeRollup } from './rollup-memory.ts'
import { takeLedger } from './ledger.ts'
import { watchOff } from './off-watch.ts'
import { breakCycle, decidePump, takeReturn } from './take-return.ts'
import { takeSoaking } from './sensor-memory.ts'
import { takeCheckSample } from './step-log.ts'
import { takeGap, takeUnheard } from './uncounted.ts'
import type { Work } from './work.ts'

function sampleOf(work: Work, reading: Reading, place: PlaceMemory): Sample {
  const { correction } = work.memory.sensor
  const tempC = reading.tempC ?? place.heldTempC
  const { humidityPct } = reading
  const isCorrected = humidityPct !== null && reading.place === 'return' && correction.kind !== 'none'
  const correctedPct = isCorrected ? correctPct(correction, humidityPct) : humidityPct
  const airC = tempC ?? stoodInTempC(work.memory, work.settings, reading.atS)
  return {
    atS: reading.atS,
    place: reading.place,
    humidityPct,
    correctedPct,
    tempC,
    densityGm3: correctedPct === null ? null : (correctedPct / 100) * heldSaturationGm3(airC),
    pumpOn: reading.pumpOn,
    powerW: reading.powerW,
  }
}

/** A silence of the return sensor that is a gap: what was held is forgotten, the cycle does not count. */
export function startGap(work: Work): void {
  const { memory } = work
  memory.inGap = true
  forgetPump(memory.pump)
  breakCycle(work)
  breakNoise(memory.noise)
  memory.trail.length = 0
  memory.log.offWatch.top = null
  memory.air = null
}

/**
 * Hoses that lie open let in three tenths of the difference to the hangar an hour at the least, so the quarter of it that a flight
 * lasts; a box that has risen by less than half of that was not opened, and no engine was flown in that gap.
 */
const OPENED_SHARE = 0.13
/** Two readings tell as much from nothing where it is three of their deviations. */
const CLOSED_SIGMAS = 3

/** Whether the air in the box shows that it stayed closed: dry before the gap and, against the hangar's, after it. */
function wasClosed(work: Work, before: Sample, reading: Reading): boolean {
  const { band, sensorSits } = work.settings
  const beforePct = before.humidityPct
  const { humidityPct, atS } = reading
  if (sensorSits === 'engine' || beforePct === null || humidityPct === null) return false
  if (beforePct > band.startPct || humidityPct > band.startPct) return false
  const hangar = ambientAt(work.memory, work.settings, atS)
  if (!hangar.isMeasured && work.settings.ambient === null) return false
  const opensPct = OPENED_SHARE * (hangar.humidityPct - beforePct)
  const tellsPct = CLOSED_SIGMAS * Math.hypot(sigmaPct(work.memory.noise), stepPct(work.memory.noise))
  return opensPct >= tellsPct && humidityPct - beforePct <= opensPct
}

/**
 * The first return reading after a gap, and the last `before` it. Of the time between the two readings one spacing would have passed
 * without a gap as well. What is left is too short for a flight or not: a shorter gap wets no engine, and a plateau that stood before it
 * is the same plateau after it, and its time and budget run on.
 */
function endGap(work: Work, before: Sample, reading: Reading): void {
  const { memory, settings } = work
  const { atS } = reading
  const fromS = before.atS
  const missedS = atS - fromS - ordinarySpacingS(memory.spacing, settings.reportEveryS)
  account(memory.exposure, atS, isRigAway(memory.log, fromS) ? 'off' : 'gap', false)
  memory.inGap = false
  memory.log.offMin = missedS / 60
  memory.log.offEndedAtS = atS
  // Whatever else the power was cut for, it is back.
  memory.log.powerOffSinceS = null
  if (memory.log.offMin >= FLIGHT_MIN && !wasClosed(work, before, reading)) makeEligible(memory.gate, atS)
  if (memory.log.offSinceS === null) takeGap(work, (atS - fromS) / 3600)
}

function takeSilence(work: Work, reading: Reading): void {
  const { memory } = work
  const place = memory.places.return
  if (place.latest === null) return
  const fromS = place.latest.atS
  const spacingS = reading.atS - fromS
  if (spacingS <= 0) return
  if (spacingS > gapMaxS(memory.spacing, work.settings.reportEveryS)) {
    if (!memory.inGap) startGap(work)
    endGap(work, place.latest, reading)
  }
  takeSpacing(memory.spacing, spacingS, reading.atS)
}

/** Takes one reading into the memory. Readings come in the order of their time. */
export function takeReading(work: Work, reading: Reading): void {
  const { memory, settings } = work
  const place = memory.places[reading.place]
  if (memory.totals.readings === 0) takeUnheard(work, reading.atS)
  if (memory.beads.fill === null) startUnknownFill(work, memory.beads.unknownFromS ?? reading.atS)
  const maxS = gapMaxS(memory.spacing, settings.reportEveryS)
  if (reading.place === 'return' && reading.humidityPct !== null) takeSilence(work, reading)
  const silentS = place.heardAtS === null ? 0 : reading.atS - place.heardAtS
  if (silentS > maxS) place.heldTempC = null
  place.heardAtS = reading.atS
  memory.heardAtS = reading.atS
  memory.totals.readings += 1
  if (reading.tempC !== null) place.heldTempC = reading.tempC

  const sample = sampleOf(work, reading, place)
  work.fresh.push(sample)
  takeRollup(
    memory.rollups[reading.place],
    reading.place,
    {
      atS: reading.atS,
      humidityPct: reading.humidityPct,
      densityGm3: sample.densityGm3,
      tempC: reading.tempC,
      heardS: silentS <= maxS ? silentS : 0,
    },
    work.rollups,
  )
  const { pump } = memory
  if (reading.pumpOn !== null) pump.reported = reading.pumpOn
  if (reading.powerW !== null) {
    const isOn = takeMetered(pump.levels, reading.powerW, pump.isMeteredOn, settings.pumpOnW)
    takePower(pump, reading.powerW, isOn)
  }
  const isReturn = reading.place === 'return' && sample.humidityPct !== null
  if (isReturn) {
    takeLedger(work, sample)
    watchOff(work, sample)
  }
  decidePump(work, sample)
  if (sample.humidityPct === null) return
  if (reading.place === 'return') {
    takeSoaking(memory.sensor, sample.humidityPct, sample.atS)
    takeCheckSample(work, sample)
    takeReturn(work, sample)
    takeNoise(memory.noise, sample.humidityPct, sample.atS, pump.state !== 'run')
  }
  place.latest = sample
}
