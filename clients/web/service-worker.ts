import { createHash } from 'node:crypto'
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { build } from 'esbuild'
import type { Plugin } from 'vite'

/**
 * Builds the service worker beside the app, as one file under a name that never changes, and tells it which files the
 * app consists of: they are known only once everything else is built. Its version changes with any of them, so that a
 * browser sees a new worker exactly when there is something new. A build of its own, because code shared with the app
 * would become a module that both import, and a worker that imports is not taken by every browser.
 */
export function serviceWorker(root: string): Plugin {
  const publicDir = join(root, 'public')
  return {
    name: 'service-worker',
    apply: 'build',
    async generateBundle(_, bundle) {
      const still = readdirSync(publicDir).filter((name) => /\.(svg|png|webmanifest)$/.test(name))
      const built = Object.keys(bundle).filter((name) => !name.endsWith('.html'))
      const hash = createHash('sha256')
      for (const one of Object.values(bundle)) hash.update(one.type === 'chunk' ? one.code : one.source)
      for (const name of still) hash.update(readFileSync(join(publicDir, name)))
      const source = await bundled(join(root, 'src/sw.ts'), {
        SHELL_FILES: JSON.stringify([...built, ...still].map((name) => `/${name}`).toSorted()),
        SHELL_VERSION: JSON.stringify(hash.digest('hex').slice(0, 16)),
      })
      this.emitFile({ type: 'asset', fileName: 'sw.js', source })
    },
  }
}

async function bundled(entry: string, define: Record<string, string>): Promise<string> {
  const { outputFiles } = await build({
    entryPoints: [entry],
    bundle: true,
    format: 'iife',
    target: 'es2022',
    minify: true,
    write: false,
    define,
  })
  const [file] = outputFiles
  if (!file) throw new Error('the service worker was not built')
  return file.text
}
