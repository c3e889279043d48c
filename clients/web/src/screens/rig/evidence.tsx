/** Why an alert is raised: causes, what was not measured, and the numbers behind its sentence. */
import type { JSX } from 'preact'
import type { Alert, Evidence } from '../../shapes.ts'
import { tied } from '../../units.ts'
import { namesShown, valueText, words } from './evidence-words.ts'

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
  const names = namesShown(evidence)
  if (names.length === 0) return null
  return (
    <div>
      <h3 class="small">In numbers</h3>
      <dl class="facts">
        {names.map((name) => (
          <>
            <dt>{tied(words(name))}</dt>
            <dd>{valueText(name, evidence[name] ?? null)}</dd>
          </>
        ))}
      </dl>
    </div>
  )
}
