import type { OpenAlert } from '../fold/outputs.ts'
import type { Moment, Rule, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'

const HOUR_S = 3600

/** An engine has to cool before the rig goes on: the same evening is in order. */
const NOTE_AFTER_S = 4 * HOUR_S
/** A night and the next day: who meant to come back has. Warm, wet air has rusted nothing yet, but starts to. */
const VISIT_AFTER_S = 36 * HOUR_S

/** Since when the rig has been followed, s: what was flown before that was not waited for. */
type LeftOffMemory = { fromS: number | null }

function judge(memory: LeftOffMemory, moment: Moment, open: OpenAlert | null): Verdict {
  memory.fromS ??= moment.atS
  const flownAtS = moment.unansweredFlightAtS
  if (flownAtS === null) return open === null ? CLEAR : { kind: 'clear', evidence: { endedBy: 'back on' } }
  if (moment.isAway) return open === null ? CLEAR : { kind: 'clear', evidence: { endedBy: 'away' } }
  const waitedS = moment.atS - Math.max(flownAtS, memory.fromS)
  if (waitedS < NOTE_AFTER_S) return open === null ? CLEAR : SAME
  const urgency = waitedS < VISIT_AFTER_S ? 'note' : 'visit'
  return {
    kind: 'holds',
    urgency,
    sinceS: flownAtS,
    evidence: {
      flightAtS: flownAtS,
      waitedH: (moment.atS - flownAtS) / HOUR_S,
      lastHeardS: moment.heardAtS,
      lastRunS: moment.lastRunAtS,
      isLoggedOff: moment.suspended === 'off',
    },
  }
}

/**
 * A flight is in the logbook and the rig is not back on the engine: no `on`, no run with a drop. Needs the flight; without
 * one it is silent. An `off` does not excuse it, `away` does. Over when the rig is back.
 */
export const leftOff: Rule<LeftOffMemory> = {
  name: 'left-off',
  start: () => ({ fromS: null }),
  step: judge,
  pause: () => {},
  judges: { gap: true, suspended: ['off', 'flight', 'power-off'] },
}
