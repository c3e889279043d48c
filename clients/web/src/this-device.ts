/** What this browser can do about messages, and the subscription it holds. */

export type Standing =
  /** No service worker or no push here: an old browser, or an iPhone page that is not on the home screen yet. */
  | { kind: 'cannot'; isIphone: boolean }
  | { kind: 'denied' }
  | { kind: 'off' }
  | { kind: 'on'; subscription: PushSubscription }

export const workerPath = '/sw.js'

export async function registerWorker(): Promise<ServiceWorkerRegistration | null> {
  if (!('serviceWorker' in navigator)) return null
  try {
    return await navigator.serviceWorker.register(workerPath)
  } catch {
    return null
  }
}

export async function standing(): Promise<Standing> {
  const isIphone = /iPhone|iPad/.test(navigator.userAgent)
  if (!('serviceWorker' in navigator) || !('PushManager' in globalThis) || !('Notification' in globalThis))
    return { kind: 'cannot', isIphone }
  if (Notification.permission === 'denied') return { kind: 'denied' }
  const registration = await navigator.serviceWorker.getRegistration()
  const subscription = (await registration?.pushManager.getSubscription()) ?? null
  return subscription ? { kind: 'on', subscription } : { kind: 'off' }
}

/** Asks the person and the browser's push service. Call it from a press: phones insist. */
export async function subscribe(serverKey: string): Promise<PushSubscription | 'denied' | 'failed'> {
  if ((await Notification.requestPermission()) !== 'granted') return 'denied'
  await registerWorker()
  const registration = await navigator.serviceWorker.ready
  try {
    return await registration.pushManager.subscribe({
      userVisibleOnly: true,
      applicationServerKey: serverKey,
    })
  } catch {
    return 'failed'
  }
}

/** "Firefox on Android": enough to tell one's devices apart. */
export function deviceName(): string {
  const agent = navigator.userAgent
  const browser = [
    ['Edg/', 'Edge'],
    ['Firefox/', 'Firefox'],
    ['Chrome/', 'Chrome'],
    ['Safari/', 'Safari'],
  ].find(([mark]) => agent.includes(mark ?? ''))?.[1]
  const system = [
    ['Android', 'Android'],
    ['iPhone', 'iPhone'],
    ['iPad', 'iPad'],
    ['Windows', 'Windows'],
    ['Mac OS', 'Mac'],
    ['Linux', 'Linux'],
  ].find(([mark]) => agent.includes(mark ?? ''))?.[1]
  return `${browser ?? 'Browser'} on ${system ?? 'this device'}`
}
