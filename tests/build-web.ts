import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { buildWebIfNeeded } from '../clients/local/build-web.ts'
import { projectDir } from '../clients/local/paths.ts'

/** Once before the tests that are served: the app they load is the one in this checkout. */
export default function setup(): void {
  if (existsSync(join(projectDir, 'clients/web/vite.config.ts'))) buildWebIfNeeded()
}
