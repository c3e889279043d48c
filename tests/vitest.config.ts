import { existsSync, mkdirSync } from 'node:fs'
import { availableParallelism } from 'node:os'
import { cloudflareTest, readD1Migrations } from '@cloudflare/vitest-plugin'
import { defineConfig } from 'vitest/config'
import webPush from 'web-push'

const root = new URL('..', import.meta.url).pathname
const migrationsDir = `${root}migrations`

// `npm test` runs *.test.ts, `npm run test:long` the *.long.ts files of the same folders.
const kind = process.env['BEADWATCH_TESTS'] === 'long' ? 'long' : 'test'

// The Worker's assets binding needs its folder, built or not.
mkdirSync(`${root}dist/web`, { recursive: true })

const migrations = existsSync(migrationsDir) ? await readD1Migrations(migrationsDir) : []

/** One core is left to the rest of the machine, but not the second of two: most tests wait for a browser or a runtime. */
const maxWorkers = Math.max(availableParallelism() - 1, Math.min(2, availableParallelism()))

/** Push is set up, with keys of this run; its service is a closed port of this machine. */
function pushSettings() {
  const { publicKey, privateKey } = webPush.generateVAPIDKeys()
  return {
    VAPID_PUBLIC_KEY: publicKey,
    VAPID_PRIVATE_KEY: privateKey,
    VAPID_CONTACT: 'mailto:host@sixpence-field.zz',
    PUSH_TEST_ORIGIN: 'http://127.0.0.1:9',
  }
}

export default defineConfig({
  root,
  test: {
    maxWorkers,
    projects: [
      {
        root,
        test: {
          name: 'core',
          environment: 'node',
          // Pure functions leave nothing behind, so the files of a worker share what they import.
          isolate: false,
          include: [`tests/core/**/*.${kind}.ts`, `tests/published/**/*.${kind}.ts`],
          testTimeout: kind === 'long' ? 600_000 : 20_000,
        },
      },
      {
        root,
        plugins: [
          cloudflareTest({
            wrangler: { configPath: './wrangler.toml' },
            miniflare: {
              bindings: { TEST_MIGRATIONS: migrations, ...pushSettings() },
              // A second database for the tests that spread hangars over two.
              d1Databases: ['TEST_DB_1'],
            },
          }),
        ],
        test: {
          name: 'adapters',
          include: [`tests/adapters/**/*.${kind}.ts`],
          testTimeout: kind === 'long' ? 600_000 : 20_000,
        },
      },
      {
        root,
        test: {
          name: 'scenarios',
          environment: 'node',
          globalSetup: ['tests/build-web.ts'],
          include: [
            `tests/scenarios/**/*.${kind}.ts`,
            `tests/local/**/*.${kind}.ts`,
            `tests/browser/**/*.${kind}.ts`,
          ],
          testTimeout: kind === 'long' ? 900_000 : 60_000,
          // A busy machine is slow, not wrong: what a browser shows is waited for as long as its own waits do.
          expect: { poll: { timeout: 20_000 } },
          hookTimeout: 60_000,
        },
      },
    ],
  },
})
