/** The last lines of a rig's logbook. */
import type { JSX } from 'preact'
import { api } from '../../api.ts'
import { markDetail, markName } from '../../chart/marks.ts'
import { Entry } from '../../parts/page.tsx'
import { Shown } from '../../parts/states.tsx'
import { useRead } from '../../query.ts'
import type { LogEntry, Rig } from '../../shapes.ts'
import { moment, ms } from '../../when.ts'

const shownMax = 5

export function LogLines({ rig, isKeeper }: { rig: Rig; isKeeper: boolean }): JSX.Element {
  const read = useRead(api.logbook(rig.id), 300)
  return (
    <Entry heading="Logbook">
      <Shown read={read} what="the logbook">
        {({ items }) =>
          items.length === 0 ? (
            <p class="soft">Nothing entered yet. Flights and bakes are what the forecast is made from.</p>
          ) : (
            <ul class="plain">
              {items.slice(0, shownMax).map((entry) => (
                <li key={entry.id}>
                  <LogText entry={entry} />
                </li>
              ))}
            </ul>
          )
        }
      </Shown>
      <p class="acts">
        {isKeeper && (
          <a class="button" href={`/logbook/new?rig=${rig.id}`}>
            Enter something
          </a>
        )}
        <a href={`/logbook?rig=${rig.id}`}>The whole logbook</a>
      </p>
    </Entry>
  )
}

export function LogText({ entry }: { entry: LogEntry }): JSX.Element {
  const detail = markDetail(entry)
  return (
    <>
      <b>{markName(entry.what)}</b>
      {detail && `, ${detail}`} <span class="soft">{moment(ms(entry.at))}</span>
    </>
  )
}
