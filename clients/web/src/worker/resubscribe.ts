import { readKept } from './kept.ts'
import { scope } from './scope.ts'

/**
 * The browser has ended or replaced the subscription by itself: make a new one with the same key and tell the server.
 * If that fails, the next message to the old one is answered 410 and the app says that this device is not reached.
 */
export async function resubscribe(old: PushSubscription | null): Promise<void> {
  const device = await readKept('device')
  const key = old?.options.applicationServerKey
  if (typeof device !== 'string' || !key) return
  const fresh = await scope.registration.pushManager.subscribe({
    userVisibleOnly: true,
    applicationServerKey: key,
  })
  await fetch(`/v1/devices/${encodeURIComponent(device)}`, {
    method: 'PATCH',
    credentials: 'same-origin',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ subscription: fresh.toJSON() }),
  })
}
