/**
 * What a tick has worked out, in one transaction for all its rigs. The first statement takes the new memories, each only
 * if nobody else has written it since, and stamps a random token; every other statement joins the memory on rig and
 * token, so what belongs to a rig that lost the race is not written at all. Keys are deterministic: a step that is run
 * again writes the same rows.
 */
import { publicId } from '../../core/ids/public-id.ts'
import { checkpointsKeptFrom } from '../../core/schedule/plan-step.ts'
import type { RigStep } from '../../flows/check-ports.ts'
import { ROLLUP_COLUMNS, ROLLUP_VALUES, rollupValues } from './rollup-row.ts'
import type { Random } from './shard.ts'

export type StepWrite = {
  readonly steps: readonly RigStep[]
  readonly token: string
  readonly shard: number
  readonly random: Random
}

const WON = 'JOIN memory m ON m.rig_id = j.value ->> 0 AND m.token = ?2'

const MEMORY = `
  UPDATE memory SET seq = seq + 1, token = ?2, version = j.value ->> 3, grid_s = j.value ->> 4, reached_s = j.value ->> 5,
    body = j.value ->> 6, rewind_from_s = NULL, set_back_until_s = NULL, failures = 0, failure = NULL
  FROM json_each(?1) j
  WHERE memory.rig_id = j.value ->> 0 AND memory.seq = j.value ->> 1 AND memory.rewind_from_s IS j.value ->> 2
    AND memory.readings_from_s = j.value ->> 7`

/** Told anew: what was said about the span before gives way. */
const DROP_CYCLES = `
  DELETE FROM cycle WHERE (rig_id, at_s) IN (
    SELECT c.rig_id, c.at_s FROM json_each(?1) j ${WON}
    JOIN cycle c ON c.rig_id = j.value ->> 0 AND c.at_s > j.value ->> 1 AND c.at_s <= j.value ->> 2)`

const DROP_FILLS = `
  DELETE FROM fill WHERE (rig_id, from_s) IN (
    SELECT f.rig_id, f.from_s FROM json_each(?1) j ${WON}
    JOIN fill f ON f.rig_id = j.value ->> 0 AND f.from_s > j.value ->> 1 AND f.from_s <= j.value ->> 2)`

/** Those behind a rewind are void; of the rest the last days and weeks stay, and the newest of a fill's start. */
const DROP_CHECKPOINTS = `
  DELETE FROM checkpoint WHERE (rig_id, grid_s) IN (
    SELECT c.rig_id, c.grid_s FROM json_each(?1) j ${WON}
    JOIN checkpoint c ON c.rig_id = j.value ->> 0
    WHERE c.grid_s > j.value ->> 1
      OR (c.kind = 'day' AND c.grid_s < j.value ->> 2)
      OR (c.kind = 'week' AND c.grid_s < j.value ->> 3)
      OR (c.kind = 'fill' AND j.value ->> 4 = 1))`

const ADD_CHECKPOINTS = `
  INSERT INTO checkpoint (rig_id, grid_s, kind, version, body)
  SELECT j.value ->> 0, j.value ->> 1, j.value ->> 2, m.version, j.value ->> 3 FROM json_each(?1) j ${WON} WHERE true
  ON CONFLICT (rig_id, grid_s) DO UPDATE SET kind = excluded.kind, version = excluded.version, body = excluded.body`

const ADD_CYCLES = `
  INSERT INTO cycle (rig_id, at_s, body)
  SELECT j.value ->> 0, j.value ->> 1, j.value ->> 2 FROM json_each(?1) j ${WON} WHERE true
  ON CONFLICT (rig_id, at_s) DO UPDATE SET body = excluded.body WHERE body <> excluded.body`

const PUT_FILLS = `
  INSERT INTO fill (rig_id, from_s, to_s, body)
  SELECT j.value ->> 0, j.value ->> 1, j.value ->> 2, j.value ->> 3 FROM json_each(?1) j ${WON} WHERE true`

const ADD_FILLS = `${PUT_FILLS}
  ON CONFLICT (rig_id, from_s) DO UPDATE SET to_s = excluded.to_s, body = excluded.body WHERE body <> excluded.body`

/** Told over again from a part of its readings: only when it ended is news. */
const HOLD_FILLS = `${PUT_FILLS}
  ON CONFLICT (rig_id, from_s) DO UPDATE SET to_s = excluded.to_s, body = json_set(body, '$.toS', excluded.to_s)
  WHERE to_s IS NOT excluded.to_s`

