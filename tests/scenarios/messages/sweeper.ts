/**
 * A process of its own that sweeps the outbox until nothing waits, for the test that kills it. The database is in
 * a folder and outlives it. Arguments: folder, push service, alerts to begin with, time to begin at (s).
 */
import { alertBook } from '../../../src/adapters/d1/alert-book.ts'
import { outbox } from '../../../src/adapters/d1/deliveries.ts'
import { pushSender } from '../../../src/adapters/push/send.ts'
import { BUDGETS } from '../../../src/core/limits.ts'
import { pushWords } from '../../../src/core/words/alert-words.ts'
import { deliver } from '../../../src/flows/deliver.ts'
import { startDatabase } from '../../peers/database.ts'
import { seed } from './many.ts'

const [stateDir = '', origin = '', count = '0', startS = '0', devices = '[]', keys = '{}'] =
  process.argv.slice(2)
const database = await startDatabase(stateDir)
const { db } = database
if ((await db.prepare('SELECT count(*) AS n FROM alert').first<number>('n')) === 0) {
  await seed(db, Number(count), JSON.parse(devices), Number(startS) - 3600)
}
process.stdout.write('sweeping\n')
const ports = {
  outbox: outbox(db),
  shards: new Map([[0, alertBook(db)]]),
  send: pushSender({
    keys: JSON.parse(keys),
    rules: { addedHosts: [], testOrigin: origin },
    fetch,
    nowMs: Date.now,
    timeOutMs: 400,
  }),
  words: pushWords,
  draw: Math.random,
}
let nowS = Number(startS)
for (;;) {
  await deliver(ports, nowS, BUDGETS.paid)
  const left = await db
    .prepare(
      `SELECT (SELECT count(*) FROM delivery WHERE state = 'waiting' AND kind = 'raised')
            + (SELECT count(*) FROM alert_event WHERE is_told = 0) AS n`,
    )
    .first<number>('n')
  if (left === 0) break
  nowS += 120
}
await database.close()
process.stdout.write('done\n')
