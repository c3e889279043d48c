/** A keeper who goes takes no way back in along, and a token leaves none behind. */
import { beforeAll, describe, expect, test } from 'vitest'
import { makeWorld, NOBODY, type World } from './world.ts'

let world: World
beforeAll(async () => {
  world = await makeWorld()
})

async function twoKeepers() {
  const hangar = await world.hangar('North Row')
  const stays = await world.join(hangar, 'keeper', 'Mira')
  const goes = await world.join(hangar, 'keeper', 'Otto')
  const invite = await world.call(goes.who, `POST /v1/hangars/${hangar}/invites`, { role: 'keeper' })
  const accept = () => world.call(NOBODY, 'POST /v1/invites/accept', { token: invite.body.token })
  return { hangar, stays, goes, accept }
}

describe('a link that a keeper has made', () => {
  test('is taken back when the keeper is removed', async () => {
    const { hangar, stays, goes, accept } = await twoKeepers()
    await world.call(stays.who, `DELETE /v1/hangars/${hangar}/members/${goes.id}`)
    expect((await accept()).status).toBe(410)
  })

  test('is taken back when the keeper becomes a watcher', async () => {
    const { hangar, stays, goes, accept } = await twoKeepers()
    await world.call(stays.who, `PATCH /v1/hangars/${hangar}/members/${goes.id}`, { role: 'watcher' })
    expect((await accept()).status).toBe(410)
  })

  test('is taken back when the keeper deletes the account', async () => {
    const { goes, accept } = await twoKeepers()
    expect((await world.call(goes.who, 'DELETE /v1/me')).status).toBe(204)
    expect((await accept()).status).toBe(410)
  })

  test('stays when the last keeper may not go, or a watcher goes', async () => {
    const { hangar, stays, goes, accept } = await twoKeepers()
    const watcher = await world.join(hangar, 'watcher', 'Ines')
    await world.call(stays.who, `DELETE /v1/hangars/${hangar}/members/${watcher.id}`)
    expect((await accept()).status).toBe(200)
    const alone = await world.hangar('South Row')
    const last = await world.join(alone, 'keeper', 'Last')
    const invite = await world.call(last.who, `POST /v1/hangars/${alone}/invites`, { role: 'watcher' })
    expect((await world.call(last.who, `DELETE /v1/hangars/${alone}/members/${last.id}`)).status).toBe(409)
    expect((await world.call(NOBODY, 'POST /v1/invites/accept', { token: invite.body.token })).status).toBe(
      200,
    )
    expect(goes.id).not.toBe('')
  })
})

describe('a token that may write', () => {
  test('makes no link and gives no role: either would outlive it', async () => {
    const { hangar, stays } = await twoKeepers()
    const watcher = await world.join(hangar, 'watcher', 'Ines')
    const token = await world.token(stays.who, 'write')
    const invites = `/v1/hangars/${hangar}/invites`
    const before = (await world.call(stays.who, `GET ${invites}`)).body.items.length
    expect((await world.call(token, `POST ${invites}`, { role: 'watcher' })).status).toBe(403)
    expect((await world.call(stays.who, `GET ${invites}`)).body.items).toHaveLength(before)
    const member = `/v1/hangars/${hangar}/members/${watcher.id}`
    expect((await world.call(token, `PATCH ${member}`, { role: 'keeper' })).status).toBe(403)
    expect((await world.call(watcher.who, `PATCH /v1/hangars/${hangar}`, { name: 'Mine' })).status).toBe(403)
    expect((await world.call(token, `PATCH /v1/hangars/${hangar}`, { name: 'North' })).status).toBe(200)
    expect((await world.call(stays.who, `PATCH ${member}`, { role: 'keeper' })).status).toBe(200)
  })
})
