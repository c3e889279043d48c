/** Serves the built app as the platform does: its `_headers` file applied, and the page for every unknown path. */
import { existsSync, readFileSync, statSync } from 'node:fs'
import { createServer, type Server } from 'node:http'
import { extname, join, normalize } from 'node:path'
import { fileURLToPath } from 'node:url'

export const builtApp = fileURLToPath(new URL('../../dist/web', import.meta.url))

const types: Record<string, string> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript',
  '.css': 'text/css',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.woff2': 'font/woff2',
  '.webmanifest': 'application/manifest+json',
}

/** The rules of a `_headers` file: a path, or a prefix ending in `*`, and the headers under it. */
export function readHeaders(text: string): { path: string; headers: [string, string][] }[] {
  const rules: { path: string; headers: [string, string][] }[] = []
  for (const line of text.split('\n')) {
    if (line.startsWith('/')) rules.push({ path: line.trim(), headers: [] })
    const found = /^\s+([^:]+):\s*(.+)$/.exec(line)
    if (found?.[1] && found[2]) rules.at(-1)?.headers.push([found[1], found[2]])
  }
  return rules
}

function applies(rule: string, path: string): boolean {
  return rule.endsWith('*') ? path.startsWith(rule.slice(0, -1)) : path === rule
}

export async function serveBuiltApp(): Promise<{ origin: string; close: () => void }> {
  const rules = readHeaders(readFileSync(join(builtApp, '_headers'), 'utf8'))
  const server: Server = createServer((request, response) => {
    const path = normalize(decodeURIComponent(new URL(request.url ?? '/', 'http://x').pathname))
    const file = join(builtApp, path)
    const isFile = existsSync(file) && statSync(file).isFile()
    const served = isFile ? file : join(builtApp, 'index.html')
    for (const rule of rules)
      if (applies(rule.path, path)) for (const [name, value] of rule.headers) response.setHeader(name, value)
    response.setHeader('content-type', types[extname(served)] ?? 'application/octet-stream')
    response.end(readFileSync(served))
  })
  await new Promise<void>((resolve) => {
    server.listen(0, '127.0.0.1', resolve)
  })
  const address = server.address()
  if (address === null || typeof address === 'string') throw new Error('no port')
  return { origin: `http://127.0.0.1:${address.port}`, close: () => server.close() }
}