const PUT_EXPOSURE = `
  INSERT INTO exposure_day (rig_id, from_s, body)
  SELECT j.value ->> 0, j.value ->> 1, j.value ->> 2 FROM json_each(?1) j ${WON} WHERE true`

const KEEP_EXPOSURE = `${PUT_EXPOSURE}
  ON CONFLICT DO NOTHING`

const ADD_EXPOSURE = `${PUT_EXPOSURE}
  ON CONFLICT (rig_id, from_s) DO UPDATE SET body = excluded.body WHERE body <> excluded.body`

const PUT_ROLLUPS = `
  INSERT INTO rollup (rig_id, ${ROLLUP_COLUMNS.join(', ')})
  SELECT ${Array.from({ length: 1 + ROLLUP_COLUMNS.length }, (_, index) => `j.value ->> ${index}`).join(', ')}
  FROM json_each(?1) j ${WON} WHERE true`

const KEEP_ROLLUPS = `${PUT_ROLLUPS}
  ON CONFLICT DO NOTHING`

const ADD_ROLLUPS = `${PUT_ROLLUPS}
  ON CONFLICT (rig_id, place, span_s, from_s) DO UPDATE SET
    ${ROLLUP_VALUES.map((column) => `${column} = excluded.${column}`).join(', ')}
  WHERE ${ROLLUP_VALUES.map((column) => `${column} IS NOT excluded.${column}`).join(' OR ')}`

/** An open alert that goes on under another beginning keeps its row, and with it who has seen it. */
const ADOPT_ALERTS = `
  UPDATE OR IGNORE alert SET raised_at_s = j.value ->> 2
  FROM json_each(?1) j ${WON}
  WHERE alert.rig_id = j.value ->> 0 AND alert.rule = j.value ->> 1 AND alert.raised_at_s = j.value ->> 3`

/** Unless another row already has that beginning: then the old row is over. */
const CLOSE_UNADOPTED = `
  UPDATE alert SET over_at_s = m.grid_s, over_why = 'late-input'
  FROM json_each(?1) j ${WON}
  WHERE alert.rig_id = j.value ->> 0 AND alert.rule = j.value ->> 1 AND alert.raised_at_s = j.value ->> 3`

const PUT_ALERTS = `
  INSERT INTO alert (public_id, rig_id, rule, raised_at_s, since_s, urgency, evidence, over_at_s, over_why)
  SELECT j.value ->> 8, j.value ->> 0, j.value ->> 1, j.value ->> 2, j.value ->> 3, j.value ->> 4, j.value ->> 5,
    j.value ->> 6, j.value ->> 7
  FROM json_each(?1) j ${WON} WHERE true
  ON CONFLICT (rig_id, rule, raised_at_s) DO UPDATE SET
    since_s = excluded.since_s, urgency = excluded.urgency, evidence = excluded.evidence,
    over_at_s = excluded.over_at_s, over_why = excluded.over_why`

const UNSEE_ALERTS = `
  UPDATE alert SET seen_at_s = NULL, seen_by = NULL
  FROM json_each(?1) j ${WON}
  WHERE alert.rig_id = j.value ->> 0 AND alert.rule = j.value ->> 1 AND alert.raised_at_s = j.value ->> 2`

const ADD_EVENTS = `
  INSERT INTO alert_event (rig_id, rule, raised_at_s, at_s, event, urgency, since_s, evidence, is_past)
  SELECT j.value ->> 0, j.value ->> 1, j.value ->> 2, j.value ->> 3, j.value ->> 4, j.value ->> 5, j.value ->> 6,
    j.value ->> 7, j.value ->> 8
  FROM json_each(?1) j ${WON} WHERE true
  ON CONFLICT DO NOTHING`

export async function writeSteps(db: D1Database, write: StepWrite): Promise<void> {
  const { token } = write
  const parts = partsOf(write)
  const statements = parts
    .filter(([, values]) => values.length > 0)
    .map(([sql, values]) => db.prepare(sql).bind(JSON.stringify(values), token))
  if (statements.length > 0) await db.batch(statements)
}

type Value = string | number | null
type Rows = readonly (readonly Value[])[]

