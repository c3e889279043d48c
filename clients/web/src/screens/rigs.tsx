/** A row a rig: what a person would say about it, its last seven days, and when it was last heard. */
import type { JSX } from 'preact'
import { api } from '../api.ts'
import { SmallStrip } from '../chart/small-strip.tsx'
import { Page } from '../parts/page.tsx'
import { useNowMs } from '../parts/shell.tsx'
import { notHere, Shown } from '../parts/states.tsx'
import { useRead } from '../query.ts'
import { myHangars } from '../my-rigs.ts'
import type { Rig } from '../shapes.ts'
import { tied } from '../units.ts'
import { ago, capital, countWord, ms } from '../when.ts'

const weekS = 7 * 86_400
/** A strip this small shows no more than a point a pixel. */
const pointsMax = 400
/** All strips of the list end at one time, and the address stays the same for a while so that answers are shared. */
export const endS = (): number => Math.ceil(Date.now() / 1000 / 300) * 300

export function Rigs(): JSX.Element {
  const alerts = useRead(api.alerts).value?.items ?? []
  const hangars = myHangars()
  const needing = new Set(
    alerts.filter((alert) => alert.state !== 'over' && alert.urgency !== 'note').map((alert) => alert.rig),
  )
  return (
    <Page title={title(needing.size)} tabTitle="Rigs">
      {hangars.map((hangar) => (
        <HangarRigs key={hangar.id} id={hangar.id} name={hangars.length > 1 ? hangar.name : null} />
      ))}
      <p class="acts">
        <a href="/compare">Compare the rigs of a hangar</a>
        <a href="/start">Set up another rig</a>
      </p>
    </Page>
  )
}

function title(needing: number): string {
  if (needing === 0) return 'No rig needs you.'
  return needing === 1 ? 'One rig needs you.' : `${capital(countWord(needing))} rigs need you.`
}

function HangarRigs({ id, name }: { id: string; name: string | null }): JSX.Element {
  const read = useRead(api.rigs(id), 300)
  return (
    <section class="hangar-rigs">
      {name && <h2>{name}</h2>}
      <Shown read={read} what="the rigs">
        {(page) =>
          page.items.length === 0 ? (
            <p class="waiting">
              No rig here yet. <a href="/start">Set one up</a>.
            </p>
          ) : (
            page.items.map((rig) => <RigRow key={rig.id} rig={rig} />)
          )
        }
      </Shown>
    </section>
  )
}

function RigRow({ rig }: { rig: Rig }): JSX.Element {
  const toS = endS()
  const view = { fromS: toS - weekS, toS }
  const { value: now, problem } = useRead(api.now(rig.id))
  const trace = useRead(api.trace(rig.id, view, pointsMax)).value
  const alerts =
    useRead(api.alerts).value?.items.filter((one) => one.rig === rig.id && one.state !== 'over') ?? []
  const isNow = alerts.some((one) => one.urgency === 'now')
  const isVisit = alerts.some((one) => one.urgency === 'visit')
  const nowMs = useNowMs(60)
  return (
    <article class="row">
      <div class="margin">
        <h2>
          <a href={`/rigs/${rig.id}`}>{rig.name}</a>
        </h2>
        <p class="small soft">
          {(isNow || isVisit) && (
            <>
              <b>{isNow ? 'Drive out now' : 'On your next visit'}</b>
              <br />
            </>
          )}
          {now && (now.heardAt ? `heard ${ago(ms(now.heardAt), nowMs)}` : 'never heard yet')}
        </p>
      </div>
      <div class="body">
        {now && <p class="say">{tied(now.sentence)}</p>}
        {!now && problem && <p class="soft">{notHere(problem)}</p>}
        {trace && trace.series.length > 0 && (
          <SmallStrip
            trace={trace}
            band={rig.settings.band}
            view={view}
            label={`${rig.name}: humidity over the last seven days, in its band, with the pump's runs under it.`}
          />
        )}
      </div>
    </article>
  )
}
