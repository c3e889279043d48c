/** What was said about this rig before, and when it was over. */
import type { JSX } from 'preact'
import { api } from '../../api.ts'
import { Entry } from '../../parts/page.tsx'
import { useRead } from '../../query.ts'
import { tied } from '../../units.ts'
import { moment, ms } from '../../when.ts'
import { AlertReasons } from './evidence.tsx'

const shownMax = 10
/** What is open now comes with the rig's state; the history is longer and changes less. */
export const historyS = 300

export function AlertHistory({ rig }: { rig: string }): JSX.Element | null {
  const read = useRead(api.alertsOf(rig), historyS)
  const past = (read.value?.items ?? []).filter((alert) => alert.state === 'over')
  if (past.length === 0) return null
  return (
    <Entry heading="Earlier alerts">
      <ul class="plain">
        {past.slice(0, shownMax).map((alert) => (
          <li key={alert.id}>
            <p>{tied(alert.sentence)}</p>
            {alert.overWhy !== null && <p>A late reading or entry showed that it never held.</p>}
            <p class="soft small">
              {moment(ms(alert.since))} to {alert.overAt ? moment(ms(alert.overAt)) : 'now'}
            </p>
            <AlertReasons alert={alert} />
          </li>
        ))}
      </ul>
    </Entry>
  )
}
