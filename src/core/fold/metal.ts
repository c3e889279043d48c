import { rounded } from '../stats/rounded.ts'

/**
 * The engine's metal follows the hangar through a lag of four hours: a hundred kilograms of aluminium and steel in
 * still air. Where the hangar's temperature is not measured, the sensor at rest stands for it.
 */
export type MetalMemory = {
  tempC: number | null
  /** Lowest of each of the last 24 hours, oldest first, and the hour the newest belongs to. */
  hourlyLowC: number[]
  hour: number
  /** The lowest of them. */
  coldestC: number | null
}

const LAG_H = 4
/** Grid step, h. */
const GRID_H = 300 / 3600
const HOURS = 24

export function startMetal(): MetalMemory {
  return { tempC: null, hourlyLowC: [], hour: 0, coldestC: null }
}

const GRID_SHARE = 1 - Math.exp(-GRID_H / LAG_H)

/**
 * Moves the metal by one grid step towards the hangar's temperature, degC. Over hours in which nothing was heard it has
 * gone the way towards where the hangar is now: a hub that was unplugged for a flight in the afternoon comes back at dawn.
 */
export function stepMetal(metal: MetalMemory, hangarC: number, atS: number): void {
  const hour = Math.floor(atS / 3600)
  const unheardH = metal.hourlyLowC.length > 0 ? hour - metal.hour - 1 : 0
  const share = unheardH > 0 ? 1 - Math.exp(-unheardH / LAG_H) : GRID_SHARE
  metal.tempC = metal.tempC === null ? hangarC : metal.tempC + (hangarC - metal.tempC) * share
  const newest = metal.hourlyLowC.length - 1
  if (newest >= 0 && metal.hour === hour) {
    if (metal.tempC >= (metal.hourlyLowC[newest] ?? metal.tempC + 1)) return
    const lowC = rounded(metal.tempC, 2)
    metal.hourlyLowC[newest] = lowC
    if (metal.coldestC === null || lowC < metal.coldestC) metal.coldestC = lowC
    return
  }
  metal.hour = hour
  metal.hourlyLowC.push(rounded(metal.tempC, 2))
  if (metal.hourlyLowC.length > HOURS) metal.hourlyLowC.shift()
  metal.coldestC = Math.min(...metal.hourlyLowC)
}
