/** The numbers behind a sentence, with their units: names end in the unit, so the unit can be shown. */
import type { JSX } from 'preact'
import type { Alert, Evidence } from '../../shapes.ts'
import { humidity, number, temperature, withUnit } from '../../units.ts'
import { moment } from '../../when.ts'

const unitsByEnding: readonly [RegExp, (value: number) => string][] = [
  [/Pct$/, (v) => humidity(v)],
  [/Gm3$/, (v) => withUnit(v, 2, 'g/m³')],
  [/LPerH$/, (v) => withUnit(v, 1, 'L/h')],
  [/GPerH$/, (v) => withUnit(v, 2, 'g/h')],
  [/PerH$/, (v) => withUnit(v, 3, '/h')],
  [/C$/, (v) => temperature(v)],
  [/Min$/, (v) => withUnit(v, 0, 'min')],
  [/Days$/, (v) => withUnit(v, 1, 'days')],
  [/H$/, (v) => withUnit(v, 1, 'h')],
  [/W$/, (v) => withUnit(v, 1, 'W')],
  [/S$/, (v) => (v > 1e8 ? moment(v * 1000) : withUnit(v, 0, 's'))],
  [/G$/, (v) => withUnit(v, 1, 'g')],
]
const endings = /(Pct|Gm3|LPerH|GPerH|PerH|C|Min|Days|H|W|S|G)$/

/** "runTimeRatio" becomes "run time ratio"; the unit at the end is dropped, since the value carries it. */
export function words(name: string): string {
  const bare = name.replace(endings, '')
  const spaced = (bare === '' ? name : bare).replace(/([a-z0-9])([A-Z])/g, '$1 $2').toLowerCase()
  return spaced.charAt(0).toUpperCase() + spaced.slice(1)
}

export function valueText(name: string, value: Evidence[string]): string {
  if (value === null) return 'not known'
  if (typeof value === 'boolean') return value ? 'yes' : 'no'
  if (typeof value === 'string') return value
  const found = unitsByEnding.find(([ending]) => ending.test(name))
  return found ? found[1](value) : number(value, Number.isInteger(value) ? 0 : 2)
}

/** Why it is said: the likeliest cause and the next, what nobody measured, what would decide, and the numbers. */
export function AlertReasons({ alert }: { alert: Alert }): JSX.Element {
  return (
    <details>
      <summary>Why this is said</summary>
      <div class="fields">
        {alert.causes.length > 0 && (
          <div>
            <h3 class="small">Likeliest first</h3>
            <ol>
              {alert.causes.map((cause) => (
                <li key={cause}>{cause}</li>
              ))}
            </ol>
          </div>
        )}
        {alert.notMeasured.length > 0 && (
          <div>
            <h3 class="small">Not measured</h3>
            <ul>
              {alert.notMeasured.map((one) => (
                <li key={one}>{one}</li>
              ))}
            </ul>
          </div>
        )}
        {alert.decides && (
          <div>
            <h3 class="small">What would decide</h3>
            <p>{alert.decides}</p>
          </div>
        )}
        <EvidenceList evidence={alert.evidence} />
      </div>
    </details>
  )
}

function EvidenceList({ evidence }: { evidence: Evidence }): JSX.Element | null {
  const names = Object.keys(evidence)
  if (names.length === 0) return null
  return (
    <div>
      <h3 class="small">In numbers</h3>
      <dl class="facts">
        {names.map((name) => (
          <>
            <dt>{words(name)}</dt>
            <dd>{valueText(name, evidence[name] ?? null)}</dd>
          </>
        ))}
      </dl>
    </div>
  )
}
