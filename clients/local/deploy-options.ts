import { parseArgs } from 'node:util'
import { ROTATIONS, type Rotation } from './deploy-steps.ts'
import { StartError } from './start-error.ts'

export type DeployWish = {
  readonly name: string
  readonly isDry: boolean
  readonly rotate: Rotation | null
  readonly vars: Readonly<Record<string, string>>
}

/**
 * Reads the command line of `npm run deploy`.
 * @throws StartError naming the option that is wrong
 */
export function readDeployWish(args: readonly string[]): DeployWish {
  const { values } = parse(args)
  const name = values.name ?? 'beadwatch'
  if (!/^[a-z][a-z0-9-]{0,50}[a-z0-9]$/.test(name)) {
    throw new StartError(`--name ${name}: lower-case letters, digits and dashes, beginning with a letter.`)
  }
  const plan = values.plan ?? 'free'
  if (plan !== 'free' && plan !== 'paid') throw new StartError(`--plan ${plan} is neither free nor paid.`)
  const contact = values.contact
  if (contact !== undefined && !/^(mailto:.+@.+\..+|https:\/\/.+)$/.test(contact)) {
    throw new StartError(`--contact ${contact} is neither a mailto: nor an https: address.`)
  }
  const vars = {
    PLAN: plan,
    ...(contact === undefined ? {} : { VAPID_CONTACT: contact }),
    ...(values.public === undefined ? {} : { PUBLIC_ORIGIN: readHttps(values.public) }),
  }
  return { name, isDry: values['dry-run'] ?? false, rotate: readRotation(values.rotate), vars }
}

function parse(args: readonly string[]) {
  try {
    return parseArgs({
      args: [...args],
      options: {
        name: { type: 'string' },
        'dry-run': { type: 'boolean' },
        plan: { type: 'string' },
        contact: { type: 'string' },
        public: { type: 'string' },
        rotate: { type: 'string' },
      },
    })
  } catch (error) {
    throw new StartError(error instanceof Error ? error.message : String(error))
  }
}

function readRotation(text: string | undefined): Rotation | null {
  if (text === undefined) return null
  if (text === 'host-token' || text === 'vapid') return text
  throw new StartError(`--rotate ${text} is none of ${Object.keys(ROTATIONS).join(', ')}.`)
}

function readHttps(text: string): string {
  const url = URL.parse(text)
  if (url?.protocol !== 'https:') throw new StartError(`--public ${text} is not an https address.`)
  return url.origin
}
