import { expect, test } from 'vitest'
import { runMany } from './many.ts'

// Three processes with a runtime each, one after another: slow on a busy machine.
test('400 alerts, one request in ten fails, the sweeper is killed twice: each arrives, none is shown twice', async () => {
  const result = await runMany(400, 2)
  expect(result.mistakes).toEqual([])
  expect(result.arrivals.size).toBe(400)
  for (const ids of result.ids.values()) expect(ids.size).toBe(1)
  expect(result.kills).toBe(2)
}, 180_000)
