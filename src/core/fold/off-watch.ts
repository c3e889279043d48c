import { exchangesPerH, rigRate } from '../trace/drying-pool.ts'
import { ordinarySpacingS } from '../trace/spacing.ts'
import { isEngineAir } from '../trace/gate-air.ts'
import { FALL_WITHIN_S, NEAR_TOP, toldOn } from '../trace/pump.ts'
import { heldSaturationGm3 } from '../air/held-saturation.ts'
import type { Sample } from '../rules/rule.ts'
import { ambientAt, hangarTempC, readAsPct } from './ambient.ts'
import { endOff, isAwaited, isSensorElsewhere, type OffWatch } from './log-memory.ts'
import type { Work } from './work.ts'

/** An outlet stops between two readings: what is seen of the end of a run lies up to this part of the band above `stop`. */
const NEAR_STOP_SHARE = 0.3
/** Air that only warms loses no water: so much of it has to be left at the most (as after a flight, see `answerFlight`). */
const LEFT_SHARE = 0.75
/** The hangar's own air reads half of what it reads at the time, or by its climate, on rare days only. */
const HANGAR_SHARE = 0.5
/**
 * Hoses joined on the bench hold a tenth of an engine's air and dry ten times as fast: what took half the time of the rig's own
 * runs was an engine's. A fall that lies between two readings looks like two spacings at the most.
 */
const TIME_SHARE = 0.5
const SPACINGS = 2.5

type Top = NonNullable<OffWatch['top']>

/** Whether the air came down from `top` to this reading as beads dry it. */
function isDried(
  { memory, settings }: Work,
  top: Top,
  { humidityPct, densityGm3, atS, tempC }: Sample,
): boolean {
  const { startPct, stopPct } = settings.band
  if (humidityPct === null || densityGm3 === null) return false
  if (top.humidityPct < startPct - settings.switchTolPct) return false
  if (humidityPct > stopPct + NEAR_STOP_SHARE * (startPct - stopPct)) return false
  if (densityGm3 > LEFT_SHARE * top.densityGm3) return false
  const hangarC = hangarTempC(memory, settings, atS).tempC
  return humidityPct <= HANGAR_SHARE * readAsPct(ambientAt(memory, settings, atS), hangarC, tempC)
}

/** Whether that took as long as it takes with an engine between the hoses. */
function isOfEngine({ memory, settings }: Work, top: Top, { densityGm3, atS, tempC }: Sample): boolean {
  const scale = tempC === null ? 1 : heldSaturationGm3(tempC) / heldSaturationGm3(15)
  const perH = rigRate(memory.drying, exchangesPerH(settings)).mid * scale
  const engineS = (Math.log(top.densityGm3 / Math.max(0.01, densityGm3 ?? 0)) / perH) * 3600
  const seenS = SPACINGS * ordinarySpacingS(memory.spacing, settings.reportEveryS)
  return atS - top.atS >= Math.max(TIME_SHARE * engineS, seenS)
}

/**
 * Where nobody reports the pump its run is seen when the air has fallen for a while already, or is over, or lies between two
 * posts: what it fell from is the top, for as long as an inferred run looks back.
 */
function isHeld(top: Top, now: { atS: number; densityGm3: number }): boolean {
  if (now.densityGm3 < NEAR_TOP * top.densityGm3) return now.atS - top.atS <= FALL_WITHIN_S
  if (now.densityGm3 >= top.densityGm3) return false
  top.atS = now.atS
  return true
}

/** Air that only an engine has just flown brings to the sensor, whatever the hangar's. */
function isWetterThanHangar({ memory, settings }: Work, { humidityPct, atS, tempC }: Sample): boolean {
  if (humidityPct === null) return false
  const ambient = ambientAt(memory, settings, atS)
  const hangarPct = readAsPct(ambient, hangarTempC(memory, settings, atS).tempC, tempC)
  return isEngineAir({ humidityPct, hangarPct, isHangarMeasured: ambient.isMeasured })
}

function noteRun(watch: OffWatch, atS: number, ofEngine: { isSlow: boolean; isWet: boolean }): void {
  watch.top = null
  watch.runs += 1
  if (ofEngine.isSlow) watch.engineRuns += 1
  if (ofEngine.isSlow && ofEngine.isWet) watch.wetRuns += 1
  watch.firstRunAtS ??= atS
  watch.lastRunAtS = atS
}

/**
 * A return reading while the logbook says off: does the pump dry an engine all the same? After a logged flight a run that an
 * outlet or a meter shows says that the rig is back, and ends the `off`. Without a flight, or where the run is only inferred,
 * hours might be called dry that are not: such runs are counted, and the owner is asked. Comes before the pump's state is
 * decided, so that the reading that ends the run still belongs to it.
 */
export function watchOff(work: Work, sample: Sample): void {
  const { log, pump } = work.memory
  const { atS, humidityPct, densityGm3 } = sample
  if (log.offSinceS === null || humidityPct === null || densityGm3 === null) return
  if (log.powerOffSinceS !== null || isSensorElsewhere(log, atS)) {
    log.offWatch.top = null
    return
  }
  const watch = log.offWatch
  const isRunning = pump.state === 'run' || toldOn(pump) === true
  const isInferred = toldOn(pump) === null
  const { top } = watch
  if ((isRunning || isInferred) && top !== null && isDried(work, top, sample)) {
    const isSlow = isOfEngine(work, top, sample)
    noteRun(watch, atS, { isSlow, isWet: top.isWet })
    if (pump.basis !== 'inferred' && isAwaited(log, atS) && isSlow) endOff(log, atS)
    return
  }
  if (isRunning && top !== null && densityGm3 < top.densityGm3) return
  if (isInferred && !isRunning && top !== null && isHeld(top, { atS, densityGm3 })) return
  watch.top = { atS, humidityPct, densityGm3, isWet: isWetterThanHangar(work, sample) }
}
