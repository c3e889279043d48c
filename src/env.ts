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
  /** Key pair that push messages are signed with, base64url. Without it push is off. Secret: the private one. */
  readonly VAPID_PUBLIC_KEY?: string
  readonly VAPID_PRIVATE_KEY?: string
  /** `mailto:` or `https:` address at which a push service reaches the host. */
  readonly VAPID_CONTACT?: string
  /** Push services beside the browsers' own, separated by commas. */
  readonly PUSH_HOSTS?: string
  /** Tests alone: a push service on loopback, `http://127.0.0.1:PORT`. */
  readonly PUSH_TEST_ORIGIN?: string
  /** The address people use, when it differs from the one requests arrive at. */
  readonly PUBLIC_ORIGIN?: string
}
