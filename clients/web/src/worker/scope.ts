/**
 * The part of a service worker's world that this one uses. The app's type settings describe a page; the two
 * libraries of types cannot be loaded together.
 */
export type Extendable = Event & { waitUntil: (work: Promise<unknown>) => void }
export type PushArrived = Extendable & { readonly data: { text: () => string } | null }
export type NotificationTapped = Extendable & { readonly notification: Notification }
export type FetchAsked = Extendable & {
  readonly request: Request
  respondWith: (answer: Promise<Response>) => void
}
export type SubscriptionChanged = Extendable & { readonly oldSubscription: PushSubscription | null }

type WindowOfApp = {
  readonly url: string
  focus: () => Promise<unknown>
  navigate: (url: string) => Promise<unknown>
}

type Events = {
  install: Extendable
  activate: Extendable
  fetch: FetchAsked
  push: PushArrived
  notificationclick: NotificationTapped
  pushsubscriptionchange: SubscriptionChanged
}

export type WorkerScope = {
  readonly registration: ServiceWorkerRegistration
  readonly location: Location
  readonly clients: {
    claim: () => Promise<void>
    matchAll: (options: { type: 'window'; includeUncontrolled: boolean }) => Promise<readonly WindowOfApp[]>
    openWindow: (url: string) => Promise<unknown>
  }
  skipWaiting: () => Promise<void>
  addEventListener: <K extends keyof Events>(kind: K, listener: (event: Events[K]) => void) => void
}

// oxlint-disable-next-line typescript/no-unsafe-type-assertion -- this file is loaded in a service worker alone
export const scope = globalThis as unknown as WorkerScope
