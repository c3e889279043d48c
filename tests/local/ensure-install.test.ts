import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, test } from 'vitest'
import { whyInstall } from '../../clients/local/ensure-install.js'

let dir = ''
const whyHere = (): string | null => whyInstall(dir)

beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'beadwatch-install-'))
  write('package-lock.json', { '': {}, 'node_modules/a': { version: '1.0.0', integrity: 'x' } })
})
afterEach(() => rmSync(dir, { recursive: true }))

test('a folder with nothing installed needs an install', () => {
  expect(whyHere()).toBe('nothing is installed yet')
})

test('what the lock file names and is on disk needs none', () => {
  installed({ 'node_modules/a': { version: '1.0.0', integrity: 'x' } })
  expect(whyHere()).toBeNull()
})

test.each([
  [
    'another version',
    { 'node_modules/a': { version: '0.9.0', integrity: 'w' } },
    'node_modules/a is not 1.0.0',
  ],
  [
    'the same version from other bytes',
    { 'node_modules/a': { version: '1.0.0', integrity: 'y' } },
    /is not 1.0.0/,
  ],
  ['a missing package', {}, 'node_modules/a is missing'],
])('%s needs an install', (_, packages, why) => {
  installed(packages)
  expect(whyHere()).toMatch(why)
})

test('a package that was deleted by hand, and one that is no longer wanted, need an install', () => {
  installed({ 'node_modules/a': { version: '1.0.0', integrity: 'x' } })
  rmSync(join(dir, 'node_modules/a'), { recursive: true })
  expect(whyHere()).toBe('node_modules/a is missing')
  installed({
    'node_modules/a': { version: '1.0.0', integrity: 'x' },
    'node_modules/b': { version: '1.0.0' },
  })
  expect(whyHere()).toBe('node_modules/b is no longer used')
})

test('an optional package for another system may be missing', () => {
  write('package-lock.json', { '': {}, 'node_modules/a': { version: '1.0.0', optional: true, os: ['aix'] } })
  installed({})
  expect(whyHere()).toBeNull()
})

function installed(packages: Record<string, object>): void {
  for (const path of Object.keys(packages)) mkdirSync(join(dir, path), { recursive: true })
  mkdirSync(join(dir, 'node_modules'), { recursive: true })
  write('node_modules/.package-lock.json', packages)
}

function write(name: string, packages: object): void {
  writeFileSync(join(dir, name), JSON.stringify({ packages }))
}
