import { afterAll, beforeAll, expect, test } from 'vitest'
import { alertBook } from '../../../src/adapters/d1/alert-book.ts'
import { BUDGETS } from '../../../src/core/limits.ts'
import { startDatabase } from '../../peers/database.ts'
import { hangarIn } from './hangar.ts'
import { NOW_S, rows, startSweeps, type Sweeps } from './sweep.ts'

let s: Sweeps
let second: Awaited<ReturnType<typeof startDatabase>>
beforeAll(async () => {
  s = await startSweeps()
  second = await startDatabase()
})
afterAll(async () => {
  await s.close()
  await second.close()
})

test('people in the first database hear of rigs in the second', async () => {
  const people = hangarIn(s.db, s.service)
  await people.build(['ada'], [])
  await s.db.prepare('UPDATE hangar SET shard = 1').run()
  await people.device('ada-phone')
  const rigs = hangarIn(second.db, s.service)
  await rigs.build([], ['heron', 'marten'])
  const heron = { rig: 'heron', atS: NOW_S - 600 }
  await rigs.raise(heron)
  await rigs.raise({ rig: 'marten', rule: 'silent', urgency: 'now', atS: NOW_S - 600 })
  const shards = new Map([
    [0, alertBook(s.db)],
    [1, alertBook(second.db)],
  ])
  const sweep = (atS: number) => s.sweep(atS, BUDGETS.paid, { shards })
  await sweep(NOW_S)
  expect(
    s
      .look()
      .map((one) => one.title)
      .toSorted(),
  ).toEqual(['Rig heron: pump on, air not getting drier', 'Row h1: a rig is not heard'])
  await rigs.end(heron, NOW_S + 300)
  await sweep(NOW_S + 300)
  expect(s.look().map((one) => one.label)).toEqual(['over Rig heron'])
  expect(await rows(second.db, 'SELECT * FROM delivery')).toEqual([])
})
