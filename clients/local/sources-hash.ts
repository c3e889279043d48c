import { createHash } from 'node:crypto'
import { existsSync, readFileSync, readdirSync, statSync } from 'node:fs'
import { join } from 'node:path'
import { projectDir } from './paths.ts'

/**
 * A hash over the names and bytes of files and folders of the project: what was built from them is still good
 * while it stays the same. By content, not by time: a checkout sets every file's time anew.
 */
export function hashSources(paths: readonly string[]): string {
  const hash = createHash('sha256')
  for (const file of paths.flatMap(listFiles)) {
    hash
      .update(`${file}\0`)
      .update(readFileSync(join(projectDir, file)))
      .update('\0')
  }
  return hash.digest('hex')
}

export function readIfThere(file: string): string | null {
  return existsSync(file) ? readFileSync(file, 'utf8') : null
}

function listFiles(path: string): string[] {
  const full = join(projectDir, path)
  if (!existsSync(full)) return []
  if (statSync(full).isFile()) return [path]
  return readdirSync(full, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => join(entry.parentPath, entry.name).slice(projectDir.length))
    .toSorted()
}
