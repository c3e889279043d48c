/** Who is using this device, and which hangar the keeper's screens speak of. */
import { computed, effect, signal } from '@preact/signals'
import { api } from './api.ts'
import { switchOff, thisDevice } from './notifications.ts'
import { forgetEverything, useRead, type Reading } from './query.ts'
import { request } from './request.ts'
import type { HangarRef, Me } from './shapes.ts'
import { temperatureUnit } from './units.ts'
import { zone } from './when.ts'

export const me = signal<Me | null>(null)
const chosenKey = 'beadwatch-hangar'
const chosen = signal(localStorage.getItem(chosenKey))

export const hangar = computed<HangarRef | null>(() => {
  const all = me.value?.hangars ?? []
  return all.find((one) => one.id === chosen.value) ?? all[0] ?? null
})
export const isKeeper = computed(() => hangar.value?.role === 'keeper')

export function chooseHangar(id: string): void {
  chosen.value = id
  localStorage.setItem(chosenKey, id)
}
export function roleIn(id: string): HangarRef['role'] | null {
  return me.value?.hangars.find((one) => one.id === id)?.role ?? null
}

effect(() => {
  const person = me.value?.person
  if (!person) return
  zone.value = person.zone
  temperatureUnit.value = person.unit
})

/** Reads who I am and spreads it; the shell calls this once. */
export function useMe(): Reading<Me> {
  const read = useRead(api.me, 600)
  if (read.value && read.value !== me.peek()) me.value = read.value
  return read
}

export async function signOut(where: 'here' | 'everywhere'): Promise<void> {
  // Messages to this browser end with it: the next person at it must not read them.
  if (where === 'here' && (await thisDevice()) !== null) await switchOff()
  await request(where === 'here' ? api.signOut : api.signOutEverywhere)
  me.value = null
  localStorage.removeItem(chosenKey)
  await forgetEverything()
  location.replace('/')
}
