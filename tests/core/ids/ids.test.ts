import { expect, test } from 'vitest'
import {
  ID_ORDER_MAX,
  orderedId,
  orderOfId,
  PUBLIC_ID_CHARS,
  publicId,
  SHARD_MAX,
  shardOfId,
} from '../../../src/core/ids/public-id.ts'
import { crc32, KEY_CHARS, shardOfKey, sourceKey } from '../../../src/core/ids/source-key.ts'

const counting = (start: number) => (bytes: number) =>
  Uint8Array.from({ length: bytes }, (_, i) => start + i * 7)

test('CRC-32 has the published check value of its catalogue entry', () => {
  // CRC-32/ISO-HDLC, check value of the nine digits; the same value appears in ITU-T V.42 implementations (from memory).
  expect(crc32('123456789')).toBe(0xcb_f4_39_26)
})

test.each([0, 1, 31, 32, SHARD_MAX])('an id made on shard %i says so', (shard) => {
  const id = publicId(shard, counting(3))
  expect(id).toHaveLength(PUBLIC_ID_CHARS)
  expect(shardOfId(id)).toBe(shard)
})

test('ordered ids sort by their order, whatever else is in them', () => {
  const orders = [0, 1, 31, 32, 1_780_000_000, 1_780_000_001, ID_ORDER_MAX]
  const ids = orders.map((order, index) => orderedId(3, order, counting(200 - 9 * index)))
  expect(ids.toSorted()).toEqual(ids)
  expect(ids.map(orderOfId)).toEqual(orders)
  for (const id of ids) {
    expect(id).toHaveLength(PUBLIC_ID_CHARS)
    expect(shardOfId(id)).toBe(3)
  }
  for (const order of [-1, 0.5, ID_ORDER_MAX + 1])
    expect(() => orderedId(0, order, counting(1))).toThrow(RangeError)
})

test('what has not the form of an id has no shard', () => {
  for (const text of ['', 'rig', 'l'.repeat(26), `${'a'.repeat(25)}\n`, '__proto__', 'A'.repeat(26)])
    expect(shardOfId(text)).toBeNull()
})

test('a key carries its shard, and any single changed character is noticed', () => {
  const key = sourceKey(5, counting(1))
  expect(key).toHaveLength(KEY_CHARS)
  expect(shardOfKey(key)).toBe(5)
  for (let index = 0; index < key.length; index++) {
    const other = key.charAt(index) === 'b' ? 'c' : 'b'
    expect(shardOfKey(key.slice(0, index) + other + key.slice(index + 1))).toBeNull()
  }
})

test('different randomness gives different keys', () => {
  expect(sourceKey(0, counting(1))).not.toBe(sourceKey(0, counting(2)))
})
