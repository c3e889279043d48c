/** Switching messages on and off on this device, and trying them. Every failure is a sentence for the person. */
import { problemSentence, request } from './request.ts'
import { dropKept, readKept, writeKept } from './worker/kept.ts'

export type Urgency = 'now' | 'visit' | 'note'
export type QuietHours = { readonly from: string; readonly to: string; readonly forNow: boolean }

/** As `/v1/devices` gives it. Times are RFC 3339. */
export type Device = {
  readonly id: string
  readonly name: string
  /** `null`: every rig I can see. */
  readonly rigs: readonly string[] | null
  readonly urgencies: readonly Urgency[]
  readonly quietHours: QuietHours | null
  readonly madeAt: string
  readonly lastReachedAt: string | null
  readonly endedAt: string | null
  readonly failingSince: string | null
  readonly failure: string | null
}

export type DeviceChoices = Partial<Pick<Device, 'name' | 'rigs' | 'urgencies' | 'quietHours'>>
export type Done<T> = { readonly ok: true; readonly value: T } | { readonly ok: false; readonly why: string }

/**
 * `needs-install`: on this system a web page gets messages only once it is on the home screen.
 * `blocked`: the person said no to the browser, and only they can undo it, in the browser's settings.
 */
export type Ability = 'unsupported' | 'needs-install' | 'blocked' | 'can-ask' | 'granted'

export function ability(): Ability {
  if (!('serviceWorker' in navigator) || !('PushManager' in globalThis) || !('Notification' in globalThis)) {
    return isAppleTouch() && !isInstalled() ? 'needs-install' : 'unsupported'
  }
  if (Notification.permission === 'denied') return 'blocked'
  return Notification.permission === 'granted' ? 'granted' : 'can-ask'
}

function isAppleTouch(): boolean {
  return (
    /iPhone|iPad/.test(navigator.userAgent) ||
    (/Mac/.test(navigator.userAgent) && navigator.maxTouchPoints > 1)
  )
}

function isInstalled(): boolean {
  return matchMedia('(display-mode: standalone)').matches
}

/** Call once when the app starts. Without a worker the app works all the same, only not offline. */
export function startWorker(): void {
  if (!('serviceWorker' in navigator)) return
  navigator.serviceWorker.register('/sw.js').catch(() => undefined)
}

/** The id under which the server knows this browser, if messages are on here. */
export async function thisDevice(): Promise<string | null> {
  if (!('caches' in globalThis)) return null
  try {
    const id = await readKept('device')
    return typeof id === 'string' ? id : null
  } catch {
    return null
  }
}

/**
 * True if this browser subscribed with another key than the service signs with now: the host has changed it, and every
 * message here is refused until notifications are switched on again.
 */
export async function hasOldKey(key: string): Promise<boolean> {
  try {
    const registration = await navigator.serviceWorker?.getRegistration()
    const present = await registration?.pushManager.getSubscription()
    const presentKey = present?.options.applicationServerKey
    return presentKey ? !isSameKey(presentKey, keyBytes(key)) : false
  } catch {
    return false
  }
}

/** Must be called from a tap: browsers ask for the permission only then. */
export async function switchOn(choices: DeviceChoices): Promise<Done<Device>> {
  if ((await Notification.requestPermission()) !== 'granted') {
    return fail('Notifications are blocked for this page. Allow them in the browser, then try again.')
  }
  const key = await request<{ key: string | null }>({ method: 'GET', path: '/v1/push/key' })
  if (!key.ok) return fail(problemSentence(key.problem))
  if (key.value.key === null) return fail('The host of this deployment has not set messages up.')
  const subscription = await subscribe(key.value.key)
  if (!subscription.ok) return subscription
  const sent = { ...choices, subscription: subscription.value.toJSON() }
  const renewed = await renew(sent)
  if (renewed) return renewed
  const body = { ...sent, name: choices.name ?? deviceName() }
  const added = await request<Device>({ method: 'POST', path: '/v1/devices', body })
  if (!added.ok) return fail(problemSentence(added.problem))
  await writeKept('device', added.value.id)
  return { ok: true, value: added.value }
}

/** This browser was switched on before and its subscription has ended: the choices made then still hold. */
async function renew(body: object): Promise<Done<Device> | null> {
  const id = await thisDevice()
  if (id === null) return null
  const path = `/v1/devices/${encodeURIComponent(id)}`
  const renewed = await request<Device>({ method: 'PATCH', path, body })
  if (renewed.ok) return { ok: true, value: renewed.value }
  // Removed meanwhile, or somebody else's: it starts anew.
  return renewed.problem.kind === 'not-there' ? null : fail(problemSentence(renewed.problem))
}

async function subscribe(key: string): Promise<Done<PushSubscription>> {
  try {
    const { pushManager } = await navigator.serviceWorker.ready
    const bytes = keyBytes(key)
    const present = await pushManager.getSubscription()
    // Made with another key of the host's: messages signed with the present one would be refused.
    if (present && !isSameKey(present.options.applicationServerKey, bytes)) await present.unsubscribe()
    const value = await pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: bytes })
    return { ok: true, value }
  } catch (error) {
    const detail = error instanceof Error ? error.message : ''
    return fail(`The browser could not reach its push service. ${detail}`.trim())
  }
}

/** Nothing more to this device; its choices go too. */
export async function switchOff(): Promise<Done<undefined>> {
  const id = await thisDevice()
  if (id !== null) {
    const removed = await request({ method: 'DELETE', path: `/v1/devices/${encodeURIComponent(id)}` })
    const isGone = removed.ok || removed.problem.kind === 'not-there'
    if (!isGone) return fail(problemSentence(removed.problem))
    await dropKept('device')
  }
  const registration = await navigator.serviceWorker?.getRegistration()
  await (await registration?.pushManager.getSubscription())?.unsubscribe()
  return { ok: true, value: undefined }
}

export async function changeDevice(id: string, choices: DeviceChoices): Promise<Done<Device>> {
  const path = `/v1/devices/${encodeURIComponent(id)}`
  const changed = await request<Device>({ method: 'PATCH', path, body: choices })
  return changed.ok ? { ok: true, value: changed.value } : fail(problemSentence(changed.problem))
}

/** The sentence says what happened; `ok` only if the push service took the message. */
export async function sendTest(id: string): Promise<Done<string>> {
  const path = `/v1/devices/${encodeURIComponent(id)}/test`
  const tested = await request<{ outcome: string; detail: string }>({ method: 'POST', path })
  if (!tested.ok) return fail(problemSentence(tested.problem))
  const { outcome, detail } = tested.value
  return outcome === 'taken' ? { ok: true, value: detail } : fail(detail)
}

function fail(why: string): { readonly ok: false; readonly why: string } {
  return { ok: false, why }
}

function keyBytes(key: string): Uint8Array<ArrayBuffer> {
  const plain = atob(key.replaceAll('-', '+').replaceAll('_', '/'))
  return Uint8Array.from(plain, (letter) => letter.codePointAt(0) ?? 0)
}

function isSameKey(present: ArrayBuffer | null, wanted: Uint8Array): boolean {
  if (!present || present.byteLength !== wanted.length) return false
  return new Uint8Array(present).every((byte, index) => byte === wanted[index])
}

/** What the person will recognise in a list; they can change it. */
function deviceName(): string {
  const agent = navigator.userAgent
  if (/iPhone/.test(agent)) return 'Phone'
  if (/iPad/.test(agent)) return 'Tablet'
  if (/Android/.test(agent)) return /Mobile/.test(agent) ? 'Phone' : 'Tablet'
  return 'Computer'
}
