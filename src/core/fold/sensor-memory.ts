import { type Correction, correctionOf, correctionSigmaPct, SOAKED_ABOVE_PCT } from '../sensor/correction.ts'
import type { SensorPoint } from '../sensor/salt-check.ts'

/** The return sensor: its known points and the correction they give. It ends when the sensor is replaced. */
export type SensorMemory = {
  points: SensorPoint[]
  correction: Correction
  soakedAtS: number | null
  /** Why the last salt check or second point was not used; a stable word. */
  refusal: string | null
}

/** Points kept of one sensor. */
const POINTS_MAX = 4

export function startSensor(): SensorMemory {
  return { points: [], correction: { kind: 'none' }, soakedAtS: null, refusal: null }
}

export function takePoint(sensor: SensorMemory, point: SensorPoint): void {
  sensor.points.push(point)
  if (sensor.points.length > POINTS_MAX) sensor.points.shift()
  const { correction, refusal } = correctionOf(sensor.points)
  sensor.correction = correction
  sensor.refusal = refusal?.reason ?? null
}

export function takeSoaking(sensor: SensorMemory, humidityPct: number, atS: number): void {
  if (humidityPct > SOAKED_ABOVE_PCT) sensor.soakedAtS = atS
}

/** One standard deviation of a corrected reading, % RH. */
export function sensorSdPct(sensor: SensorMemory, humidityPct: number, atS: number): number {
  return correctionSigmaPct(sensor.correction, { humidityPct, atS, soakedAtS: sensor.soakedAtS })
}
