import { spawnSync } from 'node:child_process'
import { join } from 'node:path'
import { expect, test } from 'vitest'
import { projectDir } from '../../clients/local/paths.ts'

function deploy(...args: string[]) {
  const { status, stdout, stderr } = spawnSync(
    process.execPath,
    [join(projectDir, 'clients/local/deploy.ts'), ...args],
    // No account: a credential in the environment must not be needed, nor used.
    {
      encoding: 'utf8',
      cwd: projectDir,
      env: { ...process.env, CLOUDFLARE_API_TOKEN: '', CLOUDFLARE_ACCOUNT_ID: '' },
    },
  )
  return { status, output: stdout + stderr }
}

test('a dry run bundles, binds and migrates without an account', () => {
  const { status, output } = deploy('--dry-run', '--name', 'try-staging', '--plan', 'paid')
  expect(output).toMatch(/env\.DB \(try-staging\)\s+D1 Database/)
  expect(output).toMatch(/env\.WORK \(try-staging-work\)\s+Queue/)
  expect(output).toMatch(/env\.PLAN \("paid"\)/)
  expect(output).toMatch(/Dry run: nothing was sent anywhere\.\n$/)
  expect(status).toBe(0)
})

test('a wrong option gives one sentence', () => {
  const { status, output } = deploy('--dry-run', '--plan', 'gold')
  expect({ status, output }).toEqual({ status: 1, output: '--plan gold is neither free nor paid.\n' })
})
