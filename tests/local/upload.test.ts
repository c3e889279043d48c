/** The uploader against services that take less in one post than it sends first. */
import { spawn } from 'node:child_process'
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, test } from 'vitest'
import { projectDir } from '../../clients/local/paths.ts'

const folder = mkdtempSync(join(tmpdir(), 'beadwatch-upload-'))
afterAll(() => rmSync(folder, { recursive: true }))

/** Takes posts of at most so many records, as the free plan's settings do, and keeps what it took. */
async function service(recordsMax: number) {
  const taken: string[][] = []
  const server = createServer((req, res) => {
    let body = ''
    req.on('data', (chunk: Buffer) => (body += chunk.toString('utf8')))
    req.on('end', () => {
      const records = body.trimEnd().split('\n').slice(1)
      const isTaken = records.length <= recordsMax
      if (isTaken) taken.push(records)
      const counts = { received: records.length, stored: records.length, repeated: 0, setAsideTotal: 0 }
      res.writeHead(isTaken ? 200 : 413, { 'content-type': 'application/json' })
      res.end(JSON.stringify({ readAs: 'CSV', ...counts, setAside: [], pump: null }))
    })
  })
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done))
  // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- it listens on a port
  const { port } = server.address() as AddressInfo
  return { origin: `http://127.0.0.1:${port}`, taken, close: () => server.close() }
}

function upload(origin: string, file: string): Promise<{ code: number | null; out: string; err: string }> {
  const args = [join(projectDir, 'clients/hub/upload.ts'), '--url', origin, '--key', 'k', file]
  return new Promise((done) => {
    const child = spawn(process.execPath, args)
    let [out, err] = ['', '']
    child.stdout.on('data', (chunk: Buffer) => (out += chunk.toString('utf8')))
    child.stderr.on('data', (chunk: Buffer) => (err += chunk.toString('utf8')))
    child.on('close', (code) => done({ code, out, err }))
  })
}

test('a service that takes 500 records a post gets them all, each once', async () => {
  const { origin, taken, close } = await service(500)
  const lines = Array.from({ length: 1700 }, (_, i) => `${1_790_000_000 + i},9`)
  const file = join(folder, 'free.csv')
  writeFileSync(file, `at,humidity\n${lines.join('\n')}\n`)
  const { code, out } = await upload(origin, file)
  close()
  expect(code).toBe(0)
  expect(JSON.parse(out)).toMatchObject({ records: 1700, stored: 1700, posts: 4 })
  expect(taken.flat()).toEqual(lines)
  expect(existsSync(`${file}.upload`)).toBe(false)
})

test('one that takes less than that ends it, with what it said', async () => {
  const { origin, close } = await service(10)
  const file = join(folder, 'tiny.csv')
  writeFileSync(file, `at,humidity\n${Array.from({ length: 600 }, (_, i) => `${i},9`).join('\n')}\n`)
  const { code, err } = await upload(origin, file)
  close()
  expect(code).toBe(2)
  expect(err).toMatch(/^refused, from line 2: 413/m)
})
