/** Hours of humidity at the metal, in classes; what was not heard is unknown and never counted as dry. */
import type { JSX } from 'preact'
import { api } from '../../api.ts'
import { Entry } from '../../parts/page.tsx'
import { Shown } from '../../parts/states.tsx'
import { useRead } from '../../query.ts'
import type { ExposureHours as Hours } from '../../shapes.ts'
import { number, tied } from '../../units.ts'
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

type TableProps = {
  hours: Hours
  /** Hours of the period that lie before the first reading. */
  beforeH?: number
}

export function ExposureTable({ hours, beforeH = 0 }: TableProps): JSX.Element {
  const whole = exposureClasses.reduce((sum, one) => sum + hours[one.key], beforeH)
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
          <>
            <HoursRow key={one.key} label={one.label} h={hours[one.key]} whole={whole} />
            {one.key === 'over80' && <HoursRow key="wet" label={wetness} h={hours.wet} whole={null} />}
          </>
        ))}
        {beforeH > 0 && <HoursRow label="before the first reading" h={beforeH} whole={whole} />}
      </tbody>
    </table>
  )
}

const wetness = 'of which time of wetness (ISO 9223: over 80 % and above 0 °C)'

/** A row without a whole is a part of the one above it. */
function HoursRow({ label, h, whole }: { label: string; h: number; whole: number | null }): JSX.Element {
  return (
    <tr class={whole === null ? 'part' : undefined}>
      <th scope="row">{tied(label)}</th>
      <td>{number(h, h < 10 ? 1 : 0)}</td>
      <td>{whole !== null && whole > 0 ? `${number((h / whole) * 100, 0)}\u202f%` : ''}</td>
    </tr>
  )
}
