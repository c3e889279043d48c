/** What the platform binds, as wrangler.toml and the secrets name it. */
export type Env = {
  readonly DB: D1Database
  readonly ASSETS?: Fetcher
  readonly WORK: Queue
  /** Counts posts by source. */
  readonly BURST: RateLimit
  /** Counts attempts to sign in by address. */
  readonly ATTEMPTS: RateLimit
  readonly PLAN?: string
  /** Secret. Without it nobody is the host. */
  readonly HOST_TOKEN?: string
  /** The address people use, when it differs from the one requests arrive at. */
  readonly PUBLIC_ORIGIN?: string
}
