/** Numbered readings through a service that is killed again and again, as by a power cut. */
import { setTimeout as sleep } from 'node:timers/promises'
import { expect } from 'vitest'
import { encodePost } from '../../clients/hub/encode.ts'
import { sendPost, type Target } from '../../clients/hub/send.ts'
import type { Reading } from '../../src/core/fold/inputs.ts'
import { newStateDir, removeStateDir, startServed, type ServedProcess } from './served.ts'
import { makeRig, timeOf } from './world.ts'

/** A small generator with a seed, so that a failure can be run again (mulberry32). */
function randomOf(seed: number): () => number {
  let state = seed
  return () => {
    state = (state + 0x6d2b79f5) | 0
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state)
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296
  }
}

/** Every reading says its number: in its time, and in its two values. */
function numbered(i: number, beginS: number): Reading {
  return {
    atS: beginS + 10 * i,
    place: 'return',
    humidityPct: (i % 10_000) / 100,
    tempC: Math.floor(i / 10_000),
    pumpOn: null,
    powerW: null,
  }
}

type Load = { readonly readings: number; readonly kills: number; readonly seed: number }

export async function surviveKills({ readings, kills, seed }: Load) {
  const random = randomOf(seed)
  const stateDir = newStateDir()
  const beginS = Math.floor(Date.now() / 1000) - 10 * readings - 600
  let served = await startServed({ stateDir })
  const { port } = new URL(served.origin)
  const made = await makeRig(served, { slug: 'qx-num', fromS: beginS })
  const target = { origin: served.origin, key: made.key }
  const acknowledged = new Set<number>()
  const killAt = Array.from({ length: kills }, () => Math.floor(random() * readings * 0.95)).toSorted(
    (a, b) => a - b,
  )
  const batches = cutInBatches(readings, random)
  const feeding = Promise.all([0, 1, 2].map(() => feed({ target, batches, beginS, acknowledged })))
  let survived = 0
  for (const threshold of killAt) {
    while (acknowledged.size < threshold) await sleep(5)
    await sleep(random() * 40)
    await served.kill()
    const before = new Set(acknowledged)
    served = await startServed({ stateDir, args: ['--empty', '--port', port] })
    const stored = await readStored(served, made.rig, beginS)
    expect([...before].filter((i) => !stored.has(i))).toEqual([])
    survived += 1
  }
  await feeding
  const stored = await readStored(served, made.rig, beginS)
  await served.stop()
  removeStateDir(stateDir)
  return { survived, acknowledged: acknowledged.size, stored: stored.size }
}

function cutInBatches(readings: number, random: () => number): [from: number, to: number][] {
  const batches: [number, number][] = []
  for (let from = 0; from < readings;) {
    const to = Math.min(readings, from + 1 + Math.floor(random() * 120))
    batches.push([from, to])
    from = to
  }
  return batches
}

type Feed = { target: Target; batches: [number, number][]; beginS: number; acknowledged: Set<number> }

/** A hub with retries: the next batch only after a 200 for this one. */
async function feed({ target, batches, beginS, acknowledged }: Feed): Promise<void> {
  for (let batch = batches.shift(); batch !== undefined; batch = batches.shift()) {
    const [from, to] = batch
    const numbers = Array.from({ length: to - from }, (_, i) => from + i)
    const post = encodePost(
      numbers.map((i) => numbered(i, beginS)),
      { kind: 'native', rig: null, isZipped: false },
    )
    for (;;) {
      const sent = await sendPost(target, post)
      if (sent.kind === 'refused') throw new Error(sent.why)
      if (sent.kind === 'later') {
        await sleep(Math.min(2000, sent.afterMs ?? 50))
        continue
      }
      // A retry of a post that had arrived finds its readings there: never some of them twice.
      expect(sent.answer.stored + sent.answer.repeated).toBe(numbers.length)
      for (const i of numbers) acknowledged.add(i)
      break
    }
  }
}

/** The numbers that are stored, read back by export; each once, with the values it was sent with. */
async function readStored(served: ServedProcess, rig: string, beginS: number): Promise<Set<number>> {
  const answer = await served.call('GET', `/v1/rigs/${rig}/export.csv`)
  expect(answer.status).toBe(200)
  const [header = '', ...lines] = (await answer.text()).trim().split(/\r?\n/)
  const columns = header.split(',')
  const [at, humidity, temperature] = ['at', 'humidity', 'temperature'].map((name) => columns.indexOf(name))
  const stored = new Set<number>()
  for (const line of lines) {
    const fields = line.split(',')
    const i = (Date.parse(fields[at ?? -1] ?? '') / 1000 - beginS) / 10
    expect(stored.has(i)).toBe(false)
    const wanted = numbered(i, beginS)
    expect([timeOf(wanted.atS), Number(fields[humidity ?? -1]), Number(fields[temperature ?? -1])]).toEqual([
      fields[at ?? -1],
      wanted.humidityPct,
      wanted.tempC,
    ])
    stored.add(i)
  }
  return stored
}
