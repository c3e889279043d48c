/** All rigs of all my hangars. */
import { effect } from '@preact/signals'
import { useEffect, useState } from 'preact/hooks'
import { api } from './api.ts'
import { readNow, refresh } from './query.ts'
import { me, roleIn } from './session.ts'
import type { Alert, Now, Page, Rig } from './shapes.ts'

export const myHangars = (): { id: string; name: string }[] => me.value?.hangars ?? []

/** Every rig I can see, in the order of my hangars; asked for once by whoever needs it first. */
export function useAllRigs(): Rig[] {
  const hangars = myHangars().map((one) => one.id)
  const [rigs, setRigs] = useState<Rig[]>([])
  const key = hangars.join(' ')
  useEffect(() => {
    for (const id of hangars) void refresh(api.rigs(id).path)
    return effect(() => {
      setRigs(hangars.flatMap((id) => readNow<Page<Rig>>(api.rigs(id))?.items ?? []))
    })
  }, [key])
  return rigs
}

/** True once every hangar has answered and none has a rig. */
export function useHasNoRig(): boolean {
  const rigs = useAllRigs()
  const answers = myHangars().map((one) => readNow<Page<Rig>>(api.rigs(one.id)))
  return rigs.length === 0 && answers.every((page) => page?.items.length === 0)
}

export function useKeptRigs(): Rig[] {
  return useAllRigs().filter((rig) => roleIn(rig.hangar) === 'keeper')
}

/** A rig without a single reading is not in order, it is not watched. `isKnown`: every rig has answered. */
export type Unheard = { rigs: Rig[]; isKnown: boolean }

/** The rigs that were never heard; the rest may be said to need nothing only where `isKnown`. */
export function useUnheard(): Unheard {
  const rigs = useAllRigs()
  const isEmpty = useHasNoRig()
  const [unheard, setUnheard] = useState<Unheard>({ rigs: [], isKnown: false })
  const key = rigs.map((rig) => rig.id).join(' ')
  useEffect(() => {
    for (const rig of rigs) void refresh(api.now(rig.id).path)
    return effect(() => {
      const states = rigs.map((rig) => readNow<Now>(api.now(rig.id)))
      const isKnown = (rigs.length > 0 || isEmpty) && states.every((state) => state !== undefined)
      setUnheard({ rigs: rigs.filter((_, i) => states[i]?.heardAt === null), isKnown })
    })
  }, [key, isEmpty])
  return unheard
}

const order = { now: 0, visit: 1, note: 2 }
/** Most urgent first, then the longest standing. */
export function byUrgency(a: Alert, b: Alert): number {
  return order[a.urgency] - order[b.urgency] || a.since.localeCompare(b.since)
}

/** 0 for somebody who has to drive out now; higher is less urgent, highest where nothing is open. */
export function mostUrgent(alerts: Alert[]): number {
  return Math.min(3, ...alerts.map((alert) => order[alert.urgency]))
}
