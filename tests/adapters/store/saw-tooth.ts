/** A rig that dries and rests as rigs do, by two exponentials and an outlet: enough for the schedule's bookkeeping. */

export type HubRecord = { at: number; humidity: number; temperature: number; pump: boolean; place?: string }

/** One record every `everyS` in [fromS, toS). From `deadFromS` on the pump runs and moves no air. */
export function sawTooth(span: {
  fromS: number
  toS: number
  everyS?: number
  deadFromS?: number
}): HubRecord[] {
  const everyS = span.everyS ?? 300
  const records: HubRecord[] = []
  let humidity = 9
  let isOn = false
  for (let atS = span.fromS; atS < span.toS; atS += everyS) {
    const hours = everyS / 3600
    const isDead = span.deadFromS !== undefined && atS >= span.deadFromS
    if (isOn && !isDead) humidity = 3 + (humidity - 3) * Math.exp(-1.2 * hours)
    else humidity = 60 + (humidity - 60) * Math.exp(-0.012 * hours)
    if (humidity >= 15) isOn = true
    else if (humidity <= 6) isOn = false
    const wobble = Math.sin(atS / 977) * 0.05
    records.push({
      at: atS,
      humidity: Math.round((humidity + wobble) * 100) / 100,
      temperature: 18,
      pump: isOn,
    })
  }
  return records
}
