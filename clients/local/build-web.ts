import { spawnSync } from 'node:child_process'
import { createHash } from 'node:crypto'
import { existsSync, mkdirSync, readFileSync, readdirSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { projectDir } from './paths.ts'

/** The folder that the Worker serves. It must exist even before the app is built. */
export const webDir = join(projectDir, 'dist/web')
const stampFile = join(projectDir, 'dist/web.sha256')
const builtFrom = ['clients/web', 'src', 'package-lock.json']

/**
 * Builds the web app into `dist/web` unless what is there was built from the present sources.
 * Compared by content, not by time: a checkout sets every file's time anew.
 * @throws with the build's own output when the build fails
 */
export function buildWebIfNeeded(): void {
  const wanted = hashSources()
  if (existsSync(join(webDir, 'index.html')) && readIfThere(stampFile) === wanted) return
  const vite = join(projectDir, 'node_modules/vite/bin/vite.js')
  const build = spawnSync(process.execPath, [vite, 'build', '-c', 'clients/web/vite.config.ts'], {
    cwd: projectDir,
    encoding: 'utf8',
  })
  if (build.status !== 0) throw new Error(`The web app does not build:\n${build.stdout}${build.stderr}`)
  mkdirSync(dirname(stampFile), { recursive: true })
  writeFileSync(stampFile, wanted)
}

function hashSources(): string {
  const hash = createHash('sha256')
  for (const file of builtFrom.flatMap(listFiles)) {
    hash
      .update(`${file}\0`)
      .update(readFileSync(join(projectDir, file)))
      .update('\0')
  }
  return hash.digest('hex')
}

function listFiles(path: string): string[] {
  const full = join(projectDir, path)
  if (path.endsWith('.json')) return existsSync(full) ? [path] : []
  return readdirSync(full, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => join(entry.parentPath, entry.name).slice(projectDir.length))
    .toSorted()
}

function readIfThere(file: string): string | null {
  return existsSync(file) ? readFileSync(file, 'utf8') : null
}
