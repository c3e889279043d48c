import { cloudflareTest } from '@cloudflare/vitest-plugin'
import { defineConfig } from 'vitest/config'

const root = new URL('..', import.meta.url).pathname

export default defineConfig({
  root,
  test: {
    projects: [
      {
        root,
        test: {
          name: 'core',
          environment: 'node',
          include: ['tests/core/**/*.test.ts', 'tests/published/**/*.test.ts'],
        },
      },
      {
        root,
        plugins: [cloudflareTest({ wrangler: { configPath: './wrangler.toml' } })],
        test: { name: 'adapters', include: ['tests/adapters/**/*.test.ts'] },
      },
      {
        root,
        test: {
          name: 'scenarios',
          environment: 'node',
          include: ['tests/scenarios/**/*.test.ts', 'tests/browser/**/*.test.ts'],
          testTimeout: 60_000,
          hookTimeout: 60_000,
        },
      },
    ],
  },
})
