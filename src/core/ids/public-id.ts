/**
 * Ids that leave the database: 120 random bits in lower-case base32, behind two characters that say which database
 * (shard) holds the thing, so that a call reaches the right one without asking the directory first.
 */

/** No `l` and `o`, `0` and `1`: an id may be read aloud. */
export const ID_ALPHABET = 'abcdefghijkmnpqrstuvwxyz23456789'
const ID_RANDOM_BYTES = 15
const SHARD_CHARS = 2
/** 0..1023: what two characters can say. */
export const SHARD_MAX = ID_ALPHABET.length ** SHARD_CHARS - 1
export const PUBLIC_ID_CHARS = SHARD_CHARS + (ID_RANDOM_BYTES * 8) / 5

/** `random` gives that many random bytes. Throws outside 0..SHARD_MAX. */
export function publicId(shard: number, random: (bytes: number) => Uint8Array): string {
  return shardText(shard) + base32(random(ID_RANDOM_BYTES))
}

/** The alphabet in the order in which databases sort it. */
const SORTED = '23456789abcdefghijkmnpqrstuvwxyz'
const ORDER_CHARS = 8
/** What eight characters can say: seconds for 34,000 years. */
export const ID_ORDER_MAX = ID_ALPHABET.length ** ORDER_CHARS - 1

/** An id that sorts behind those of the same shard with a lower `order` (0..ID_ORDER_MAX); 80 bits of it are random. */
export function orderedId(shard: number, order: number, random: (bytes: number) => Uint8Array): string {
  if (!Number.isInteger(order) || order < 0 || order > ID_ORDER_MAX) throw new RangeError(`no order ${order}`)
  let text = ''
  for (let rest = order, left = ORDER_CHARS; left > 0; left--, rest = Math.floor(rest / SORTED.length))
    text = SORTED.charAt(rest % SORTED.length) + text
  return shardText(shard) + text + base32(random(ID_RANDOM_BYTES - (ORDER_CHARS * 5) / 8))
}

/** The `order` that an id was made with: any number for one that was made without. */
export function orderOfId(id: string): number {
  const end = SHARD_CHARS + ORDER_CHARS
  let order = 0
  for (let at = SHARD_CHARS; at < end; at++) order = order * SORTED.length + SORTED.indexOf(id.charAt(at))
  return order
}

/** The shard an id points to; `null` if it has not the form of an id. */
export function shardOfId(id: string): number | null {
  return /^[a-km-np-z2-9]{26}$/.test(id) ? readShardText(id.slice(0, SHARD_CHARS)) : null
}

export function shardText(shard: number): string {
  if (!Number.isInteger(shard) || shard < 0 || shard > SHARD_MAX) throw new RangeError(`no shard ${shard}`)
  return (
    ID_ALPHABET.charAt(Math.floor(shard / ID_ALPHABET.length)) +
    ID_ALPHABET.charAt(shard % ID_ALPHABET.length)
  )
}

export function readShardText(text: string): number | null {
  const high = ID_ALPHABET.indexOf(text.charAt(0))
  const low = ID_ALPHABET.indexOf(text.charAt(1))
  return text.length !== SHARD_CHARS || high < 0 || low < 0 ? null : high * ID_ALPHABET.length + low
}

/** Five bits a character, the first bits first, padded with zero bits. */
export function base32(bytes: Uint8Array): string {
  let text = ''
  let bits = 0
  let held = 0
  for (const byte of bytes) {
    held = (held << 8) | byte
    bits += 8
    while (bits >= 5) {
      bits -= 5
      text += ID_ALPHABET.charAt((held >> bits) & 31)
    }
    held &= (1 << bits) - 1
  }
  return bits > 0 ? text + ID_ALPHABET.charAt((held << (5 - bits)) & 31) : text
}
