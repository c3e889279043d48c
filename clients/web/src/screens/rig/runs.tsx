/** The cycles as a table: what each run started from, was heading for, and carried away. */
import type { JSX } from 'preact'
import { api } from '../../api.ts'
import { Entry } from '../../parts/page.tsx'
import { Shown } from '../../parts/states.tsx'
import { useRead } from '../../query.ts'
import type { Cycle } from '../../shapes.ts'
import { grams, humidity, number } from '../../units.ts'
import { moment, ms } from '../../when.ts'
import { useState } from 'preact/hooks'

const firstRows = 8

export function Runs({ rig }: { rig: string }): JSX.Element {
  const read = useRead(api.cycles(rig))
  const [isAll, setAll] = useState(false)
  return (
    <Entry heading="Runs">
      <Shown read={read} what="the runs">
        {({ items, next }) =>
          items.length === 0 ? (
            <p class="soft">No complete run and rest yet.</p>
          ) : (
            <>
              <RunTable cycles={isAll ? items : items.slice(0, firstRows)} />
              {items.length > firstRows && (
                <p>
                  <button type="button" class="link" onClick={() => setAll(!isAll)}>
                    {isAll
                      ? 'Fewer'
                      : next === null
                        ? `All ${items.length} runs`
                        : `The latest ${items.length} runs`}
                  </button>
                </p>
              )}
            </>
          )
        }
      </Shown>
    </Entry>
  )
}

const pct = (value: number | null): string => (value === null ? '' : humidity(value))

function RunTable({ cycles }: { cycles: Cycle[] }): JSX.Element {
  return (
    <div class="wide" tabIndex={0} role="region" aria-label="Runs">
      <table>
        <thead>
          <tr>
            <th scope="col">Started</th>
            <th scope="col">Water</th>
            <th scope="col">From</th>
            <th scope="col">Surge</th>
            <th scope="col">Heading for</th>
            <th scope="col">Ran</th>
            <th scope="col">Rested</th>
          </tr>
        </thead>
        <tbody>
          {cycles.map((cycle) => (
            <tr key={cycle.runFrom}>
              <th scope="row">
                {moment(ms(cycle.runFrom))}
                {cycle.afterFlight && <span class="soft">, after flight</span>}
                {cycle.basis === 'inferred' && <span class="soft">, inferred</span>}
              </th>
              <td>
                {cycle.waterG === null
                  ? ''
                  : cycle.waterG < 1
                    ? `${number(cycle.waterG, 2)}\u202fg`
                    : grams(cycle.waterG)}
              </td>
              <td>{pct(cycle.startPct)}</td>
              <td>{pct(cycle.peakPct)}</td>
              <td>{pct(cycle.apparentFloorPct)}</td>
              <td>{duration(cycle.runMin)}</td>
              <td>{duration(cycle.restMin)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  )
}

/** "24 min", "6.8 h", "3.1 days" */
function duration(min: number): string {
  if (min < 120) return `${number(min, 0)}\u202fmin`
  if (min < 48 * 60) return `${number(min / 60, 1)}\u202fh`
  return `${number(min / 1440, 1)} days`
}
