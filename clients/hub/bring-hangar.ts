/**
 * Brings an exported hangar into a deployment, by the calls that anybody could make: what people entered first, then the
 * readings through ingest, so that the analysis there works everything out again; what is older than the readings goes
 * along as it was told. Pure but for `call`.
 */
import * as z from 'zod'
import { type Past, RESULT_KINDS, startPast, takeOut, takeResult } from './bring-history.ts'

export type Request = {
  readonly method: string
  readonly path: string
  readonly bearer: string
  readonly contentType: string
  readonly body: string
}
export type Reply = { readonly status: number; readonly text: string; readonly retryAfterS: number | null }
export type Call = (request: Request) => Promise<Reply>

const line = z.discriminatedUnion('kind', [
  z.looseObject({ kind: z.literal('hangar'), name: z.string() }),
  z.looseObject({
    kind: z.literal('rig'),
    name: z.string(),
    slug: z.string(),
    history: z.array(z.object({ from: z.string(), settings: z.unknown() })).min(1),
    readingsFrom: z.string().nullable().optional(),
    checkedTo: z.string().nullable().optional(),
  }),
  z.looseObject({
    kind: z.literal('log'),
    rig: z.string(),
    at: z.string(),
    what: z.string(),
    detail: z.record(z.string(), z.string()),
  }),
  z.looseObject({
    kind: z.literal('source'),
    name: z.string(),
    rigs: z.array(z.string()),
    recipe: z.unknown(),
    keyInQuery: z.boolean(),
  }),
  z.looseObject({ kind: z.literal('readings'), rig: z.string(), csv: z.string() }),
  // Worked out again where it is brought in, as far as there are readings.
  z.looseObject({ kind: z.enum(RESULT_KINDS), rig: z.string() }),
  z.looseObject({ kind: z.literal('end'), rigs: z.int() }),
])
type Line = z.infer<typeof line>

export type Brought = {
  readonly hangar: string
  readonly rigs: number
  readonly entries: number
  readonly readings: number
  /** By name: each needs a new key. */
  readonly sources: readonly string[]
  /** By name: sources that served no rig any more, so that there is nothing to make them for. */
  readonly leftOut: readonly string[]
}

type Carrier = { readonly source: string; readonly bearer: string }

type State = {
  readonly call: Call
  readonly hostToken: string
  readonly shard: number | null
  hangar: string
  name: string
  readonly rigs: Map<string, string>
  /** By slug: rigs whose results reach further back than their readings. */
  readonly pasts: Map<string, Past>
  entries: number
  readings: number
  readonly sources: string[]
  readonly leftOut: string[]
  /** Sources for the readings alone, each for the next so many rigs; deleted at the end. */
  readonly carriers: Map<number, Carrier>
  header: string
  isWhole: boolean
}

/** Records in a post that every plan takes. */
const LINES_PER_POST = 500
/** Rigs of a source that every deployment takes. */
const RIGS_PER_CARRIER = 50
const ATTEMPTS_MAX = 20
/** Steps of 5,000 rows in which what was left half made is deleted: the schedule does what remains. */
const DELETE_STEPS_MAX = 1000

/**
 * `lines` as the export gave them, without line ends. What cannot be brought in whole is deleted again.
 * @throws Error that names the line which cannot be brought in, and the answer it got
 */
export async function bringHangar(
  lines: AsyncIterable<string> | Iterable<string>,
  to: { readonly call: Call; readonly hostToken: string; readonly shard?: number },
): Promise<Brought> {
  const state: State = {
    call: to.call,
    hostToken: to.hostToken,
    shard: to.shard ?? null,
    hangar: '',
    name: '',
    rigs: new Map(),
    pasts: new Map(),
    entries: 0,
    readings: 0,
    sources: [],
    leftOut: [],
    carriers: new Map(),
    header: '',
    isWhole: false,
  }
  try {
    await bringAll(state, lines)
  } catch (error) {
    await deleteHalf(state, error)
    throw error
  }
  const { hangar, rigs, entries, readings, sources, leftOut } = state
  return { hangar, rigs: rigs.size, entries, readings, sources, leftOut }
}

async function bringAll(state: State, lines: AsyncIterable<string> | Iterable<string>): Promise<void> {
  let number = 0
  for await (const text of lines) {
    number += 1
    if (text.trim() === '') continue
    try {
      await bring(state, line.parse(JSON.parse(text)))
    } catch (cause) {
      throw new Error(`line ${number}: ${cause instanceof Error ? cause.message : String(cause)}`, { cause })
    }
  }
  for (const { source } of state.carriers.values()) await send(state, 'DELETE', `/v1/sources/${source}`)
  if (!state.isWhole) throw new Error('the file has no end: it was cut off when it was exported')
}

/** A hangar that lacks something must not be taken for the one that was exported. */
async function deleteHalf(state: State, why: unknown): Promise<void> {
  if (state.hangar === '') return
  try {
    for (let step = 0; step < DELETE_STEPS_MAX; step++) {
      const text = await send(state, 'DELETE', `/v1/hangars/${state.hangar}`, { name: state.name })
      if (z.object({ isDone: z.boolean() }).parse(JSON.parse(text)).isDone) return
    }
  } catch (cause) {
    const reason = why instanceof Error ? why.message : String(why)
    throw new Error(`${reason}; what was brought in is left half made: delete hangar ${state.hangar}`, {
      cause,
    })
  }
}

