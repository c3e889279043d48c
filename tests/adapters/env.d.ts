/// <reference types="@cloudflare/vitest-plugin/types" />
declare namespace Cloudflare {
  interface GlobalProps {
    mainModule: typeof import('../../src/index.ts')
  }
  interface Env {
    readonly DB: D1Database
    readonly TEST_DB_1: D1Database
    readonly WORK: Queue
    readonly BURST: RateLimit
    readonly ATTEMPTS: RateLimit
    readonly PLAN: string
    readonly TEST_MIGRATIONS: import('cloudflare:test').D1Migration[]
  }
}
