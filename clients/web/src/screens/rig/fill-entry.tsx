/** The fill in the column: what it took up, by what, and where the end probably lies. */
import type { JSX } from 'preact'
import { Entry } from '../../parts/page.tsx'
import type { Fill, Interval, Now, Rig } from '../../shapes.ts'
import { grams, number, tied } from '../../units.ts'
import { fullDate, ms, plural } from '../../when.ts'

export function FillEntry({ rig, now }: { rig: Rig; now: Now }): JSX.Element {
  const { fill, forecast } = now
  if (!fill) {
    return (
      <Entry heading="This fill">
        <p>
          The loading of these beads is not known, so there is no forecast. It starts with the next bake or
          change of beads in the logbook.
        </p>
        <p class="acts">
          <a href={`/logbook/new?rig=${rig.id}&what=bake`}>Enter a bake</a>
          <a href={`/rigs/${rig.id}/guide/bake`}>Bake step by step</a>
        </p>
      </Entry>
    )
  }
  const { takenUpG, capacityG } = forecast ?? fill.forecast
  return (
    <Entry
      heading="This fill"
      aside={
        <p>
          {fill.bakeTempC === null ? 'counted from' : 'baked'} {fullDate(ms(fill.from))}
          {fill.jar && `, jar ${fill.jar}`}
        </p>
      }
    >
      {now.forecastSentence && <p class="say">{tied(now.forecastSentence)}</p>}
      {takenUpG && capacityG ? (
        <Ledger takenUp={takenUpG} capacity={capacityG} />
      ) : (
        <p>How much this fill can take up is not known: {whyNot(rig)}.</p>
      )}
      {takenUpG && <p>{ledgerSentence(fill, takenUpG, capacityG, rig.settings.band.stop)}</p>}
      {now.floorTrendSentence && <p>{tied(now.floorTrendSentence)}</p>}
      <p class="soft small">
        The air leaving the column stays dry until roughly the last fifth of a fill, so it cannot confirm this
        ledger before. The beads' colour is a hint, not a measure.
      </p>
      <p class="acts">
        <a href={`/rigs/${rig.id}/guide/bake`}>Bake step by step</a>
        <a href={`/rigs/${rig.id}/guide/weigh`}>Weigh the jar</a>
      </p>
    </Entry>
  )
}

function whyNot(rig: Rig): string {
  const { beadMassG, flowLPerMin, volumeL } = rig.settings
  const lacking = [
    (beadMassG ?? null) === null && 'the mass of the beads',
    (flowLPerMin ?? null) === null && "the pump's flow",
    (volumeL ?? null) === null && "the loop's volume",
  ].filter(Boolean)
  return lacking.length === 0 ? 'too little has been seen yet' : `the settings lack ${lacking.join(' and ')}`
}

function between(value: Interval): string {
  return `${number(value.mid, 0)} (${number(value.low, 0)} to ${grams(value.high)})`
}

function ledgerSentence(fill: Fill, takenUp: Interval, capacity: Interval | null, stop: number): string {
  const of = capacity ? ` of about ${between(capacity)} before the air no longer reaches ${stop} %` : ''
  const byFlights =
    fill.takenUpByFlightsG === null
      ? ''
      : ` ${plural(fill.flights, 'flight')} brought ${grams(fill.takenUpByFlightsG)}`
  const idle =
    fill.takenUpIdleG === null
      ? ''
      : `${byFlights ? ', leakage' : ' Leakage brought'} ${grams(fill.takenUpIdleG)}`
  const how = byFlights || idle ? `${byFlights}${idle}.` : ''
  return `About ${between(takenUp)} of water taken up${of}.${how}`
}

const wide = 1000
/** Drawn by attributes, so that the page's policy against inline styles holds; its three parts are named under it. */
function Ledger({ takenUp, capacity }: { takenUp: Interval; capacity: Interval }): JSX.Element {
  const whole = Math.max(capacity.high, takenUp.high) * 1.04
  const at = (g: number): number => Math.round((g / whole) * wide)
  const label = `${Math.round(takenUp.mid)} g taken up of about ${Math.round(capacity.mid)} g, likely between ${Math.round(
    capacity.low,
  )} and ${Math.round(capacity.high)} g.`
  const roomG = capacity.mid - takenUp.mid
  return (
    <figure class="ledger-figure">
      <LedgerBar at={at} takenUp={takenUp} capacity={capacity} label={label} />
      <figcaption class="ledger-key">
        <span class="taken">
          taken up, <b>{grams(takenUp.mid)}</b>
        </span>
        <span class="room">
          room left, <b>{roomG > 0 ? `about ${grams(roomG)}` : 'none'}</b>
        </span>
        <span class="end">
          may be taken up, <b>about {grams(capacity.mid)}</b>, likely {number(capacity.low, 0)} to{' '}
          {grams(capacity.high)}
        </span>
      </figcaption>
    </figure>
  )
}

type BarProps = { at: (g: number) => number; takenUp: Interval; capacity: Interval; label: string }

function LedgerBar({ at, takenUp, capacity, label }: BarProps): JSX.Element {
  return (
    <svg class="ledger" viewBox={`0 0 ${wide} 36`} preserveAspectRatio="none" role="img" aria-label={label}>
      <rect class="ground" x="0" y="10" width={wide} height="16" />
      <rect
        class="likely"
        x={at(capacity.low)}
        y="10"
        width={at(capacity.high) - at(capacity.low)}
        height="16"
      />
      <rect class="taken" x="0" y="10" width={at(takenUp.mid)} height="16" />
      <line
        class="end"
        x1={at(capacity.mid)}
        x2={at(capacity.mid)}
        y1="2"
        y2="34"
        vector-effect="non-scaling-stroke"
      />
    </svg>
  )
}
