import type { Evidence, OpenAlert } from '../fold/outputs.ts'
import type { Moment, Rule, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'

const HOUR_S = 3600

/** An engine has to cool before the rig goes on: the same evening is in order. */
const NOTE_AFTER_S = 4 * HOUR_S
/** A night and the next day: who meant to come back has. Warm, wet air has rusted nothing yet, but starts to. */
const VISIT_AFTER_S = 36 * HOUR_S

/** Who tries a rig out on a bench has the pump go through a run or two: so many, the last a day after the first, are a rig in use. */
const CYCLES_MIN = 3
const CYCLES_FOR_S = 24 * HOUR_S

/**
 * After a landing it is no bench: the rig is waited for, and runs say whether it is back. Hoses joined to each other dry in a tenth of an
 * engine's time, and a loop that lies open has but one fall a day, as the hangar has: three runs within the wait are neither, if one of them
 * was as slow as an engine is. Two are enough where one began in air that no hangar has, and dried as slowly as that. None of it is sure enough
 * to end the `off`, which would call its hours dry; but nobody has to drive out for an entry.
 */
const BACK_RUNS_MIN = 3
const BACK_RUNS_WET_MIN = 2

/** Since when the rig has been followed, s: what was flown before that was not waited for. */
type LeftOffMemory = { fromS: number | null }

/** Whether the pump is seen to cycle and dry though the logbook says off. */
function isInUse({ suspended, offRuns }: Moment): boolean {
  const { runs, firstRunAtS, lastRunAtS } = offRuns
  if (suspended !== 'off' || runs < CYCLES_MIN || firstRunAtS === null || lastRunAtS === null) return false
  return lastRunAtS - firstRunAtS >= CYCLES_FOR_S
}

/** Whether its runs since the landing are those of a rig that is back, and nothing since says that they have ended. */
function isBackUnsaid({ atS, suspended, offRuns, latest, settings }: Moment): boolean {
  const { runs, engineRuns, wetRuns, lastRunAtS } = offRuns
  if (suspended !== 'off' || lastRunAtS === null) return false
  const isOfEngine = (engineRuns > 0 && runs >= BACK_RUNS_MIN) || (wetRuns > 0 && runs >= BACK_RUNS_WET_MIN)
  const { startPct } = settings.band
  const isInBand = (latest.return?.humidityPct ?? 0) <= startPct + settings.switchTolPct
  return isOfEngine && (isInBand || atS - lastRunAtS < VISIT_AFTER_S)
}

function evidenceOf(moment: Moment, isCycling: boolean): Evidence {
  const flownAtS = moment.unansweredFlightAtS
  return {
    flightAtS: flownAtS,
    waitedH: flownAtS === null ? null : (moment.atS - flownAtS) / HOUR_S,
    lastHeardS: moment.heardAtS,
    lastRunS: moment.lastRunAtS,
    isLoggedOff: moment.suspended === 'off',
    isCycling,
    offSinceS: moment.offSinceS,
    runs: moment.offRuns.runs,
    pumpBasis: moment.pump.basis,
  }
}

function judge(memory: LeftOffMemory, moment: Moment, open: OpenAlert | null): Verdict {
  memory.fromS ??= moment.atS
  const flownAtS = moment.unansweredFlightAtS
  const isCycling = isInUse(moment)
  if (flownAtS === null && !isCycling)
    return open === null ? CLEAR : { kind: 'clear', evidence: { endedBy: 'back on' } }
  if (moment.isAway) return open === null ? CLEAR : { kind: 'clear', evidence: { endedBy: 'away' } }
  if (flownAtS === null) {
    const sinceS = moment.offSinceS ?? moment.atS
    return { kind: 'holds', urgency: 'note', sinceS, evidence: evidenceOf(moment, isCycling) }
  }
  const waitedS = moment.atS - Math.max(flownAtS, memory.fromS)
  if (waitedS < NOTE_AFTER_S) return open === null ? CLEAR : SAME
  const isBack = isBackUnsaid(moment)
  const urgency = waitedS < VISIT_AFTER_S || isBack ? 'note' : 'visit'
  return {
    kind: 'holds',
    urgency,
    sinceS: flownAtS,
    evidence: evidenceOf(moment, isCycling || isBack),
  }
}

/**
 * A flight is in the logbook and the rig is not back on the engine: no `on`, no run with a drop. Needs the flight; without
 * one it is silent, but for a note where the logbook says off and the pump cycles and dries. An `off` does not excuse it, `away`
 * does. It stays a note while the runs since the landing look like those of an engine. Over when the rig is back.
 */
export const leftOff: Rule<LeftOffMemory> = {
  name: 'left-off',
  start: () => ({ fromS: null }),
  step: judge,
  pause: () => {},
  judges: { gap: true, suspended: ['off', 'flight', 'power-off'] },
}
