import { existsSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { connect } from 'node:net'
import { join } from 'node:path'
import { renderUnicodeCompact } from 'uqr'
import { afterAll, beforeAll, expect, test } from 'vitest'
import { FORBIDDEN } from '../local/forbidden-paths.ts'
import { newStateDir, removeStateDir, runStart, startServed, type ServedProcess } from './served.ts'

let served: ServedProcess
beforeAll(async () => {
  served = await startServed()
})
afterAll(async () => {
  await served.stop()
  removeStateDir(served.stateDir)
})

const port = () => Number(new URL(served.origin).port)

/** Bytes as they are, since a client library would tidy up the path first. Gives the status and the body. */
function send(request: string): Promise<{ status: number; text: string }> {
  return new Promise((done, fail) => {
    const socket = connect(port(), '127.0.0.1', () => socket.write(request, 'latin1'))
    let text = ''
    socket.setEncoding('latin1').on('data', (chunk: string) => {
      text += chunk
    })
    socket.on('error', fail)
    socket.on('close', () => done({ status: Number(/^HTTP\/1\.1 (\d+)/.exec(text)?.[1] ?? 0), text }))
  })
}

const hosts = [
  'localhost',
  '127.0.0.1',
  '[::1]',
  'localhost:80',
  'evil.example',
  'localhost, evil.example',
  '',
]

test('the tools of the local runtime cannot be reached, whatever the path looks like and the Host says', async () => {
  let tried = 0
  for (const path of FORBIDDEN) {
    for (const host of hosts) {
      for (const method of ['GET', 'POST']) {
        const answer = await send(
          `${method} ${path} HTTP/1.1\r\nHost: ${host}\r\nMF-Original-URL: http://localhost/cdn-cgi/local/explorer\r\n` +
            'Content-Length: 0\r\nConnection: close\r\n\r\n',
        )
        // 400: Node's own parser would not read it. Never an answer of the runtime, whose errors are not problems.
        expect.soft([400, 404, 421], `${method} ${JSON.stringify(path)} ${host}`).toContain(answer.status)
        if (answer.status !== 400) expect.soft(answer.text, path).toContain('application/problem+json')
        tried += 1
      }
    }
  }
  expect(tried).toBe(FORBIDDEN.length * hosts.length * 2)
})

test('the headers by which the runtime believes its caller are dropped', async () => {
  const answer = await send(
    `GET /healthz HTTP/1.1\r\nHost: localhost\r\nMF-Original-URL: http://localhost/cdn-cgi/local/platform-proxy\r\n` +
      'MF-Proxy-Shared-Secret: x\r\nMF-Op: GET\r\nMF-Route-Override: other\r\nConnection: close\r\n\r\n',
  )
  // With the secret let through, the runtime answers 400; with the override, 404.
  expect([200, 503]).toContain(answer.status)
  expect(answer.text).toContain('"checkedAt"')
})

test('a page whose name points to this machine gets no answer', async () => {
  for (const host of [
    'evil.example',
    'evil.example:8787',
    'localhost.evil.example',
    '127.0.0.1.evil.example',
    '10.0.0.9',
  ]) {
    const answer = await send(`GET /healthz HTTP/1.1\r\nHost: ${host}\r\nConnection: close\r\n\r\n`)
    expect.soft(answer.status, host).toBe(421)
  }
})

test('unknown API paths answer as problems, not as the page', async () => {
  const answer = await served.call('GET', '/v1/nowhere')
  expect(answer.status).toBe(404)
  expect(answer.headers.get('content-type')).toContain('application/problem+json')
})

test('the host token opens the API, another does not', async () => {
  expect((await served.call('GET', '/v1/hangars')).status).toBe(200)
  const other = await fetch(`${served.origin}/v1/hangars`, { headers: { authorization: 'Bearer bwh_nope' } })
  expect(other.status).toBe(401)
})

test('the keys are readable by their owner alone', () => {
  expect(statSync(join(served.stateDir, 'keys.json')).mode & 0o077).toBe(0)
})

test('a taken port gives one sentence', async () => {
  const stateDir = newStateDir()
  const { code, output } = await runStart(['--empty', '--state', stateDir, '--port', String(port())])
  removeStateDir(stateDir)
  expect(code).toBe(1)
  expect(output).toBe(`Port ${port()} is taken: choose another with --port N.\n`)
})

test('a state folder in use gives one sentence', async () => {
  const { code, output } = await runStart(['--empty', '--state', served.stateDir, '--port', '0'])
  expect(code).toBe(1)
  expect(output).toMatch(/^The state folder \S+ is in use by process \d+: stop that one first\.\n$/)
})

test('a folder that cannot be made gives one sentence', async () => {
  // Not even the superuser can make a folder there.
  const { code, output } = await runStart(['--empty', '--state', '/proc/nowhere/at/all', '--port', '0'])
  expect(code).toBe(1)
  expect(output).toMatch(
    /^The state folder \/proc\/nowhere\/at\/all cannot be written to \(E\w+\): .*--state DIR\.\n$/,
  )
})

test('a file in the place of the state folder gives one sentence', async () => {
  const stateDir = newStateDir()
  const file = join(stateDir, 'file')
  writeFileSync(file, '')
  const { code, output } = await runStart(['--empty', '--state', join(file, 'state'), '--port', '0'])
  removeStateDir(stateDir)
  expect(code).toBe(1)
  expect(output).toMatch(/cannot be written to \(ENOTDIR\)/)
})

test('a broken file of keys gives one sentence and is left as it is', async () => {
  const stateDir = newStateDir()
  writeFileSync(join(stateDir, 'keys.json'), '{"hostToken": ')
  const { code, output } = await runStart(['--empty', '--state', stateDir, '--port', '0'])
  expect(code).toBe(1)
  expect(output).toMatch(/^The file of keys \S+keys\.json is broken: [^\n]+\n$/)
  expect(readFileSync(join(stateDir, 'keys.json'), 'utf8')).toBe('{"hostToken": ')
  removeStateDir(stateDir)
})

test('a broken database gives one sentence and is left as it is', async () => {
  const first = await startServed()
  await first.stop()
  const folder = join(first.stateDir, 'd1/miniflare-D1DatabaseObject')
  const files = readdirSync(folder).filter((name) => /^[0-9a-f]{64}\.sqlite/.test(name))
  const file = join(folder, files.find((name) => name.endsWith('.sqlite')) ?? '')
  for (const name of files) rmSync(join(folder, name))
  writeFileSync(file, 'this is no database at all, not by any reading of it. '.repeat(100))
  const { code, output } = await runStart(['--empty', '--state', first.stateDir, '--port', '0'])
  expect(code).toBe(1)
  expect(output).toMatch(/^The database in \S+ is broken or not ours \([^\n]+\): [^\n]+\n$/m)
  expect(output).not.toMatch(/^\s+at /m)
  expect(readFileSync(file, 'utf8')).toContain('this is no database at all')
  removeStateDir(first.stateDir)
})

test('a wrong option gives its name and the usage', async () => {
  expect(await runStart(['--prt', '1'])).toMatchObject({
    code: 1,
    output: expect.stringContaining("'--prt'"),
  })
  expect(await runStart(['--port', '99999'])).toMatchObject({
    code: 1,
    output: '--port 99999 is not a port: 0 to 65535.\n',
  })
})

test('a restart, and one after a power cut, finds the same hangars and keys', async () => {
  const first = await startServed()
  const made = await first.call('POST', '/v1/hangars', { name: 'Shed 7' })
  expect(made.status).toBe(201)
  await first.stop()
  const second = await startServed({ stateDir: first.stateDir })
  expect(second.hostToken).toBe(first.hostToken)
  expect(await (await second.call('GET', '/v1/hangars')).text()).toContain('Shed 7')
  await second.kill()
  expect(existsSync(join(first.stateDir, 'lock.json'))).toBe(true)
  const third = await startServed({ stateDir: first.stateDir })
  expect(await (await third.call('GET', '/v1/hangars')).text()).toContain('Shed 7')
  await third.stop()
  removeStateDir(first.stateDir)
})

test('a host token from the environment is the one that counts', async () => {
  const own = await startServed({ env: { BEADWATCH_HOST_TOKEN: 'bwh_chosen_by_the_owner_0123456789' } })
  expect(own.hostToken).toBe('bwh_chosen_by_the_owner_0123456789')
  expect((await own.call('GET', '/v1/hangars')).status).toBe(200)
  await own.stop()
  removeStateDir(own.stateDir)
})

test('with a public address the sign-in link is shown for a phone’s camera too, without one only as text', async () => {
  const args = ['--hangar', 'Row', '--public', 'https://beads.test']
  const withQr = await startServed({ args })
  const plain = await startServed({ args: ['--hangar', 'Row'] })
  try {
    const link = /^Sign in, once: (https:\/\/beads\.test\/join#\S+)$/m.exec(withQr.output())?.[1] ?? ''
    expect(withQr.output()).toContain(`${link}\n${renderUnicodeCompact(link)}\nReady.`)
    expect(plain.output()).toMatch(/^Sign in, once: http:\/\/localhost:\d+\/join#\S+\nReady\./m)
  } finally {
    for (const each of [withQr, plain]) {
      await each.stop()
      removeStateDir(each.stateDir)
    }
  }
})
