/// <reference types="@cloudflare/vitest-plugin/types" />
declare namespace Cloudflare {
  interface GlobalProps {
    mainModule: typeof import('../../src/index.ts')
  }
}
