/** Reads that screens share: fetched once, refreshed while looked at, and falling back to the last kept answer. */
import { computed, signal, type Signal } from '@preact/signals'
import { useEffect } from 'preact/hooks'
import { api, type Call } from './api.ts'
import { forgetAnswers, keepAnswer, keptAnswer } from './last-state.ts'
import { isUnanswered, type Problem } from './request.ts'
import { requestWhole } from './whole-list.ts'

export type Reading<T> = {
  value: T | undefined
  /** When the server said this, ms by this device's clock; `null` before anything came. */
  heardAtMs: number | null
  /** True when `value` is from before because the server did not answer. */
  isOld: boolean
  problem: Problem | null
  isLoading: boolean
  again: () => void
}

const known = new Map<string, Signal<Reading<unknown>>>()
/** Path to the name its answer is kept under, where that is another. */
const keptAs = new Map<string, string>()
const asking = new Map<string, Promise<void>>()

/** True while the last request found no network. Read by the shell. */
export const isOffline = signal(false)
/** True once a read was answered 401: the shell shows the way in. */
export const isSignedOut = signal(false)

const refreshS = 60

/** How many components look at each path now. */
const watched = signal<ReadonlyMap<string, number>>(new Map())
/** What the frame reads for itself is not what somebody came to see. */
const ofFrame = new Set([api.me.path, api.health.path])

/** The reads that are looked at and that the server did not answer last time. */
const unanswered = computed(() =>
  [...watched.value.keys()]
    .filter((path) => !ofFrame.has(path))
    .map((path) => slot(path).value)
    .filter(({ problem }) => problem !== null && isUnanswered(problem)),
)
/** Of what is on the page the part that is oldest, for the page to say so once; `null` while all of it is fresh. */
export const oldest = computed(() => unanswered.value.filter(({ isOld }) => isOld).reduce(older, null))
/** True where a part of the page has nothing to show, and says so itself. */
export const isPartMissing = computed(() => unanswered.value.some(({ value }) => value === undefined))

function older(one: Reading<unknown> | null, other: Reading<unknown>): Reading<unknown> {
  return one === null || (other.heardAtMs ?? 0) < (one.heardAtMs ?? 0) ? other : one
}

function slot(path: string): Signal<Reading<unknown>> {
  const found = known.get(path)
  if (found) return found
  const fresh = signal<Reading<unknown>>({ ...nothing, isLoading: true, again: () => void refresh(path) })
  known.set(path, fresh)
  return fresh
}

async function load(path: string): Promise<void> {
  const at = slot(path)
  const answer = await requestWhole(path)
  const nowMs = Date.now()
  const settled = { ...at.value, isLoading: false, isOld: false, problem: null }
  if (answer.ok) {
    isOffline.value = false
    at.value = { ...settled, value: answer.value, heardAtMs: nowMs }
    await keepAnswer(keptAs.get(path) ?? path, answer.value, nowMs)
    return
  }
  const { problem } = answer
  if (problem.kind === 'signed-out') isSignedOut.value = true
  isOffline.value = problem.kind === 'offline'
  if (!isUnanswered(problem)) {
    at.value = { ...settled, value: undefined, problem }
    return
  }
  const kept =
    at.value.value === undefined
      ? await keptAnswer(keptAs.get(path) ?? path)
      : { value: at.value.value, heardAtMs: at.value.heardAtMs }
  at.value = {
    ...settled,
    value: kept?.value,
    heardAtMs: kept?.heardAtMs ?? null,
    isOld: kept !== null,
    problem,
  }
}

/** Asks again now; two callers at once share one request. */
export function refresh(path: string): Promise<void> {
  const running = asking.get(path)
  if (running) return running
  const started = load(path).finally(() => asking.delete(path))
  asking.set(path, started)
  return started
}

/** Asks again for every known path that starts so: after a change, whatever it touched. */
export async function refreshUnder(...prefixes: string[]): Promise<void> {
  const paths = [...known.keys()].filter((path) => prefixes.some((prefix) => path.startsWith(prefix)))
  await Promise.all(paths.map((path) => refresh(path)))
}

/** A read for as long as the component is there. `null` asks nothing. */
export function useRead<T>(call: Call<T> | null, everyS: number = refreshS): Reading<T> {
  const path = call?.path ?? null
  if (call?.keepAs !== undefined) keptAs.set(call.path, call.keepAs)
  useEffect(() => (path === null ? undefined : keepFresh(path, everyS)), [path, everyS])
  // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- one path has one call, and so one type
  return (path === null ? nothing : slot(path).value) as Reading<T>
}

/** What is known of a read at this moment; follows it inside an effect. */
export function readNow<T>(call: Call<T>): T | undefined {
  // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- one path has one call, and so one type
  return slot(call.path).value.value as T | undefined
}

/** Reads now, every `everyS` seconds while looked at, and when the person or the network comes back. */
function keepFresh(path: string, everyS: number): () => void {
  const ask = (): void => {
    if (document.visibilityState === 'visible') void refresh(path)
  }
  void refresh(path)
  watch(path, 1)
  const timer = setInterval(ask, everyS * 1000)
  document.addEventListener('visibilitychange', ask)
  globalThis.addEventListener('online', ask)
  return () => {
    watch(path, -1)
    clearInterval(timer)
    document.removeEventListener('visibilitychange', ask)
    globalThis.removeEventListener('online', ask)
  }
}

function watch(path: string, by: 1 | -1): void {
  const next = new Map(watched.peek())
  const count = (next.get(path) ?? 0) + by
  if (count > 0) next.set(path, count)
  else next.delete(path)
  watched.value = next
}

const nothing: Reading<never> = {
  value: undefined,
  heardAtMs: null,
  isOld: false,
  problem: null,
  isLoading: false,
  again: () => undefined,
}

/** At sign-in and sign-out nothing of the former person may stay on the screen or the device. */
export async function forgetEverything(): Promise<void> {
  known.clear()
  isSignedOut.value = false
  await forgetAnswers()
}
