/** Why the check's transaction stamps a token: what the database says of the statement before reaches one follower only. */
import { env } from 'cloudflare:workers'
import { expect, test } from 'vitest'

const run = (...statements: string[]) => env.DB.batch(statements.map((sql) => env.DB.prepare(sql)))

const counts = async () =>
  Object.values(
    (await env.DB.prepare(
      'SELECT (SELECT count(*) FROM first) AS f, (SELECT count(*) FROM second) AS s',
    ).first()) ?? {},
  )

test('changes() sees only the statement just before it: of two followers of a guarded update the second is lost', async () => {
  await run(
    'CREATE TABLE guarded (seq INTEGER, token TEXT)',
    'CREATE TABLE first (n INTEGER)',
    'CREATE TABLE second (n INTEGER)',
    'INSERT INTO guarded VALUES (1, NULL)',
  )
  // The guard holds, and the first follower adds nothing of its own: the second sees that, not the guard.
  await run(
    'UPDATE guarded SET seq = 2 WHERE seq = 1',
    'INSERT INTO first SELECT 1 WHERE changes() > 0 AND 1 = 0',
    'INSERT INTO second SELECT 1 WHERE changes() > 0',
  )
  expect(await counts()).toEqual([0, 0])
  // By the token both follow the guard, and a guard that fails stops both.
  const follow = (seq: number, token: string) =>
    run(
      `UPDATE guarded SET seq = seq + 1, token = '${token}' WHERE seq = ${seq}`,
      `INSERT INTO first SELECT 1 FROM guarded WHERE token = '${token}' AND 1 = 0`,
      `INSERT INTO second SELECT 1 FROM guarded WHERE token = '${token}'`,
    )
  await follow(2, 'mine')
  expect(await counts()).toEqual([0, 1])
  await follow(2, 'late')
  expect(await counts()).toEqual([0, 1])
})
