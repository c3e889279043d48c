import {
  accessSync,
  constants,
  existsSync,
  mkdirSync,
  readFileSync,
  renameSync,
  writeFileSync,
} from 'node:fs'
import { dirname, join } from 'node:path'
import webPush from 'web-push'
import * as z from 'zod'
import { makeHostToken } from './deploy-steps.ts'
import { StartError, systemCode } from './start-error.ts'

/** What a deployment must keep secret. Lost VAPID keys end every phone's subscription. */
const keysSchema = z.object({
  hostToken: z.string().min(20),
  vapidPublicKey: z.string().min(80),
  vapidPrivateKey: z.string().min(40),
})
export type Keys = z.infer<typeof keysSchema>

/**
 * Makes the state folder usable: it exists, can be written to, and holds the keys, made on the first run.
 * @throws StartError when the folder cannot be written or the file of keys is broken
 */
export function openState(dir: string): Keys {
  makeWritable(dir)
  const file = join(dir, 'keys.json')
  return existsSync(file) ? readKeys(file) : makeKeys(file)
}

function makeWritable(dir: string): void {
  try {
    makeFolder(dir)
    accessSync(dir, constants.W_OK | constants.X_OK)
  } catch (error) {
    throw new StartError(
      `The state folder ${dir} cannot be written to (${systemCode(error)}): choose another with --state DIR.`,
      { cause: error },
    )
  }
}

/** One level at a time: the recursive form of mkdir never returns below folders such as /proc. */
function makeFolder(dir: string): void {
  if (existsSync(dir)) return
  if (dirname(dir) !== dir) makeFolder(dirname(dir))
  mkdirSync(dir, { mode: 0o700 })
}

function readKeys(file: string): Keys {
  try {
    return keysSchema.parse(JSON.parse(readFileSync(file, 'utf8')))
  } catch (error) {
    throw new StartError(
      `The file of keys ${file} is broken: restore it from a backup, or move it away to get new keys ` +
        '(every phone then has to switch messages on again).',
      { cause: error },
    )
  }
}

function makeKeys(file: string): Keys {
  const vapid = webPush.generateVAPIDKeys()
  const keys: Keys = {
    hostToken: makeHostToken(),
    vapidPublicKey: vapid.publicKey,
    vapidPrivateKey: vapid.privateKey,
  }
  writeKeys(file, keys)
  return keys
}

/** Whole or not at all: a power cut while writing leaves the old file. */
export function writeKeys(file: string, keys: Keys): void {
  writeFileSync(`${file}.new`, `${JSON.stringify(keys, null, 2)}\n`, { mode: 0o600, flush: true })
  renameSync(`${file}.new`, file)
}
