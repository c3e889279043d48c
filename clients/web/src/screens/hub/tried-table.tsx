import type { JSX } from 'preact'
import type { Tried } from '../../shapes.ts'
import { humidity, temperature, withUnit } from '../../units.ts'
import { moment, ms } from '../../when.ts'
import { answerSentence } from './posts.tsx'

/** What would have been stored, before anything is. */
export function TriedTable({ tried }: { tried: Tried }): JSX.Element {
  return (
    <div class="notice">
      <p>{answerSentence(tried)} Nothing was stored: this was a try.</p>
      {tried.readings.length > 0 && (
        <div class="wide" tabIndex={0} role="region" aria-label="What would be stored">
          <table>
            <thead>
              <tr>
                <th scope="col">Time</th>
                <th scope="col">Rig, place</th>
                <th scope="col">Humidity</th>
                <th scope="col">Temperature</th>
                <th scope="col">Pump</th>
                <th scope="col">Power</th>
              </tr>
            </thead>
            <tbody>
              {tried.readings.map((one) => (
                <tr key={`${one.rig} ${one.place} ${one.at}`}>
                  <th scope="row">{moment(ms(one.at))}</th>
                  <td>
                    {one.rig}, {one.place}
                  </td>
                  <td>{one.humidity === null ? '' : humidity(one.humidity)}</td>
                  <td>{one.temperature === null ? '' : temperature(one.temperature)}</td>
                  <td>{one.pump === null ? '' : one.pump ? 'on' : 'off'}</td>
                  <td>{one.power === null ? '' : withUnit(one.power, 1, 'W')}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      {tried.setAside.length > 0 && (
        <ul>
          {tried.setAside.map((one) => (
            <li key={`${one.index} ${one.pointer}`}>
              Record {one.index + 1} at {one.pointer || 'the whole'}: {one.detail ?? one.reason}
            </li>
          ))}
        </ul>
      )}
    </div>
  )
}
