/** Putting it on the platform, step by step. What talks to the platform is handed in. */
import { randomBytes } from 'node:crypto'
import webPush from 'web-push'
import * as z from 'zod'
import { queueNames } from './deploy-config.ts'
import { StartError } from './start-error.ts'

export type Ran = { readonly status: number; readonly output: string }

export type Platform = {
  /** Runs the platform's tool and gives its status and standard output. */
  readonly run: (args: readonly string[]) => Ran
  /** Writes the deployment's configuration and gives the path of the file. */
  readonly writeConfig: (databaseId: string) => string
  /** Hands secrets to `use` in a file that only this user can read and that is gone afterwards. */
  readonly withSecrets: (secrets: Readonly<Record<string, string>>, use: (file: string) => Ran) => Ran
  readonly say: (line: string) => void
}

export const SECRET_NAMES = ['HOST_TOKEN', 'VAPID_PUBLIC_KEY', 'VAPID_PRIVATE_KEY'] as const

/** What `--rotate` replaces. New VAPID keys end every phone's subscription. */
export const ROTATIONS = {
  'host-token': ['HOST_TOKEN'],
  vapid: ['VAPID_PUBLIC_KEY', 'VAPID_PRIVATE_KEY'],
} as const
export type Rotation = keyof typeof ROTATIONS

export type DeployResult = {
  readonly origin: string | null
  /** Only when it was made now: it cannot be read back. */
  readonly hostToken: string | null
}

/**
 * Finds or makes the database and the queues, migrates, deploys, and sets the secrets that are missing or to be
 * replaced. Run again, it makes nothing twice.
 * @throws StartError with what the tool said, at the first step that fails
 */
export function deploy(name: string, rotate: Rotation | null, platform: Platform): DeployResult {
  const databaseId = findOrMakeDatabase(name, platform)
  for (const queue of Object.values(queueNames(name))) findOrMakeQueue(queue, platform)
  const config = platform.writeConfig(databaseId)
  must(platform, ['d1', 'migrations', 'apply', name, '--remote', '--config', config], 'migrate the database')
  const secrets = secretsToSet(existingSecrets(config, platform), rotate)
  const ran = platform.withSecrets(secrets, (file) => {
    platform.say(`Deploying ${name} ...`)
    return platform.run(['deploy', '--config', config, ...(file === '' ? [] : ['--secrets-file', file])])
  })
  if (ran.status !== 0) throw new StartError(`Could not deploy:\n${ran.output}`)
  const origin = /https:\/\/[^\s]+\.workers\.dev/.exec(ran.output)?.[0] ?? null
  return { origin, hostToken: secrets['HOST_TOKEN'] ?? null }
}

const databases = z.array(z.looseObject({ uuid: z.string(), name: z.string() }))

function findOrMakeDatabase(name: string, platform: Platform): string {
  const find = () => {
    const { output } = must(platform, ['d1', 'list', '--json'], 'list the databases')
    return databases.parse(JSON.parse(output)).find((each) => each.name === name)?.uuid ?? null
  }
  const found = find()
  if (found !== null) return found
  platform.say(`Making the database ${name} ...`)
  must(platform, ['d1', 'create', name], 'make the database')
  const made = find()
  if (made === null) throw new StartError(`The database ${name} was made but is not in the list.`)
  return made
}

function findOrMakeQueue(queue: string, platform: Platform): void {
  if (platform.run(['queues', 'info', queue]).status === 0) return
  platform.say(`Making the queue ${queue} ...`)
  must(platform, ['queues', 'create', queue], 'make the queue')
}

/** What the tool says of a Worker that was never deployed (its message, and the platform's code behind it). */
const NO_WORKER = /\bWorker "[^"]*"[^\n]* not found\b|\bcode: 10007\b/

/**
 * Before the first deployment there is no Worker, so there are none. Any other failure stops: taken for "none", it would
 * replace the host token and the message keys, and every phone would lose its messages.
 */
function existingSecrets(config: string, platform: Platform): ReadonlySet<string> {
  const { status, output } = platform.run(['secret', 'list', '--format', 'json', '--config', config])
  if (status !== 0 && NO_WORKER.test(output)) return new Set()
  if (status !== 0) throw new StartError(`Could not list the secrets, so none is touched:\n${output}`)
  return new Set(
    z
      .array(z.looseObject({ name: z.string() }))
      .parse(JSON.parse(output))
      .map((each) => each.name),
  )
}

/** The halves of a key pair are never mixed: one missing, both are made. */
export function secretsToSet(existing: ReadonlySet<string>, rotate: Rotation | null): Record<string, string> {
  const isWanted = (rotation: Rotation) =>
    rotate === rotation || ROTATIONS[rotation].some((secret) => !existing.has(secret))
  const secrets: Record<string, string> = {}
  if (isWanted('host-token')) secrets['HOST_TOKEN'] = makeHostToken()
  if (isWanted('vapid')) {
    const { publicKey, privateKey } = webPush.generateVAPIDKeys()
    Object.assign(secrets, { VAPID_PUBLIC_KEY: publicKey, VAPID_PRIVATE_KEY: privateKey })
  }
  return secrets
}

/** 256 random bits behind a prefix that says what it is. */
export function makeHostToken(): string {
  return `bwh_${randomBytes(32).toString('base64url')}`
}

function must(platform: Platform, args: readonly string[], what: string): Ran {
  const ran = platform.run(args)
  if (ran.status !== 0) throw new StartError(`Could not ${what}:\n${ran.output}`)
  return ran
}
