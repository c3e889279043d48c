import { expect, test } from 'vitest'
import { deployConfig } from '../../clients/local/deploy-config.ts'
import { readDeployWish } from '../../clients/local/deploy-options.ts'
import { deploy, secretsToSet, SECRET_NAMES, type Platform } from '../../clients/local/deploy-steps.ts'

const ok = (output = '') => ({ status: 0, output })
const fail = (output: string) => ({ status: 1, output })

const made = (make: () => void) => {
  make()
  return ok()
}

/** An account that remembers what was made in it, behind the commands of the platform's tool. */
function fakeAccount() {
  const account = {
    databases: [] as { uuid: string; name: string }[],
    queues: new Set<string>(),
    secrets: new Map<string, string>(),
    isDeployed: false,
    migrated: 0,
    calls: [] as string[],
    failing: '',
  }
  let offered: Readonly<Record<string, string>> = {}
  const run = (args: readonly string[]) => {
    const line = args.join(' ')
    account.calls.push(line)
    const name = args[2] ?? ''
    if (account.failing !== '' && line.startsWith(account.failing)) return fail('the platform says no')
    if (line === 'd1 list --json') return ok(JSON.stringify(account.databases))
    if (line.startsWith('d1 create')) return made(() => account.databases.push({ uuid: `id-${name}`, name }))
    if (line.startsWith('d1 migrations apply')) return made(() => (account.migrated += 1))
    if (line.startsWith('queues info')) return account.queues.has(name) ? ok() : fail('no such queue')
    if (line.startsWith('queues create')) return made(() => account.queues.add(name))
    if (line.startsWith('secret list')) {
      if (!account.isDeployed)
        return fail(
          `Worker "try" not found.\n\nIf this is a new Worker, run \`wrangler deploy\` first to create it.`,
        )
      return ok(
        JSON.stringify([...account.secrets.keys()].map((each) => ({ name: each, type: 'secret_text' }))),
      )
    }
    if (!line.startsWith('deploy')) return fail(`unknown: ${line}`)
    account.isDeployed = true
    if (line.includes('--secrets-file'))
      for (const [key, value] of Object.entries(offered)) account.secrets.set(key, value)
    return ok('Uploaded\nhttps://try.somebody.workers.dev\nCurrent Version ID: 1')
  }
  const platform: Platform = {
    run,
    writeConfig: (databaseId) => `/tmp/config-${databaseId}.json`,
    withSecrets: (secrets, use) => {
      offered = secrets
      return use(Object.keys(secrets).length === 0 ? '' : '/tmp/secrets.json')
    },
    say: () => undefined,
  }
  return { account, platform }
}

test('the first time everything is made, and the host token is told once', () => {
  const { account, platform } = fakeAccount()
  const result = deploy('try', null, platform)
  expect(result.origin).toBe('https://try.somebody.workers.dev')
  expect(result.hostToken).toBe(account.secrets.get('HOST_TOKEN'))
  expect(account.databases).toEqual([{ uuid: 'id-try', name: 'try' }])
  expect([...account.queues]).toEqual(['try-work', 'try-dead'])
  expect([...account.secrets.keys()].toSorted()).toEqual([...SECRET_NAMES].toSorted())
  expect(account.migrated).toBe(1)
  // The schema is there before the code that needs it.
  expect(account.calls.findIndex((call) => call.startsWith('d1 migrations'))).toBeLessThan(
    account.calls.findIndex((call) => call.startsWith('deploy')),
  )
})

test('run again it makes nothing, keeps the secrets and migrates', () => {
  const { account, platform } = fakeAccount()
  deploy('try', null, platform)
  const before = new Map(account.secrets)
  account.calls.length = 0
  expect(deploy('try', null, platform).hostToken).toBeNull()
  expect(account.calls.filter((call) => call.includes('create'))).toEqual([])
  expect(account.secrets).toEqual(before)
  expect(account.migrated).toBe(2)
})

test('a second name is a deployment of its own', () => {
  const { account, platform } = fakeAccount()
  deploy('try', null, platform)
  deploy('try-staging', null, platform)
  expect(account.databases.map(({ name }) => name)).toEqual(['try', 'try-staging'])
  expect(account.queues.size).toBe(4)
})

