import type { Forecast, Interval } from '../fold/outputs.ts'
import { date, grams, number, plural, roughDate, span, type Tongue } from './tongue.ts'

const DAY_S = 86_400

function flightsText(flights: Interval): string {
  const [low, mid, high] = [flights.low, flights.mid, flights.high].map((n) => number(Math.max(0, n), 0))
  return `about ${plural(Number(mid), 'flight')} (${low} to ${high})`
}

/** "about 14 December (late November to January)" */
function datesText(forecast: Forecast, tongue: Tongue, nowS: number): string | null {
  const { emptyAtS, daysLeft } = forecast
  if (emptyAtS === null) return null
  const about = `about ${date(emptyAtS, tongue, nowS)}`
  if (daysLeft === null) return about
  const from = roughDate(nowS + daysLeft.low * DAY_S, tongue, nowS)
  const to = roughDate(nowS + daysLeft.high * DAY_S, tongue, nowS)
  return from === to ? about : `${about} (${from} to ${to})`
}

/** "61 ± 20 g": half of the 80 % interval, since a ledger is told as a middle and a reach. */
function withReach(value: Interval): string {
  return `${number(value.mid, 0)} ± ${grams(Math.max(1, (value.high - value.low) / 2))}`
}

/** What is left in a few words, for a row: "about 5 flights, about 14 December", or `null` where nothing is known. */
export function shortForecast(forecast: Forecast, tongue: Tongue, nowS: number): string | null {
  const { flightsLeft, emptyAtS, daysLeft } = forecast
  if (emptyAtS !== null && emptyAtS <= nowS) return 'the beads are used up'
  const when = emptyAtS === null ? null : `about ${date(emptyAtS, tongue, nowS)}`
  if (flightsLeft !== null) {
    const flights = `good for about ${plural(Number(number(Math.max(0, flightsLeft.mid), 0)), 'flight')}`
    return when === null ? flights : `${flights}, ${when}`
  }
  return daysLeft === null
    ? null
    : `good for about ${span(daysLeft.mid * 24)}${when === null ? '' : `, ${when}`}`
}

/**
 * "At your pace (a flight every 12 days): about 5 flights (3 to 8), about 14 December (late November to January). With no
 * flights: until March. They have taken up 61 ± 20 g of about 210 ± 70 g." Intervals are 80 %. `daysPerFlight` is the
 * learned pace, if any. Where nothing can be told it says so; it never guesses.
 */
export function forecastSentence(
  forecast: Forecast | null,
  tongue: Tongue,
  nowS: number,
  daysPerFlight: number | null = null,
): string {
  const days = forecast?.daysLeft ?? null
  const flights = forecast?.flightsLeft ?? null
  if (forecast === null || (days === null && flights === null)) {
    return 'No forecast yet: it takes a bake or new beads in the logbook, and bead mass and flow in the settings.'
  }
  const parts: string[] = []
  const when = datesText(forecast, tongue, nowS)
  if (forecast.emptyAtS !== null && forecast.emptyAtS <= nowS) {
    parts.push(`By the ledger the beads were used up about ${date(forecast.emptyAtS, tongue, nowS)}.`)
  } else {
    const pace =
      daysPerFlight === null ? 'At your pace' : `At your pace (a flight every ${span(daysPerFlight * 24)})`
    const left = [flights === null ? null : flightsText(flights), when].filter((text) => text !== null)
    if (left.length === 0 && days !== null) left.push(`about ${span(days.mid * 24)}`)
    parts.push(`${pace}: ${left.join(', ')}.`)
  }
  if (forecast.noFlightsUntilS !== null && forecast.noFlightsUntilS > nowS) {
    parts.push(`With no flights: until ${roughDate(forecast.noFlightsUntilS, tongue, nowS)}.`)
  }
  const { takenUpG, capacityG } = forecast
  if (takenUpG !== null && capacityG !== null) {
    parts.push(`They have taken up ${withReach(takenUpG)} of about ${withReach(capacityG)}.`)
  }
  return parts.join(' ')
}
