import { existsSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { preact } from '@preact/preset-vite'
import { defineConfig } from 'vite'

const here = fileURLToPath(new URL('.', import.meta.url))
const serviceWorker = `${here}src/sw.ts`

/**
 * The app and its service worker are two entries of one build. The worker keeps its name, because a browser looks
 * for a newer one at the same address; everything else carries a hash and may be kept for ever.
 */
export default defineConfig({
  root: here,
  plugins: [preact({ devToolsEnabled: false })],
  build: {
    outDir: fileURLToPath(new URL('../../dist/web', import.meta.url)),
    emptyOutDir: true,
    target: 'es2022',
    // No inlined fonts or pictures: the content policy allows this origin only, not data addresses.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    rolldownOptions: {
      input: existsSync(serviceWorker)
        ? { app: `${here}index.html`, sw: serviceWorker }
        : { app: `${here}index.html` },
      output: {
        entryFileNames: (chunk) => (chunk.name === 'sw' ? 'sw.js' : 'assets/[name]-[hash].js'),
      },
    },
  },
})