test('a rotation replaces what it names and nothing else; a key pair is replaced as a pair', () => {
  const { account, platform } = fakeAccount()
  deploy('try', null, platform)
  const before = new Map(account.secrets)
  const { hostToken } = deploy('try', 'host-token', platform)
  expect(hostToken).not.toBe(before.get('HOST_TOKEN'))
  expect(account.secrets.get('VAPID_PRIVATE_KEY')).toBe(before.get('VAPID_PRIVATE_KEY'))
  deploy('try', 'vapid', platform)
  expect(account.secrets.get('HOST_TOKEN')).toBe(hostToken)
  expect(account.secrets.get('VAPID_PUBLIC_KEY')).not.toBe(before.get('VAPID_PUBLIC_KEY'))
  expect(account.secrets.get('VAPID_PRIVATE_KEY')).not.toBe(before.get('VAPID_PRIVATE_KEY'))
  expect(Object.keys(secretsToSet(new Set(['HOST_TOKEN', 'VAPID_PUBLIC_KEY']), null))).toEqual([
    'VAPID_PUBLIC_KEY',
    'VAPID_PRIVATE_KEY',
  ])
})

test.each(['d1 list', 'd1 create', 'queues create', 'd1 migrations', 'deploy'])(
  'when `%s` fails it stops there and says what the platform said',
  (failing) => {
    const { account, platform } = fakeAccount()
    account.failing = failing
    expect(() => deploy('try', null, platform)).toThrow('the platform says no')
    expect(account.calls.at(-1)).toMatch(new RegExp(`^${failing}`))
  },
)

test('when the secrets cannot be listed nothing is deployed and none is replaced', () => {
  const { account, platform } = fakeAccount()
  deploy('try', null, platform)
  const before = new Map(account.secrets)
  const deployments = account.calls.filter((call) => call.startsWith('deploy')).length
  account.failing = 'secret list'
  expect(() => deploy('try', null, platform)).toThrow(/Could not list the secrets.*\nthe platform says no/)
  expect(account.secrets).toEqual(before)
  expect(account.calls.filter((call) => call.startsWith('deploy'))).toHaveLength(deployments)
})

test('secrets are never on a command line', () => {
  const { account, platform } = fakeAccount()
  deploy('try', null, platform)
  for (const secret of account.secrets.values()) expect(account.calls.join('\n')).not.toContain(secret)
})

test('the configuration names this deployment throughout', () => {
  const config = deployConfig({ name: 'try', databaseId: 'id-1', vars: { PLAN: 'paid' } })
  expect(config).toMatchObject({
    name: 'try',
    vars: { PLAN: 'paid' },
    d1_databases: [{ binding: 'DB', database_name: 'try', database_id: 'id-1' }],
    queues: {
      producers: [{ binding: 'WORK', queue: 'try-work' }],
      consumers: [{ queue: 'try-work', dead_letter_queue: 'try-dead' }, { queue: 'try-dead' }],
    },
    triggers: { crons: ['*/5 * * * *'] },
  })
  expect(JSON.stringify(config)).not.toMatch(/"beadwatch/)
})

test.each([
  [['--name', 'Not_A_Name'], '--name Not_A_Name'],
  [['--contact', 'me'], '--contact me'],
  [['--public', 'http://beads.example'], '--public http://beads.example'],
  [['--rotate', 'everything'], '--rotate everything'],
  [['--nothing'], "'--nothing'"],
])('the option %j is refused by name', (args, named) => expect(() => readDeployWish(args)).toThrow(named))

test('the options of a deployment', () => {
  const args = [
    '--name',
    'try',
    '--contact',
    'mailto:host@beads.example',
    '--public',
    'https://beads.example/x',
  ]
  expect(readDeployWish(args)).toEqual({
    name: 'try',
    isDry: false,
    rotate: null,
    vars: {
      PLAN: 'free',
      VAPID_CONTACT: 'mailto:host@beads.example',
      PUBLIC_ORIGIN: 'https://beads.example',
    },
  })
})
