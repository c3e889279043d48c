import { humidityPctOfDensity } from '../air/vapour.ts'
import type { OpenAlert } from '../fold/outputs.ts'
import type { Moment, Rule, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'

const HOUR_S = 3600

/** Below the dew point for so long: a front in the morning passes through in two or three hours. */
const FOR_S = 6 * HOUR_S
const CLEAN_S = 12 * HOUR_S
/** Two sensors' errors: metal counts as clear of dew under this, % RH at the metal. */
const CLEAR_PCT = 95

type CondensingMemory = { sinceS: number | null; clearSinceS: number | null }

const NO_AMBIENT: Verdict = {
  kind: 'unknown',
  why: 'no sensor in the hangar air, with its temperature: dew on cold metal cannot be told',
}

function step(
  memory: CondensingMemory,
  moment: Moment,
  open: OpenAlert | null,
  others: readonly OpenAlert[],
): Verdict {
  const { ambientGm3, metalTempC } = moment
  const ambient = moment.latest.ambient
  // Without its temperature the hangar's vapour is a guess, and dew is a matter of two degrees.
  if (!moment.isAmbientMeasured || ambient === null || ambient.tempC === null) return NO_AMBIENT
  if (ambientGm3 === null || metalTempC === null) return NO_AMBIENT
  if (moment.atS - ambient.atS > moment.gapMaxS) return SAME
  const leaks = others.some((alert) => alert.rule === 'leak' || alert.rule === 'open-loop')
  const isExposed =
    leaks || moment.suspended === 'off' || moment.suspended === 'flight' || moment.suspended === 'power-off'
  const metalPct = humidityPctOfDensity(ambientGm3, metalTempC)
  memory.sinceS = isExposed && metalPct > 100 ? (memory.sinceS ?? moment.atS) : null
  memory.clearSinceS = !isExposed || metalPct < CLEAR_PCT ? (memory.clearSinceS ?? moment.atS) : null
  if (open !== null && memory.clearSinceS !== null && moment.atS - memory.clearSinceS >= CLEAN_S) return CLEAR
  if (memory.sinceS === null || moment.atS - memory.sinceS < FOR_S) return open === null ? CLEAR : SAME
  const urgency = leaks ? 'visit' : 'note'
  if (open !== null && (open.urgency === urgency || open.urgency === 'visit')) return SAME
  return {
    kind: 'holds',
    urgency,
    sinceS: memory.sinceS,
    evidence: {
      ambientPct: moment.ambientPct,
      ambientTempC: moment.ambientTempC,
      metalTempC,
      metalPct,
      withLeak: leaks,
    },
  }
}

/**
 * Hangar air would leave dew on the engine's metal while nothing keeps it out: rig off or loop open. Needs an ambient
 * sensor with a temperature. Over after half a day clear of it.
 */
export const condensing: Rule<CondensingMemory> = {
  name: 'condensing',
  start: () => ({ sinceS: null, clearSinceS: null }),
  step,
  pause: (memory) => {
    memory.sinceS = null
    memory.clearSinceS = null
  },
  judges: { gap: true, suspended: ['off', 'flight', 'power-off'] },
}
