/**
 * A source's key: `bead_` + shard (2) + 256 random bits (52) + checksum (6), all base32. The checksum is no secret: it
 * lets a mistyped or made-up key be refused without a database, and the shard says which database to ask.
 */
import { base32, ID_ALPHABET, readShardText, shardText } from './public-id.ts'

const KEY_PREFIX = 'bead_'
const KEY_RANDOM_BYTES = 32
const RANDOM_CHARS = Math.ceil((KEY_RANDOM_BYTES * 8) / 5)
const CHECK_CHARS = 6
export const KEY_CHARS = KEY_PREFIX.length + 2 + RANDOM_CHARS + CHECK_CHARS

export function sourceKey(shard: number, random: (bytes: number) => Uint8Array): string {
  const body = KEY_PREFIX + shardText(shard) + base32(random(KEY_RANDOM_BYTES))
  return body + checksum(body)
}

/** The shard of a well-formed key; `null` for anything else, whatever its length or characters. */
export function shardOfKey(key: string): number | null {
  if (key.length !== KEY_CHARS || !key.startsWith(KEY_PREFIX)) return null
  const body = key.slice(0, -CHECK_CHARS)
  return checksum(body) === key.slice(-CHECK_CHARS) ? readShardText(body.slice(KEY_PREFIX.length, 7)) : null
}

/** The upper 30 bits of the CRC-32 of the ASCII text. */
function checksum(text: string): string {
  const crc = crc32(text)
  let check = ''
  for (let char = 0; char < CHECK_CHARS; char++) check += ID_ALPHABET.charAt((crc >>> (27 - 5 * char)) & 31)
  return check
}

/** CRC-32 as in ISO 3309 and RFC 1952 section 8, reflected polynomial 0xEDB88320, over the low byte of each character. */
export function crc32(text: string): number {
  let crc = 0xff_ff_ff_ff
  for (let index = 0; index < text.length; index++) {
    crc ^= text.charCodeAt(index) & 0xff
    for (let bit = 0; bit < 8; bit++) crc = (crc >>> 1) ^ (crc & 1 ? 0xed_b8_83_20 : 0)
  }
  return (crc ^ 0xff_ff_ff_ff) >>> 0
}
