/**
 * npm run deploy -- [--name NAME] [--dry-run] [--plan free|paid] [--contact ADDRESS] [--public URL] [--rotate WHAT]
 * Puts the service on the platform. With --dry-run nothing leaves this machine and no account is needed.
 */
import { spawnSync } from 'node:child_process'
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { buildWebIfNeeded } from './build-web.ts'
import { deployConfig } from './deploy-config.ts'
import { readDeployWish, type DeployWish } from './deploy-options.ts'
import { deploy, SECRET_NAMES, type Platform, type Ran } from './deploy-steps.ts'
import { makeSignInLink } from './host-calls.ts'
import { projectDir } from './paths.ts'
import { StartError } from './start-error.ts'

const say = (line: string) => console.log(line)
const UNKNOWN_ID = '00000000-0000-0000-0000-000000000000'

try {
  await main()
} catch (error) {
  if (!(error instanceof StartError)) throw error
  console.error(error.message)
  process.exitCode = 1
}

async function main(): Promise<void> {
  const wish = readDeployWish(process.argv.slice(2))
  mkdirSync(join(projectDir, 'dist/web'), { recursive: true })
  buildWebIfNeeded()
  if (wish.isDry) return dryRun(wish)
  const { origin, hostToken } = deploy(wish.name, wish.rotate, platformFor(wish))
  const people = wish.vars['PUBLIC_ORIGIN'] ?? origin
  say(`Deployed${people === null ? '' : `: ${people}`}`)
  if (hostToken !== null) say(`Host token, shown this once: ${hostToken}`)
  const token = hostToken ?? process.env['BEADWATCH_HOST_TOKEN'] ?? null
  if (people === null || token === null) {
    return say('Set BEADWATCH_HOST_TOKEN and run this again for a sign-in link.')
  }
  const link = await makeSignInLink({ origin: people, hostToken: token }, people)
  say(link === null ? 'No hangar yet: make one over HTTP with the host token.' : `Sign in, once: ${link}`)
}

/** All that can be tried without an account: the bundle, the bindings, and the migrations on an empty database. */
function dryRun({ name, vars }: DeployWish): void {
  const config = writeConfig(name, UNKNOWN_ID, vars)
  const scratch = mkdtempSync(join(tmpdir(), 'beadwatch-dry-'))
  try {
    say('Would find or make the database and the queues, and these secrets where they are missing:')
    say(`  database ${name}; queues ${name}-work, ${name}-dead; ${SECRET_NAMES.join(', ')}`)
    say('Migrating an empty database here ...')
    const local = ['--local', '--persist-to', scratch, '--config', config]
    const migrated = wrangler(['d1', 'migrations', 'apply', name, ...local])
    if (migrated.status !== 0) throw new StartError(`The migrations fail:\n${migrated.output}`)
    say('Bundling as for the platform ...')
    const bundled = wrangler(['deploy', '--dry-run', '--outdir', join(scratch, 'out'), '--config', config])
    if (bundled.status !== 0) throw new StartError(`The Worker does not bundle:\n${bundled.output}`)
    say(bundled.output.replace(/^[^\n]*wrangler[^\n]*\n[^\n]*\n/m, '').trim())
    say('Dry run: nothing was sent anywhere.')
  } finally {
    rmSync(scratch, { recursive: true, force: true })
  }
}

function platformFor({ name, vars }: DeployWish): Platform {
  return {
    run: wrangler,
    writeConfig: (databaseId) => writeConfig(name, databaseId, vars),
    withSecrets: (secrets, use) => {
      if (Object.keys(secrets).length === 0) return use('')
      const folder = mkdtempSync(join(tmpdir(), 'beadwatch-secrets-'))
      try {
        const file = join(folder, 'secrets.json')
        writeFileSync(file, JSON.stringify(secrets), { mode: 0o600 })
        return use(file)
      } finally {
        rmSync(folder, { recursive: true, force: true })
      }
    },
    say,
  }
}

function writeConfig(name: string, databaseId: string, vars: Readonly<Record<string, string>>): string {
  const folder = join(projectDir, 'dist/deploy')
  mkdirSync(folder, { recursive: true })
  const file = join(folder, `${name}.json`)
  writeFileSync(file, JSON.stringify(deployConfig({ name, databaseId, vars }), null, 2))
  return file
}

/** Questions of the tool are shown to the person; what it prints is kept. */
function wrangler(args: readonly string[]): Ran {
  const tool = join(projectDir, 'node_modules/wrangler/bin/wrangler.js')
  const { status, stdout, stderr } = spawnSync(process.execPath, [tool, ...args], {
    cwd: projectDir,
    encoding: 'utf8',
    stdio: ['inherit', 'pipe', 'pipe'],
    env: { ...process.env, WRANGLER_SEND_METRICS: 'false' },
    maxBuffer: 64 * 1024 * 1024,
  })
  return { status: status ?? 1, output: status === 0 ? stdout : stdout + stderr }
}
