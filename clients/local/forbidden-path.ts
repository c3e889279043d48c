/**
 * True for paths that belong to the local runtime and must not be reached from outside: its own tools under
 * `/cdn-cgi` (a database explorer, triggers, a proxy to every binding) and `/__cf_local`.
 *
 * The runtime reads the path with a URL parser, so this must refuse at least whatever such a parser could turn
 * into one of those: percent signs decoded (more than once), back slashes, doubled slashes, dot segments, case.
 * It refuses the words as a segment anywhere in the path: nothing of ours is called so.
 */
export function isForbiddenPath(target: string): boolean {
  // Only the origin form. The absolute form would let the caller choose the host that the runtime sees.
  if (!target.startsWith('/')) return true
  const path = decodeFully(target.split(/[?#]/, 1)[0] ?? '')
  if (path === null) return true
  // URL parsers drop tabs and line breaks, and cut at a NUL.
  // oxlint-disable-next-line no-control-regex
  const plain = path.replace(/[\u0000-\u0020\u007f]/g, '').toLowerCase()
  return plain.split(/[/\\;?#]/).some((segment) => segment === 'cdn-cgi' || segment === '__cf_local')
}

/** Decoded until nothing is left to decode; null when that takes more than five rounds, which no real path does. */
function decodeFully(path: string): string | null {
  let text = path
  for (let i = 0; i < 5; i++) {
    const decoded = text.replace(/%([0-9a-f]{2})/gi, (_, hex: string) =>
      String.fromCharCode(parseInt(hex, 16)),
    )
    if (decoded === text) return text
    text = decoded
  }
  return null
}
