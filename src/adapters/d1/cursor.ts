/** Cursors of lists: opaque to callers, a time and an id inside. */

export type CursorParts = readonly [number, string]

export function writeCursor([at, id]: CursorParts): string {
  return `${at.toString(36)}.${id}`
}

/** `null` for the first page and for anything that is not one of our cursors. */
export function readCursor(text: string | null): CursorParts | null {
  const parts = /^(-?[0-9a-z]{1,11})\.([\w-]{0,64})$/.exec(text ?? '')
  const at = Number.parseInt(parts?.[1] ?? '', 36)
  return parts === null || !Number.isSafeInteger(at) ? null : [at, parts[2] ?? '']
}
