/** From the records of a post to the readings to be kept, and afterwards to the counts of the answer. Pure. */
import type { Found } from './found.ts'
import { isUnfit } from './found.ts'
import type { ReadingTerms } from './read-record.ts'
import { readRecord } from './read-record.ts'
import type { KeptReading, Note, SetAside } from './reading-record.ts'

export type TakenIn = {
  readonly readings: readonly KeptReading[]
  readonly setAside: readonly SetAside[]
  readonly notes: readonly Note[]
}

export function takeIn(found: Found, place: Pick<ReadingTerms, 'rigs' | 'receivedS'>): TakenIn {
  const terms: ReadingTerms = { ...found.terms, ...place }
  const readings: KeptReading[] = []
  const setAside: SetAside[] = []
  const notes: Note[] = []
  const timeless = new Set<number>()
  found.records.forEach((raw, index) => {
    if (isUnfit(raw)) {
      setAside.push({ index, ...raw })
      return
    }
    const read = readRecord(raw, index, terms)
    if (!read.ok) setAside.push(read.setAside)
    else if (read.isTimeMissing && isSecondTimeless(read.reading, timeless))
      setAside.push({
        index,
        pointer: terms.pointers.at,
        reason: 'time_missing',
        detail: 'only one record per rig and place may leave its time out: it gets the time of receipt',
      })
    else {
      readings.push(read.reading)
      if (read.note !== null) notes.push(read.note)
    }
  })
  return { readings, setAside, notes }
}

function isSecondTimeless(reading: KeptReading, seen: Set<number>): boolean {
  const series = reading.rigKey * 4 + reading.place
  if (seen.has(series)) return true
  seen.add(series)
  return false
}

type Values = Pick<KeptReading, 'humidityCentiPct' | 'tempCentiC' | 'pumpOn' | 'powerDeciW'>

/**
 * Of a post that has been stored, the readings that were set aside by what is in the database: those that differ from
 * what is there now. The first value at an instant stays and a later record may fill what is missing, so all that was
 * accepted is in the row for good, and a value that differs from it was refused. Gives positions in `readings`.
 */
export function conflictsIn(
  readings: readonly KeptReading[],
  held: readonly Omit<KeptReading, 'index'>[],
): ReadonlySet<number> {
  const conflicts = new Set<number>()
  if (held.length === 0) return conflicts
  const byTime = Map.groupBy(held, ({ atS }) => atS)
  readings.forEach((reading, position) => {
    const now = byTime
      .get(reading.atS)
      ?.find(({ rigKey, place }) => rigKey === reading.rigKey && place === reading.place)
    if (now !== undefined && differs(now, reading)) conflicts.add(position)
  })
  return conflicts
}

function differs(before: Values, now: Values): boolean {
  return (
    isOther(before.humidityCentiPct, now.humidityCentiPct) ||
    isOther(before.tempCentiC, now.tempCentiC) ||
    isOther(before.pumpOn, now.pumpOn) ||
    isOther(before.powerDeciW, now.powerDeciW)
  )
}

function isOther(before: number | null, now: number | null): boolean {
  return before !== null && now !== null && before !== now
}

export type PumpAdvice = 'run' | 'rest' | null

/**
 * What the band asks of the pump, from this post alone: by its newest return humidity; inside the band the pump state
 * it reports. `null` when the post is about several rigs, or about one that is logged off.
 */
export function pumpAdvice(
  readings: readonly KeptReading[],
  rigs: readonly {
    readonly key: number
    readonly band: { readonly startPct: number; readonly stopPct: number }
    readonly isOff: boolean
  }[],
): PumpAdvice {
  const rig = rigs.find((candidate) => candidate.key === readings[0]?.rigKey)
  if (rig === undefined || rig.isOff || readings.some((reading) => reading.rigKey !== rig.key)) return null
  const humidity = newest(readings, (reading) => (reading.place === 0 ? reading.humidityCentiPct : null))
  if (humidity !== null && humidity >= rig.band.startPct * 100) return 'run'
  if (humidity !== null && humidity <= rig.band.stopPct * 100) return 'rest'
  const pumpOn = newest(readings, (reading) => reading.pumpOn)
  if (pumpOn === null) return null
  return pumpOn === 1 ? 'run' : 'rest'
}

function newest(
  readings: readonly KeptReading[],
  value: (reading: KeptReading) => number | null,
): number | null {
  let latestS = -1
  let found: number | null = null
  for (const reading of readings) {
    const here = value(reading)
    if (here === null || reading.atS < latestS) continue
    latestS = reading.atS
    found = here
  }
  return found
}
