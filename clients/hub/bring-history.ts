/**
 * What a rig's readings can no longer tell goes along as it was told: results from before the first reading, in parts that
 * a call takes.
 */
export type Past = {
  readonly rig: string
  readonly readingsFrom: string
  readonly checkedTo: string
  /** Rows by the name that the call gives them, not sent yet. */
  rows: Record<string, unknown[]>
  count: number
}

const ROWS_PER_CALL = 100
/** Results from the first days of the readings belong to the past too; the service knows exactly which. */
const WITH_READINGS_S = 3 * 86_400

const LISTS = {
  cycle: { list: 'cycles', timeIn: 'atS' },
  fill: { list: 'fills', timeIn: 'fromS' },
  exposure: { list: 'exposureDays', timeIn: 'fromS' },
  rollup: { list: 'rollups', timeIn: 'fromS' },
  alert: { list: 'alerts', timeIn: 'raisedAtS' },
} as const

export type ResultKind = keyof typeof LISTS
export const RESULT_KINDS = ['cycle', 'fill', 'exposure', 'rollup', 'alert'] as const

export function startPast(rig: string, readingsFrom: string, checkedTo: string): Past {
  return { rig, readingsFrom, checkedTo, rows: {}, count: 0 }
}

/** Keeps the row if it is from the past. `true`: as many as one call takes. */
export function takeResult(
  past: Past,
  row: { readonly kind: ResultKind; readonly [name: string]: unknown },
): boolean {
  const { list, timeIn } = LISTS[row.kind]
  const { kind: _, rig: __, ...fields } = row
  const untilS = Date.parse(past.readingsFrom) / 1000 + WITH_READINGS_S
  if (Number(fields[timeIn]) >= untilS) return false
  const rows = (past.rows[list] ??= [])
  rows.push(fields)
  past.count += 1
  return past.count >= ROWS_PER_CALL
}

/** The body of a call with what was kept; `null`: nothing was. */
export function takeOut(past: Past): Record<string, unknown> | null {
  const { readingsFrom, checkedTo, rows, count } = past
  past.rows = {}
  past.count = 0
  return count === 0 ? null : { readingsFrom, checkedTo, ...rows }
}
