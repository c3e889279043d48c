/** What every handler is given, and nothing else: the ports, who calls, the one clock read of this request. */
import type { OpenAPIHono } from '@hono/zod-openapi'
import type { Env } from '../../env.ts'
import type { DevicePorts } from '../../flows/devices.ts'
import type { HealthPort } from '../../flows/health.ts'
import type { IngestPorts } from '../../flows/ingest.ts'
import type { ShardPorts } from '../../flows/ports.ts'
import type { Hangar, PeoplePorts, Person, Role, Session } from '../../flows/people/ports.ts'

/** Who calls, and how they proved it. */
export type Caller =
  | { readonly kind: 'nobody' }
  | { readonly kind: 'host' }
  | { readonly kind: 'person'; readonly person: Person; readonly by: Proof }

export type Proof =
  | { readonly kind: 'session'; readonly session: Session }
  | { readonly kind: 'token'; readonly may: 'read' | 'write' }

export type Attempts = {
  /** False when this address has tried too often. */
  readonly allow: (address: string) => Promise<boolean>
}

/** One structured line: no names, no addresses, no secrets. */
export type Log = (line: Readonly<Record<string, string | number | boolean | null>>) => void

export type HttpPorts = {
  readonly people: PeoplePorts
  readonly health: HealthPort
  readonly ingest: IngestPorts
  /** The databases, the directory's own first. An id says which one holds it: `shardOfId`. */
  readonly shards: readonly ShardPorts[]
  readonly messages: DevicePorts
  readonly attempts: Attempts
  readonly log: Log
  readonly nowS: () => number
  /** `null`: no host token is set, so nobody can be the host. */
  readonly hostToken: string | null
  /** The address people use, when it is not the one the request shows (behind a proxy that ends TLS). */
  readonly publicOrigin: string | null
}

export type HttpEnv = {
  Bindings: Env
  Variables: {
    ports: HttpPorts
    nowS: number
    requestId: string
    /** The origin people use: for links, for passkeys and to check where a request comes from. */
    origin: string
    caller: Caller
    /** Set by the access check for paths that lead to a hangar. The host is a keeper everywhere. */
    at: { readonly hangar: Hangar; readonly role: Role } | null
  }
}

export type App = OpenAPIHono<HttpEnv>
