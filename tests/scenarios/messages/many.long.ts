import { expect, test } from 'vitest'
import { runMany } from './many.ts'

test('10,000 alerts, one request in ten fails, the sweeper is killed five times: each arrives, none is shown twice', async () => {
  const result = await runMany(10_000, 5)
  const again = [...result.arrivals.values()].filter((times) => times > 1).length
  console.log(
    `messages: ${result.arrivals.size} of 10000 alerts arrived in ${result.requests} requests, ${again} more than once under one tag, ${result.kills} kills`,
  )
  expect(result.mistakes).toEqual([])
  expect(result.arrivals.size).toBe(10_000)
  for (const ids of result.ids.values()) expect(ids.size).toBe(1)
})
