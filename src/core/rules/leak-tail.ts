import { slownessOf } from './drying.ts'
import { SETTLED_DAYS } from './ingress-window.ts'
import type { Moment } from './rule.ts'

const DAY_S = 86_400

/**
 * Since when the engine is dry and until when that is counted, s, and the days of it, as many as they are worth at 15 degC. `hasRested`: a
 * window since then took in about what the rig usually does.
 */
export type DrySpell = { fromS: number; untilS: number; warmDays: number; hasRested: boolean }

/** Films are dry and oil gives off evenly from here on; before, a flight's water drowns what gets in. */
export const EARLY_DAYS = 3

/** A temperature is reported by a sensor: without one the rig's climate stands for it, or a usual one. */
function isTempKnown({ latest, ambientTempC }: Moment): boolean {
  return ambientTempC !== null || Object.values(latest).some((sample) => (sample?.tempC ?? null) !== null)
}

/** A mean of the year hides a winter that is 10 K colder, in which air holds half of the water. */
const UNKNOWN_SLOWNESS = 2

/**
 * A litre of air carries away of films and oil what goes with the saturated density: a day at 0 degC dries as much as nine hours at 15.
 * The spell that began at `fromS`, followed until now.
 */
export function followDry(spell: DrySpell | null, fromS: number, moment: Moment): DrySpell | null {
  if (!Number.isFinite(fromS)) return spell
  const dry = spell?.fromS === fromS ? spell : { fromS, untilS: fromS, warmDays: 0, hasRested: false }
  // More than enough is not asked for, and each is a saturation to work out.
  if (dry.warmDays > SETTLED_DAYS) return dry
  const slowness = slownessOf(moment) * (isTempKnown(moment) ? 1 : UNKNOWN_SLOWNESS)
  dry.warmDays += Math.max(0, moment.atS - dry.untilS) / DAY_S / slowness
  dry.untilS = moment.atS
  return dry
}

/** The five days are over at the rate of 15 degC, or nobody knows of a flight. */
export const isDriedOut = (dry: DrySpell | null) => dry === null || dry.warmDays > SETTLED_DAYS

/**
 * What began with the flight may be its water until three such days are over: in the cold the air stands for days at what oil and drops give
 * back, five to forty times the own, so neither its height nor that it does not fade says anything. A leak is a step: once a window
 * in between was ordinary the tail is over, however cold it is.
 */
export const mayBeTail = (dry: DrySpell | null) =>
  dry !== null && !dry.hasRested && dry.warmDays <= EARLY_DAYS
