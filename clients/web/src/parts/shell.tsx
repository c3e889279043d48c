/** What stands around every screen: the name, the four places, and the two things nobody may overlook. */
import type { ComponentChildren, JSX } from 'preact'
import { useLocation } from 'preact-iso'
import { useEffect, useState } from 'preact/hooks'
import { api } from '../api.ts'
import { isOffline, isPartMissing, oldest, useRead } from '../query.ts'
import { hangar, me } from '../session.ts'
import { ago, moment, ms } from '../when.ts'

/** The schedule runs every 5 minutes: after three missed runs silence is no longer good news, ms. */
const uncheckedAfterMs = 15 * 60_000

const places = [
  { to: '/', label: 'Jobs' },
  { to: '/rigs', label: 'Rigs' },
  { to: '/logbook', label: 'Logbook' },
  { to: '/more', label: 'More' },
] as const

function isUnder(path: string, to: string): boolean {
  if (to === '/') return path === '/'
  if (to === '/more') return !places.some((one) => one.to !== '/more' && isUnder(path, one.to))
  return path === to || path.startsWith(`${to}/`) || (to === '/rigs' && path === '/compare')
}

/** This device's own clock, once a quarter minute: it notices when the server's has stopped. */
export function useNowMs(everyS = 15): number {
  const [nowMs, setNowMs] = useState(Date.now())
  useEffect(() => {
    const timer = setInterval(() => setNowMs(Date.now()), everyS * 1000)
    return () => clearInterval(timer)
  }, [everyS])
  return nowMs
}

export function Shell({ children }: { children: ComponentChildren }): JSX.Element {
  const { path } = useLocation()
  const health = useRead(api.health)
  const nowMs = useNowMs()
  const checkedAtMs = health.value?.checkedAt ? ms(health.value.checkedAt) : null
  const isUnchecked = checkedAtMs !== null && nowMs - checkedAtMs > uncheckedAfterMs
  const isNeverChecked = health.value?.checkedAt === null
  const hangars = me.value?.hangars ?? []
  return (
    <>
      <a class="skip" href="#main">
        To the text
      </a>
      <header class="head">
        <a class="wordmark" href="/">
          {hangars.length === 1 ? hangar.value?.name : 'Beadwatch'}
        </a>
        <nav class="nav" aria-label="Places">
          {places.map((place) => (
            <a
              key={place.to}
              href={place.to}
              {...(isUnder(path, place.to) ? { 'aria-current': 'page' } : {})}
            >
              {place.label}
            </a>
          ))}
        </nav>
        {checkedAtMs !== null && !isUnchecked && (
          <span class="checked">checked {ago(checkedAtMs, nowMs)}</span>
        )}
      </header>
      {isUnchecked && checkedAtMs !== null && <Unchecked checkedAtMs={checkedAtMs} nowMs={nowMs} />}
      {isNeverChecked && (
        <div class="banner">
          <div class="notice loud" role="status">
            <p>
              <b>Not checked yet.</b> Readings are kept, but the first check has not run.
            </p>
          </div>
        </div>
      )}
      {me.value && isOffline.value && oldest.value === null && !isPartMissing.value && (
        <div class="banner">
          <p class="small soft" role="status">
            No network: nothing can be saved until there is one.
          </p>
        </div>
      )}
      <main id="main" tabIndex={-1}>
        {children}
      </main>
    </>
  )
}

function Unchecked({ checkedAtMs, nowMs }: { checkedAtMs: number; nowMs: number }): JSX.Element {
  return (
    <div class="banner">
      <div class="notice loud" role="alert">
        <p>
          <b>Not checked since {moment(checkedAtMs)}</b>, {ago(checkedAtMs, nowMs)}. Until the checks run
          again nobody is told when something breaks. Silence is not proof of a dry engine.
        </p>
      </div>
    </div>
  )
}
