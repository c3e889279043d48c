import { spawnSync } from 'node:child_process'
import { existsSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { projectDir } from './paths.ts'
import { hashSources, readIfThere } from './sources-hash.ts'

const stampFile = join(projectDir, 'dist/web.sha256')

/**
 * Builds the web app into `dist/web` unless what is there was built from the present sources.
 * @throws with the build's own output when the build fails
 */
export function buildWebIfNeeded(): void {
  if (!existsSync(join(projectDir, 'clients/web/vite.config.ts'))) return
  const wanted = hashSources(['clients/web', 'src', 'package-lock.json'])
  if (existsSync(join(projectDir, 'dist/web/index.html')) && readIfThere(stampFile) === wanted) return
  const vite = join(projectDir, 'node_modules/vite/bin/vite.js')
  const build = spawnSync(process.execPath, [vite, 'build', '-c', 'clients/web/vite.config.ts'], {
    cwd: projectDir,
    encoding: 'utf8',
    // Started from a test it would build the libraries' variants for development.
    env: { ...process.env, NODE_ENV: 'production' },
  })
  if (build.status !== 0) throw new Error(`The web app does not build:\n${build.stdout}${build.stderr}`)
  writeFileSync(stampFile, wanted)
}
