import { fileURLToPath } from 'node:url'
import { preact } from '@preact/preset-vite'
import { defineConfig } from 'vite'
import { serviceWorker } from './service-worker.ts'

const here = fileURLToPath(new URL('.', import.meta.url))

/**
 * The service worker keeps its name, because a browser looks for a newer one at the same address; everything else carries
 * a hash and may be kept for ever.
 */
export default defineConfig({
  root: here,
  plugins: [preact({ devToolsEnabled: false }), serviceWorker(here)],
  build: {
    outDir: fileURLToPath(new URL('../../dist/web', import.meta.url)),
    emptyOutDir: true,
    target: 'es2022',
    // No inlined fonts or pictures: the content policy allows this origin only, not data addresses.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
  },
})
