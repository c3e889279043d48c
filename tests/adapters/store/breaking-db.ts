/** A database in which one statement fails: the one numbered `failing`, counted from 0 over all that are sent. */
/* oxlint-disable typescript/no-unsafe-type-assertion -- a stand-in for the platform's own classes */

export type BreakingDb = {
  readonly db: D1Database
  /** SQL of what was sent, in order. */
  readonly sent: readonly string[]
  /** Round trips finished before the failure, or all. */
  readonly trips: () => number
}

/** `afterTrip` is called when a round trip has been made: what is in the database then is whole. */
export function breakingDb(
  db: D1Database,
  failing: number,
  afterTrip: () => Promise<void> = () => Promise.resolve(),
): BreakingDb {
  const sent: string[] = []
  let trips = 0
  // Refused while it runs, not before: what the same round trip did until then has to be taken back.
  const bad = (): D1PreparedStatement => db.prepare('INSERT INTO schedule (one, checked_s) VALUES (0, 0)')
  const real = new WeakMap<object, { statement: D1PreparedStatement; sql: string }>()
  const take = (statement: D1PreparedStatement, sql: string): D1PreparedStatement => {
    sent.push(sql)
    return sent.length - 1 === failing ? bad() : statement
  }
  const counted = async <T>(work: Promise<T>): Promise<T> => {
    const result = await work
    trips++
    await afterTrip()
    return result
  }
  const wrap = (statement: D1PreparedStatement, sql: string): D1PreparedStatement => {
    const wrapped = {
      bind: (...values: unknown[]) => wrap(statement.bind(...values), sql),
      all: () => counted(take(statement, sql).all()),
      run: () => counted(take(statement, sql).run()),
      first: (column?: string) =>
        counted(column === undefined ? take(statement, sql).first() : take(statement, sql).first(column)),
    } as unknown as D1PreparedStatement
    real.set(wrapped, { statement, sql })
    return wrapped
  }
  const broken = {
    prepare: (sql: string) => wrap(db.prepare(sql), sql),
    batch: (statements: D1PreparedStatement[]) =>
      counted(
        db.batch(
          statements.map((each) => {
            const known = real.get(each)
            return known === undefined ? each : take(known.statement, known.sql)
          }),
        ),
      ),
  } as unknown as D1Database
  return { db: broken, sent, trips: () => trips }
}
