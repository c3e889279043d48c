/** A hangar's rigs side by side: what differs between neighbours says more than any number alone. */
import type { JSX } from 'preact'
import { api } from '../api.ts'
import { HangarChoice } from '../parts/hangar-choice.tsx'
import { Page } from '../parts/page.tsx'
import { Shown } from '../parts/states.tsx'
import { useRead } from '../query.ts'
import { hangar } from '../session.ts'
import type { Cycle, Rig } from '../shapes.ts'
import { grams, humidity, number, withUnit } from '../units.ts'
import { ms } from '../when.ts'

const monthMs = 30 * 86_400_000

export function Compare(): JSX.Element {
  const here = hangar.value
  const read = useRead(here ? api.rigs(here.id) : null, 300)
  return (
    <Page
      title="Rigs side by side"
      tabTitle="Compare"
      back={{ to: '/rigs', label: 'Rigs' }}
      lead="Over the last 30 days. The middle value of each; runs after a flight are left out, since they dry water, not air."
    >
      <HangarChoice />
      <Shown read={read} what="the rigs">
        {({ items }) =>
          items.length === 0 ? <p class="waiting">No rig here yet.</p> : <Table rigs={items} />
        }
      </Shown>
    </Page>
  )
}

function Table({ rigs }: { rigs: Rig[] }): JSX.Element {
  return (
    <div class="wide" tabIndex={0} role="region" aria-label="Rigs side by side">
      <table>
        <thead>
          <tr>
            <th scope="col">Rig</th>
            <th scope="col">Runs</th>
            <th scope="col">Minutes a run</th>
            <th scope="col">Hours of rest</th>
            <th scope="col">Heading for</th>
            <th scope="col">Ingress</th>
            <th scope="col">Water, all runs</th>
            <th scope="col">Taken up</th>
            <th scope="col">Flights left</th>
          </tr>
        </thead>
        <tbody>
          {rigs.map((rig) => (
            <Row key={rig.id} rig={rig} />
          ))}
        </tbody>
      </table>
    </div>
  )
}

/** The middle one; `null` of nothing. */
export function median(values: (number | null)[]): number | null {
  const known = values.filter((value) => value !== null).toSorted((a, b) => a - b)
  const high = known[Math.floor(known.length / 2)]
  const low = known[Math.floor((known.length - 1) / 2)]
  return high === undefined || low === undefined ? null : (high + low) / 2
}

function written(value: number | null, write: (known: number) => string): string {
  return value === null ? '–' : write(value)
}

function Row({ rig }: { rig: Rig }): JSX.Element {
  const now = useRead(api.now(rig.id)).value
  const all = useRead(api.cycles(rig.id), 300).value?.items ?? []
  const recent = all.filter((cycle) => ms(cycle.runFrom) > Date.now() - monthMs)
  const dry = recent.filter((cycle) => !cycle.afterFlight)
  const of = (pick: (cycle: Cycle) => number | null): number | null => median(dry.map(pick))
  const water = recent.reduce((sum, cycle) => sum + (cycle.waterG ?? 0), 0)
  const forecast = now?.forecast ?? null
  return (
    <tr>
      <th scope="row">
        <a href={`/rigs/${rig.id}`}>{rig.name}</a>
      </th>
      <td>{recent.length}</td>
      <td>
        {written(
          of((cycle) => cycle.runMin),
          (v) => number(v, 0),
        )}
      </td>
      <td>
        {written(
          of((cycle) => cycle.restMin / 60),
          (v) => number(v, 0),
        )}
      </td>
      <td>
        {written(
          of((cycle) => cycle.apparentFloorPct),
          (v) => humidity(v),
        )}
      </td>
      <td>
        {written(
          of((cycle) => cycle.ingressPerH),
          (v) => withUnit(v * 100, 1, '%/h'),
        )}
      </td>
      <td>{recent.length === 0 ? '–' : grams(water)}</td>
      <td>{written(forecast?.takenUpG?.mid ?? null, grams)}</td>
      <td>{forecast?.flightsLeft ? number(forecast.flightsLeft.mid, 0) : '–'}</td>
    </tr>
  )
}
