/** The strip as a table, thinned to what a person would read through. */
import type { JSX } from 'preact'
import type { Trace } from '../shapes.ts'
import { humidity, temperature } from '../units.ts'
import { fullDate, moment, ms } from '../when.ts'
import { mainPlace } from './series.ts'
import { markDetail, markName } from './marks.ts'
import { shown, valueOf } from './quantity.ts'
import type { View } from './gestures.ts'

const rowsMax = 48

type Props = { trace: Trace; firstAt: string | null; view: View }

export function TraceTable({ trace, firstAt, view }: Props): JSX.Element {
  const place = mainPlace(trace)
  const all = trace.series.find((one) => one.place === place)?.points ?? []
  const points = all.filter((p) => ms(p.at) / 1000 >= view.fromS && ms(p.at) / 1000 <= view.toS)
  const every = Math.max(1, Math.ceil(points.length / rowsMax))
  const rows = points.filter((_, i) => i % every === 0)
  return (
    <details class="as-table">
      <summary>Read it as a table</summary>
      <div class="wide">
        <table>
          <caption>
            {rows.length} of {points.length} points, return air, in this window
          </caption>
          <thead>
            <tr>
              <th scope="col">Time</th>
              <th scope="col">Humidity</th>
              <th scope="col">Lowest to highest</th>
              <th scope="col">Temperature</th>
              <th scope="col">Frost or dew point</th>
              <th scope="col">Pump</th>
            </tr>
          </thead>
          <tbody>
            {rows.map((p) => {
              const frost = valueOf('frost', p.humidity, p.temperature)
              const isOn = trace.runs.some((run) => ms(run.from) <= ms(p.at) && ms(p.at) <= ms(run.to))
              return (
                <tr key={p.at}>
                  <th scope="row">{moment(ms(p.at))}</th>
                  <td>{p.humidity === null ? '' : humidity(p.humidity)}</td>
                  <td>
                    {p.min === null || p.max === null ? '' : `${humidity(p.min)} to ${humidity(p.max)}`}
                  </td>
                  <td>{p.temperature === null ? '' : temperature(p.temperature)}</td>
                  <td>{frost === null ? '' : shown('frost', frost)}</td>
                  <td>{isOn ? 'running' : 'at rest'}</td>
                </tr>
              )
            })}
          </tbody>
        </table>
      </div>
      <ul class="plain">
        {firstAt !== null && <li>The first reading is of {fullDate(ms(firstAt))}.</li>}
        {trace.gaps.map((gap) => (
          <li key={gap.from}>
            Nothing heard from {moment(ms(gap.from))} to {moment(ms(gap.to))}.
          </li>
        ))}
        {trace.marks.map((mark) => (
          <li key={mark.at + mark.what}>
            {moment(ms(mark.at))}: {markName(mark.what).toLowerCase()}
            {markDetail(mark) && `, ${markDetail(mark)}`}
          </li>
        ))}
      </ul>
    </details>
  )
}
