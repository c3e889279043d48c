import { expect, test } from 'vitest'
import { isForbiddenPath } from '../../clients/local/forbidden-path.ts'
import { FORBIDDEN } from './forbidden-paths.ts'

test.each(FORBIDDEN)('%j is refused', (target) => expect(isForbiddenPath(target)).toBe(true))

test.each([
  '/',
  '/v1/readings?key=abc%2fcdn-cgi',
  '/v1/rigs/cdn-cgi-2/now',
  '/assets/index-Ab12.js',
  '/join',
  '/v1/x%zz',
  '/v1/100%25',
])('%j is let through', (target) => expect(isForbiddenPath(target)).toBe(false))

/** Whatever this machine's own URL parser makes of a path, it never makes one that we let through forbidden. */
test('no reading of a path by a URL parser reaches a forbidden one that was let through', () => {
  const parts = [
    '/',
    '\\',
    '%2f',
    '%5c',
    '.',
    '..',
    '%2e',
    'cdn-cgi',
    'CDN-cgi',
    '%63dn-cgi',
    'cdn%2dcgi',
    '\t',
    'x',
  ]
  let tried = 0
  for (const a of parts) {
    for (const b of parts) {
      for (const c of parts) {
        for (const d of parts) {
          const target = `/${a}${b}${c}${d}/local/explorer`
          const parsed = URL.parse(target, 'http://localhost')?.pathname ?? ''
          tried += 1
          if (/^\/cdn-cgi(\/|$)/i.test(decodeURIComponent(parsed)))
            expect.soft(isForbiddenPath(target), target).toBe(true)
        }
      }
    }
  }
  expect(tried).toBe(parts.length ** 4)
})