/** Statements in their order, each with its rows as arrays that begin with the rig; those without rows are left out. */
function partsOf({ steps, shard, random }: StepWrite): readonly (readonly [string, Rows])[] {
  const retold = steps
    .filter((step) => step.isRetold)
    .map((step) => [step.rigKey, Math.max(step.fromS, step.toldFromS - 1), step.gridS])
  const adopted = rows(steps, (step) =>
    step.alerts
      .filter((alert) => alert.adoptRaisedAtS !== null)
      .map((alert) => [alert.rule, alert.raisedAtS, alert.adoptRaisedAtS]),
  )
  return [
    [MEMORY, steps.map(memoryRow)],
    [DROP_CYCLES, retold],
    [DROP_FILLS, retold],
    [DROP_CHECKPOINTS, steps.filter((step) => step.isRewind || step.checkpoints.length > 0).map(dropRow)],
    [ADD_CHECKPOINTS, rows(steps, (step) => step.checkpoints.map((c) => [c.gridS, c.kind, c.body]))],
    [ADD_CYCLES, rows(steps, (step) => step.cycles.map((c) => [c.atS, JSON.stringify(c)]))],
    ...tellingParts(steps),
    [ADOPT_ALERTS, adopted],
    [CLOSE_UNADOPTED, adopted],
    [
      PUT_ALERTS,
      rows(steps, (step) =>
        step.alerts.map((alert) => [
          alert.rule,
          alert.raisedAtS,
          alert.sinceS,
          alert.urgency,
          JSON.stringify(alert.evidence),
          alert.overAtS,
          alert.overWhy,
          publicId(shard, random),
        ]),
      ),
    ],
    [
      UNSEE_ALERTS,
      rows(steps, (step) =>
        step.alerts.filter((alert) => alert.isRise).map((alert) => [alert.rule, alert.raisedAtS]),
      ),
    ],
    [
      ADD_EVENTS,
      rows(steps, (step) =>
        step.events.map((event) => [
          event.rule,
          event.raisedAtS,
          event.atS,
          event.event,
          event.urgency,
          event.sinceS,
          JSON.stringify(event.evidence),
          event.isPast ? 1 : 0,
        ]),
      ),
    ],
  ]
}

/** Fills, days and hours; those that were told of a time whose readings are gone stay as they are. */
function tellingParts(steps: readonly RigStep[]): readonly (readonly [string, Rows])[] {
  const fills = (isHeld: boolean): Rows =>
    rows(steps, (step) =>
      newestFills(step)
        .filter((fill) => (step.isRetold && fill.fromS < step.toldFromS) === isHeld)
        .map((fill) => [fill.fromS, fill.toS, JSON.stringify(fill)]),
    )
  const days = (isKept: boolean): Rows =>
    rows(steps, (step) =>
      step.exposureDays
        .filter((day) => day.fromS < step.toldFromS === isKept)
        .map((day) => [day.fromS, JSON.stringify(day)]),
    )
  const rollups = (isKept: boolean): Rows =>
    rows(steps, (step) =>
      step.rollups.filter((rollup) => rollup.fromS < step.toldFromS === isKept).map(rollupValues),
    )
  return [
    [ADD_FILLS, fills(false)],
    [HOLD_FILLS, fills(true)],
    [ADD_EXPOSURE, days(false)],
    [KEEP_EXPOSURE, days(true)],
    [ADD_ROLLUPS, rollups(false)],
    [KEEP_ROLLUPS, rollups(true)],
  ]
}

function rows(steps: readonly RigStep[], of: (step: RigStep) => Rows): Rows {
  return steps.flatMap((step) => of(step).map((row) => withRig(step.rigKey, row)))
}

function withRig(rigKey: number, row: readonly Value[]): readonly Value[] {
  return [rigKey, ...row]
}

function memoryRow(step: RigStep): readonly Value[] {
  const { rigKey, seq, rewindFromS, version, gridS, reachedS, body, readingsFromS } = step
  return [rigKey, seq, rewindFromS, version, gridS, reachedS, body, readingsFromS]
}

function dropRow(step: RigStep): readonly Value[] {
  const kept = checkpointsKeptFrom(step.gridS)
  const hasFill = step.checkpoints.some((checkpoint) => checkpoint.kind === 'fill')
  return [step.rigKey, step.isRewind ? step.fromS : NEVER_S, kept.dayS, kept.weekS, hasFill ? 1 : 0]
}

const NEVER_S = Number.MAX_SAFE_INTEGER

/** A fill may come out several times in a step: the last state of each is the one. */
function newestFills(step: RigStep): RigStep['fills'] {
  return [...new Map(step.fills.map((fill) => [fill.fromS, fill])).values()]
}
