/**
 * What was ticked on this device today: a phone that locks or a page that is read anew must not cost the walk. Kept for
 * the window and the day only, and with its time: the ticks of one flight are not those of the next.
 */
import { useState } from 'preact/hooks'
import { toLocalInput } from '../../when.ts'

export type Ticks = {
  done: ReadonlySet<string>
  /** When the ticks that were found here were set, ms; `null` for those of this look. */
  keptAtMs: number | null
  tick: (line: string, isOn: boolean) => void
  /** The next walk starts empty; what is on the page stays. */
  drop: () => void
  startAgain: () => void
}

type Kept = { day: string; atMs: number; done: string[] }
const dayOf = (atMs: number): string => toLocalInput(atMs).slice(0, 10)

function read(key: string): Kept | null {
  const text = sessionStorage.getItem(key)
  if (text === null) return null
  // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- only `tick` writes here
  const kept = JSON.parse(text) as Kept
  return kept.day === dayOf(Date.now()) && kept.done.length > 0 ? kept : null
}

export function useTicks(rig: string): Ticks {
  const key = `beadwatch-before-flight-${rig}`
  const [kept, setKept] = useState(() => read(key))
  const [done, setDone] = useState<ReadonlySet<string>>(() => new Set(kept?.done))
  const drop = (): void => sessionStorage.removeItem(key)
  const tick = (line: string, isOn: boolean): void => {
    const next = new Set(done)
    if (isOn) next.add(line)
    else next.delete(line)
    setDone(next)
    const atMs = Date.now()
    sessionStorage.setItem(key, JSON.stringify({ day: dayOf(atMs), atMs, done: [...next] } satisfies Kept))
  }
  const startAgain = (): void => {
    drop()
    setKept(null)
    setDone(new Set())
  }
  return { done, keptAtMs: kept?.atMs ?? null, tick, drop, startAgain }
}