async function bring(state: State, one: Line): Promise<void> {
  switch (one.kind) {
    case 'hangar': {
      if (state.hangar !== '') throw new Error('a second hangar in one file')
      const shard = state.shard === null ? {} : { shard: state.shard }
      state.hangar = await idOf(send(state, 'POST', '/v1/hangars', { name: one.name, ...shard }))
      state.name = one.name
      return
    }
    case 'rig':
      return bringRig(state, one)
    case 'log': {
      const { at, what, detail } = one
      await send(state, 'POST', `/v1/rigs/${rigOf(state, one.rig)}/logbook`, { at, what, detail })
      state.entries += 1
      return
    }
    case 'source': {
      const { name, rigs, recipe, keyInQuery } = one
      // Its rigs have been deleted since: a source cannot be made for none.
      if (rigs.length === 0) {
        state.leftOut.push(name)
        return
      }
      await send(state, 'POST', `/v1/hangars/${state.hangar}/sources`, { name, rigs, recipe, keyInQuery })
      state.sources.push(name)
      return
    }
    case 'cycle':
    case 'fill':
    case 'exposure':
    case 'rollup':
    case 'alert': {
      const past = state.pasts.get(one.rig)
      if (past !== undefined && takeResult(past, one)) await sendPast(state, past)
      return
    }
    case 'readings':
      // All of them before any reading: with the first check nothing more is taken.
      for (const past of state.pasts.values()) await sendPast(state, past)
      return bringReadings(state, one.rig, one.csv)
    case 'end':
      for (const past of state.pasts.values()) await sendPast(state, past)
      state.isWhole = one.rigs === state.rigs.size
      return
    default:
  }
}

/** The first settings hold for all time before them too, the others from their time on. */
async function bringRig(state: State, rig: Extract<Line, { kind: 'rig' }>): Promise<void> {
  const [first, ...later] = rig.history
  const body = { name: rig.name, slug: rig.slug, settings: first?.settings }
  const id = await idOf(send(state, 'POST', `/v1/hangars/${state.hangar}/rigs`, body))
  for (const { from, settings } of later) await send(state, 'PATCH', `/v1/rigs/${id}`, { from, settings })
  state.rigs.set(rig.slug, id)
  const { readingsFrom, checkedTo } = rig
  if (readingsFrom && checkedTo) state.pasts.set(rig.slug, startPast(rig.slug, readingsFrom, checkedTo))
}

async function sendPast(state: State, past: Past): Promise<void> {
  const body = takeOut(past)
  if (body !== null) await send(state, 'POST', `/v1/rigs/${rigOf(state, past.rig)}/history`, body)
}

async function bringReadings(state: State, rig: string, csv: string): Promise<void> {
  const lines = csv.split('\r\n').filter((text) => text !== '')
  if (csv.startsWith('at,')) state.header = lines.shift() ?? ''
  for (let from = 0; from < lines.length; from += LINES_PER_POST) {
    const part = lines.slice(from, from + LINES_PER_POST)
    const text = await post(state, rig, [state.header, ...part].join('\r\n'))
    const answer = z.object({ stored: z.int(), repeated: z.int() }).parse(JSON.parse(text))
    if (answer.stored + answer.repeated !== part.length)
      throw new Error(`not all was taken: ${text.slice(0, 300)}`)
    state.readings += part.length
  }
}

async function post(state: State, rig: string, csv: string): Promise<string> {
  const { bearer } = await carrierOf(state, rig)
  return patiently(state, {
    method: 'POST',
    path: '/v1/readings',
    bearer,
    contentType: 'text/csv',
    body: csv,
  })
}

async function carrierOf(state: State, rig: string): Promise<Carrier> {
  const slugs = [...state.rigs.keys()]
  const group = Math.floor(slugs.indexOf(rig) / RIGS_PER_CARRIER)
  const from = group * RIGS_PER_CARRIER
  const known = state.carriers.get(group)
  if (known !== undefined) return known
  const carrier = await makeCarrier(state, slugs.slice(from, from + RIGS_PER_CARRIER))
  state.carriers.set(group, carrier)
  return carrier
}

async function makeCarrier(state: State, rigs: readonly string[]): Promise<Carrier> {
  const body = { name: 'Bringing readings in', rigs }
  const source = await idOf(send(state, 'POST', `/v1/hangars/${state.hangar}/sources`, body))
  const key = z
    .object({ key: z.string() })
    .parse(JSON.parse(await send(state, 'POST', `/v1/sources/${source}/keys`)))
  return { source, bearer: key.key }
}

function rigOf(state: State, slug: string): string {
  const id = state.rigs.get(slug)
  if (id === undefined) throw new Error(`rig ${slug} has not been described before`)
  return id
}

async function idOf(text: Promise<string>): Promise<string> {
  return z.object({ id: z.string() }).parse(JSON.parse(await text)).id
}

function send(state: State, method: string, path: string, body?: unknown): Promise<string> {
  return patiently(state, {
    method,
    path,
    bearer: state.hostToken,
    contentType: 'application/json',
    body: body === undefined ? '' : JSON.stringify(body),
  })
}

/** Waits where the service asks for it; anything else that is no success ends the work. */
async function patiently(state: State, request: Request): Promise<string> {
  for (let attempt = 1; ; attempt++) {
    const reply = await state.call(request)
    if (reply.status < 300) return reply.text
    const isBusy = reply.status === 429 || reply.status === 503
    if (!isBusy || attempt === ATTEMPTS_MAX)
      throw new Error(`${request.method} ${request.path}: ${reply.status} ${reply.text.slice(0, 300)}`)
    await new Promise((done) => setTimeout(done, 1000 * (reply.retryAfterS ?? 1)))
  }
}
