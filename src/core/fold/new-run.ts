import { type RunMemory, type RunStart, startRun } from '../trace/run.ts'
import type { Work } from './work.ts'

/** Nothing drifts over a hot engine's first hours, s: no part in any fit. */
const HOT_S = 8 * 3600
/** A run that begins this soon after a landing is one after a flight, s. */
const AFTER_FLIGHT_S = 24 * 3600

/** A run, with what the logbook says of its start. */
export function newRun({ memory }: Work, start: Omit<RunStart, 'afterFlight'>): RunMemory {
  const { flightAtS } = memory.log
  const sinceS = flightAtS === null ? Number.POSITIVE_INFINITY : start.fromS - flightAtS
  const run = startRun({ ...start, afterFlight: sinceS < AFTER_FLIGHT_S })
  run.isOdd = sinceS < HOT_S
  return run
}
