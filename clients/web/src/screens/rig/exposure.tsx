/** Hours of humidity at the metal, in classes; what was not heard is unknown and never counted as dry. */
import type { JSX } from 'preact'
import { api } from '../../api.ts'
import { Entry } from '../../parts/page.tsx'
import { Shown } from '../../parts/states.tsx'
import { useRead } from '../../query.ts'
import type { ExposureHours as Hours } from '../../shapes.ts'
import { number } from '../../units.ts'
import { endS } from '../rigs.tsx'

export const exposureClasses: readonly { key: keyof Hours; label: string }[] = [
  { key: 'under40', label: 'under 40 %' },
  { key: 'from40to60', label: '40 to 60 %' },
  { key: 'from60to80', label: '60 to 80 %' },
  { key: 'over80', label: 'over 80 %' },
  { key: 'gapsH', label: 'nothing heard: unknown' },
  { key: 'offH', label: 'rig off, flying or being checked: unknown' },
]
const monthS = 30 * 86_400

export function Exposure({ rig }: { rig: string }): JSX.Element {
  const toS = Math.floor(endS() / 86_400) * 86_400
  const read = useRead(api.exposure(rig, { fromS: toS - monthS, toS }), 600)
  return (
    <Entry heading="Wetness" aside={<p>hours at the metal, the last 30 days</p>}>
      <Shown read={read} what="the hours">
        {(hours) => (
          <>
            <ExposureTable hours={hours} />
            <p class="soft small">
              Crankcase air against the coldest metal. Cylinders above the pistons, valves, exhaust and
              induction are not seen at all.
            </p>
          </>
        )}
      </Shown>
    </Entry>
  )
}

export function ExposureTable({ hours }: { hours: Hours }): JSX.Element {
  const whole = exposureClasses.reduce((sum, one) => sum + hours[one.key], 0)
  return (
    <table>
      <thead>
        <tr>
          <th scope="col">Humidity at the metal</th>
          <th scope="col">Hours</th>
          <th scope="col">Share</th>
        </tr>
      </thead>
      <tbody>
        {exposureClasses.map((one) => (
          <tr key={one.key}>
            <th scope="row">{one.label}</th>
            <td>{number(hours[one.key], hours[one.key] < 10 ? 1 : 0)}</td>
            <td>{whole > 0 ? `${number((hours[one.key] / whole) * 100, 0)}\u202f%` : ''}</td>
          </tr>
        ))}
        <tr>
          <th scope="row">of which time of wetness (ISO 9223: over 80 % and above 0 °C)</th>
          <td>{number(hours.wet, hours.wet < 10 ? 1 : 0)}</td>
          <td />
        </tr>
      </tbody>
    </table>
  )
}
