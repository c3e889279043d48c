/** All rigs of all my hangars. */
import { effect } from '@preact/signals'
import { useEffect, useState } from 'preact/hooks'
import { api } from './api.ts'
import { readNow, refresh } from './query.ts'
import { me, roleIn } from './session.ts'
import type { Alert, Page, Rig } from './shapes.ts'

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

/** Most urgent first, then the longest standing. */
export function byUrgency(a: Alert, b: Alert): number {
  const order = { now: 0, visit: 1, note: 2 }
  return order[a.urgency] - order[b.urgency] || a.since.localeCompare(b.since)
}
