import { spawnSync } from 'node:child_process'
import { mkdirSync, mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { projectDir } from './paths.ts'
import { hashSources, readIfThere } from './sources-hash.ts'

/** Inside the project: the runtime refuses modules from outside the folder it is given. */
export const workerFile = join(projectDir, 'dist/worker/index.js')
const stampFile = join(projectDir, 'dist/worker.sha256')

/**
 * Bundles the Worker into `dist/worker/index.js` unless it is there already: by the very tool that deploys it, so
 * that what runs here is what runs there. Needs `dist/web` to exist.
 * @throws with the tool's own output when it fails
 */
export function buildWorkerIfNeeded(): void {
  const wanted = hashSources(['src', 'wrangler.toml', 'package-lock.json'])
  if (readIfThere(workerFile) !== null && readIfThere(stampFile) === wanted) return
  mkdirSync(join(projectDir, 'dist'), { recursive: true })
  const out = mkdtempSync(join(projectDir, 'dist/worker-'))
  const wrangler = join(projectDir, 'node_modules/wrangler/bin/wrangler.js')
  const build = spawnSync(process.execPath, [wrangler, 'deploy', '--dry-run', '--outdir', out], {
    cwd: projectDir,
    encoding: 'utf8',
    env: { ...process.env, WRANGLER_SEND_METRICS: 'false' },
  })
  if (build.status !== 0) throw new Error(`The Worker does not build:\n${build.stdout}${build.stderr}`)
  mkdirSync(join(projectDir, 'dist/worker'), { recursive: true })
  renameSync(join(out, 'index.js'), workerFile)
  rmSync(out, { recursive: true, force: true })
  writeFileSync(stampFile, wanted)
}

export function readWorker(): string {
  return readFileSync(workerFile, 'utf8')
}
