/** The service worker: shows messages while the app is closed, and opens the app without a network. */
import { openPage } from './worker/open.ts'
import { resubscribe } from './worker/resubscribe.ts'
import { scope } from './worker/scope.ts'
import { answerFor, dropOldShells, keepShell } from './worker/shell.ts'
import { showMessage } from './worker/show.ts'

scope.addEventListener('install', (event) => {
  event.waitUntil(keepShell().then(() => scope.skipWaiting()))
})

scope.addEventListener('activate', (event) => {
  event.waitUntil(dropOldShells().then(() => scope.clients.claim()))
})

scope.addEventListener('fetch', (event) => {
  const answer = answerFor(event.request)
  if (answer) event.respondWith(answer)
})

scope.addEventListener('push', (event) => {
  event.waitUntil(showMessage(event.data?.text() ?? ''))
})

scope.addEventListener('notificationclick', (event) => {
  event.waitUntil(openPage(event.notification))
})

scope.addEventListener('pushsubscriptionchange', (event) => {
  event.waitUntil(resubscribe(event.oldSubscription))
})
