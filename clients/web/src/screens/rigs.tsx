/** A row a rig: what a person would say about it, its last seven days, and when it was last heard. */
import type { JSX } from 'preact'
import { useMemo } from 'preact/hooks'
import { api } from '../api.ts'
import { leadOf, withoutBefore } from '../chart/series.ts'
import { SmallStrip } from '../chart/small-strip.tsx'
import { Page } from '../parts/page.tsx'
import { HasNeverBeenHeard, notWatched } from '../parts/never-heard.tsx'
import { NoDevice } from '../parts/no-device.tsx'
import { useNowMs } from '../parts/shell.tsx'
import { notHere, Shown } from '../parts/states.tsx'
import { useRead } from '../query.ts'
import { mostUrgent, myHangars, useAllRigs, useHasNoRig, useUnheard } from '../my-rigs.ts'
import { roleIn } from '../session.ts'
import type { Alert, Rig } from '../shapes.ts'
import { tied } from '../units.ts'
import { ago, capital, countWord, ms } from '../when.ts'
import { useFirstDayS } from './rig/first-day.ts'

const weekS = 7 * 86_400
/** A strip this small shows no more than a point a pixel. */
const pointsMax = 400
/** All strips of the list end at one time, and the address stays the same for a while so that answers are shared. */
export const endS = (): number => Math.ceil(Date.now() / 1000 / 300) * 300

/** Of every rig what is still open, most urgent rigs and hangars first; in order where nothing is. */
function useOpen(): { open: Alert[]; isKnown: boolean } {
  const { value } = useRead(api.alerts)
  return { open: value?.items.filter((alert) => alert.state !== 'over') ?? [], isKnown: value !== undefined }
}

export function Rigs(): JSX.Element {
  const { open } = useOpen()
  const hangars = myHangars()
  const rankOf = (hangar: string): number => mostUrgent(open.filter((alert) => alert.hangar === hangar))
  const all = useAllRigs()
  return (
    <Page title={useTitle()} tabTitle="Rigs">
      <NoDevice />
      {hangars
        .toSorted((a, b) => rankOf(a.id) - rankOf(b.id))
        .map((hangar) => (
          <HangarRigs key={hangar.id} id={hangar.id} name={hangars.length > 1 ? hangar.name : null} />
        ))}
      {all.length > 0 && (
        <p class="acts">
          {all.length > 1 && <a href="/compare">Compare the rigs of a hangar</a>}
          <a href="/start">Set up another rig</a>
        </p>
      )}
    </Page>
  )
}

/** That no rig needs anybody is said only where all are heard and checked. */
function useTitle(): string {
  const { open, isKnown } = useOpen()
  const isChecked = useRead(api.health).value?.ok ?? true
  const unheard = useUnheard()
  const all = useAllRigs().length
  const needing = new Set(open.filter((alert) => alert.urgency !== 'note').map((alert) => alert.rig)).size
  if (useHasNoRig()) return 'Nothing to watch yet.'
  if (needing > 0)
    return needing === 1 ? 'One rig needs you.' : `${capital(countWord(needing))} rigs need you.`
  if (unheard.rigs.length > 0) return notWatched(unheard.rigs.length, all)
  return isKnown && isChecked && unheard.isKnown ? 'No rig needs you.' : 'Rigs'
}

/** After what can be done on the next visit, before what is only to know. */
const unheardRank = 1.5

function HangarRigs({ id, name }: { id: string; name: string | null }): JSX.Element {
  const read = useRead(api.rigs(id), 300)
  const { open } = useOpen()
  const unheard = new Set(useUnheard().rigs.map((rig) => rig.id))
  const rankOf = (rig: Rig): number =>
    unheard.has(rig.id) ? unheardRank : mostUrgent(open.filter((alert) => alert.rig === rig.id))
  return (
    <section class="hangar-rigs">
      {name && <h2>{name}</h2>}
      <Shown read={read} what="the rigs">
        {({ items }) =>
          items.length === 0 ? (
            <NoRig hangar={id} />
          ) : (
            items
              .toSorted((a, b) => rankOf(a) - rankOf(b))
              .map((rig) => (
                <RigRow key={rig.id} rig={rig} alerts={open.filter((alert) => alert.rig === rig.id)} />
              ))
          )
        }
      </Shown>
    </section>
  )
}

function NoRig({ hangar }: { hangar: string }): JSX.Element {
  return (
    <p class="waiting">
      No rig here yet.{' '}
      {roleIn(hangar) === 'keeper' ? (
        <a href="/start">Set one up</a>
      ) : (
        <a href="/people">A keeper sets one up</a>
      )}
      .
    </p>
  )
}

function RigRow({ rig, alerts }: { rig: Rig; alerts: Alert[] }): JSX.Element {
  const toS = endS()
  const view = { fromS: toS - weekS, toS }
  const { value: now, problem } = useRead(api.now(rig.id))
  const trace = useRead(api.trace(rig.id, view, pointsMax)).value
  const firstDayS = useFirstDayS(rig.id, trace ? leadOf(trace) !== null : false) ?? null
  const drawn = useMemo(() => (trace ? withoutBefore(trace, firstDayS) : null), [trace, firstDayS])
  const isNow = alerts.some((one) => one.urgency === 'now')
  const isVisit = alerts.some((one) => one.urgency === 'visit')
  const nowMs = useNowMs(60)
  return (
    <article class={isNow ? 'row urgent' : 'row'}>
      <div class="margin">
        <h2>
          <a href={`/rigs/${rig.id}`}>{rig.name}</a>
        </h2>
        {(isNow || isVisit) && <p class="due">{isNow ? 'Drive out now' : 'On your next visit'}</p>}
        <p class="small soft">
          {now && (now.heardAt ? `heard ${ago(ms(now.heardAt), nowMs)}` : 'not watched yet')}
        </p>
      </div>
      <div class="body">
        {now?.heardAt === null && (
          <p class="say">
            {rig.name} <HasNeverBeenHeard rig={rig} />
          </p>
        )}
        {now && now.heardAt !== null && <p class="say">{tied(now.sentence)}</p>}
        {!now && problem && <p class="soft">{notHere(problem)}</p>}
        {drawn && drawn.trace.series.length > 0 && (
          <SmallStrip
            trace={drawn.trace}
            firstAt={drawn.firstAt}
            band={rig.settings.band}
            view={view}
            label={`${rig.name}: humidity over the last seven days, in its band, with the pump's runs under it.`}
          />
        )}
      </div>
    </article>
  )
}
