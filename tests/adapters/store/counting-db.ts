/** A D1 database that counts: round trips, and the rows read and written as the platform bills them. */
/* oxlint-disable typescript/no-unsafe-type-assertion -- a stand-in for the platform's own classes */

export type Count = { trips: number; read: number; written: number }

export function countingDb(db: D1Database): { db: D1Database; count: Count; take: () => Count } {
  const count: Count = { trips: 0, read: 0, written: 0 }
  const add = (result: D1Result): void => {
    count.read += result.meta.rows_read
    count.written += result.meta.rows_written
  }
  const real = new WeakMap<object, D1PreparedStatement>()
  const wrap = (statement: D1PreparedStatement): D1PreparedStatement => {
    const once = async (): Promise<D1Result> => {
      count.trips++
      const result = await statement.all()
      add(result)
      return result
    }
    const wrapped = {
      bind: (...values: unknown[]) => wrap(statement.bind(...values)),
      all: once,
      run: once,
      first: async (column?: string) => {
        const row = (await once()).results[0] as Record<string, unknown> | undefined
        if (row === undefined) return null
        return column === undefined ? row : row[column]
      },
      raw: () => statement.raw(),
    } as unknown as D1PreparedStatement
    real.set(wrapped, statement)
    return wrapped
  }
  const counted = {
    prepare: (sql: string) => wrap(db.prepare(sql)),
    batch: async (statements: D1PreparedStatement[]) => {
      count.trips++
      const results = await db.batch(statements.map((statement) => real.get(statement) ?? statement))
      results.forEach(add)
      return results
    },
  } as unknown as D1Database
  const take = (): Count => {
    const taken = { ...count }
    Object.assign(count, { trips: 0, read: 0, written: 0 })
    return taken
  }
  return { db: counted, count, take }
}
