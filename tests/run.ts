/**
 * Runs the tests and ends with one plain line, `N passed, N failed`. With `--long`, the long ones instead
 * (`*.long.ts`). What a machine cannot run is named; with BEADWATCH_NO_SKIPS=1 a skipped test is a failure.
 */
import { spawnSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { projectDir } from '../clients/local/paths.ts'
import { countResults, reportSchema, type Report } from './results.ts'

const isLong = process.argv.includes('--long')
const filters = process.argv.slice(2).filter((word) => word !== '--long')
const noSkips = process.env['BEADWATCH_NO_SKIPS'] === '1'

const folder = mkdtempSync(join(tmpdir(), 'beadwatch-tests-'))
const reportFile = join(folder, 'report.json')
const { status } = spawnSync(
  process.execPath,
  [
    join(projectDir, 'node_modules/vitest/vitest.mjs'),
    'run',
    '--config=tests/vitest.config.ts',
    '--reporter=default',
    '--reporter=json',
    `--outputFile.json=${reportFile}`,
    ...filters,
  ],
  {
    cwd: projectDir,
    stdio: 'inherit',
    env: { ...process.env, BEADWATCH_TESTS: isLong ? 'long' : 'test', WRANGLER_SEND_METRICS: 'false' },
  },
)
const counted = countResults(readReport(reportFile), { runnerStatus: status, noSkips })
rmSync(folder, { recursive: true, force: true })
for (const name of counted.skipped) console.log(`skipped: ${name}`)
for (const name of counted.broken) console.log(`failed: ${name}`)
console.log(`${counted.passed} passed, ${counted.failed} failed`)
process.exitCode = counted.failed === 0 ? 0 : 1

function readReport(file: string): Report | null {
  try {
    return reportSchema.parse(JSON.parse(readFileSync(file, 'utf8')))
  } catch {
    return null
  }
}
