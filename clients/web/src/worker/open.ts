import { scope } from './scope.ts'

/** A tap leads to the page that the message is about: in the window that is open, else in a new one. Never elsewhere. */
export async function openPage(notification: Notification): Promise<void> {
  notification.close()
  const data: unknown = notification.data
  const wanted = typeof data === 'object' && data !== null && 'navigate' in data ? String(data.navigate) : '/'
  const own = scope.location.origin
  const url = URL.parse(wanted, own)
  // Only the path counts: a device that knows the app under another name is led to that page here.
  const target = `${own}${url ? url.pathname + url.search : '/'}`
  const windows = await scope.clients.matchAll({ type: 'window', includeUncontrolled: true })
  const open = windows.find((one) => one.url === target) ?? windows[0]
  if (!open) {
    await scope.clients.openWindow(target)
    return
  }
  if (open.url !== target) await open.navigate(target)
  await open.focus()
}
