/**
 * The engine's metal follows the hangar through a lag of four hours: a hundred kilograms of aluminium and steel in
 * still air. Where the hangar's temperature is not measured, the sensor at rest stands for it.
 */
export type MetalMemory = {
  tempC: number | null
  /** Lowest of each of the last 24 hours, oldest first, and the hour the newest belongs to. */
  hourlyLowC: number[]
  hour: number
}

const LAG_H = 4
const HOURS = 24

export function startMetal(): MetalMemory {
  return { tempC: null, hourlyLowC: [], hour: 0 }
}

/** Moves the metal by one grid step of `hours` towards the hangar's temperature, degC. */
export function stepMetal(metal: MetalMemory, hangarC: number, hours: number, atS: number): void {
  metal.tempC =
    metal.tempC === null ? hangarC : metal.tempC + (hangarC - metal.tempC) * (1 - Math.exp(-hours / LAG_H))
  const hour = Math.floor(atS / 3600)
  const newest = metal.hourlyLowC.length - 1
  if (newest >= 0 && metal.hour === hour) {
    metal.hourlyLowC[newest] = Math.min(metal.hourlyLowC[newest] ?? metal.tempC, metal.tempC)
    return
  }
  metal.hour = hour
  metal.hourlyLowC.push(metal.tempC)
  if (metal.hourlyLowC.length > HOURS) metal.hourlyLowC.shift()
}

/** Coldest metal of the last day, degC. */
export function coldestMetalC(metal: MetalMemory): number | null {
  let lowest: number | null = null
  for (const value of metal.hourlyLowC) if (lowest === null || value < lowest) lowest = value
  return lowest
}
