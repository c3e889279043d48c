import type { OpenAlert } from '../fold/outputs.ts'
import type { Moment, Rule, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'

const HOUR_S = 3600

/** A plateau that opens within a week of landing is that flight's water; later it is something else. */
const OF_FLIGHT_S = 7 * 24 * HOUR_S
/** Done is done after two hours below the plateau: the rest of the water comes in waves. */
const CLEAN_S = 2 * HOUR_S

type WetMemory = {
  closedSinceS: number | null
  /** Of the plateau, as long as it lasted, g; `null` without a flow. */
  movedG: number | null
  /** It was ended because its time was over, as it would be of a rig in order. */
  isTimedOut: boolean
}

function isOfFlight(moment: Moment): boolean {
  const { flightAtS, wetGate } = moment
  if (flightAtS === null || wetGate.openedAtS === null) return false
  return wetGate.openedAtS >= flightAtS - HOUR_S && wetGate.openedAtS - flightAtS < OF_FLIGHT_S
}

function judge(memory: WetMemory, moment: Moment, open: OpenAlert | null): Verdict {
  const { wetGate } = moment
  if (wetGate.isOpen) {
    memory.closedSinceS = null
    memory.movedG = wetGate.movedG
    if (open !== null || !isOfFlight(moment)) return SAME
    return {
      kind: 'holds',
      urgency: 'note',
      sinceS: wetGate.openedAtS ?? moment.atS,
      evidence: {
        flightAtS: moment.flightAtS,
        openedAtS: wetGate.openedAtS,
        nowPct: moment.latest.return?.humidityPct ?? null,
        movedG: wetGate.movedG,
        budgetG: wetGate.budgetG,
        expectedH: wetGate.expectedH,
      },
    }
  }
  if (open === null) return CLEAR
  if (memory.closedSinceS === null)
    memory.isTimedOut = wetGate.isTimedOut === true && wetGate.isStagnant !== true
  memory.closedSinceS ??= moment.atS
  if (moment.atS - memory.closedSinceS < CLEAN_S) return SAME
  return {
    kind: 'clear',
    evidence: {
      // Else its time or the water that an engine can hold was over first, or its air did not look as if it were moved.
      isTimedOut: memory.isTimedOut,
      isDried: moment.driedAtS !== null && moment.driedAtS >= open.sinceS,
      movedG: memory.movedG,
      tookH: (memory.closedSinceS - open.sinceS) / HOUR_S,
      nowPct: moment.latest.return?.humidityPct ?? null,
      doneAtS: memory.closedSinceS,
    },
  }
}

/** Water of a flight is coming out: how much, how long, done or not. Needs the flight in the logbook, and flow for grams. */
export const wetAfterFlight: Rule<WetMemory> = {
  name: 'wet-after-flight',
  start: () => ({ closedSinceS: null, movedG: null, isTimedOut: false }),
  step: judge,
  pause: (memory) => {
    memory.closedSinceS = null
  },
}
