/** What is asked of the model, as fields of text and as the server wants it. */
import type { SizingQuestion } from '../../shapes.ts'
import { neededNumberWrong, numberWrong, readNumber } from '../../typed-number.ts'
import { wrongsOf, type Place, type Wrongs } from '../../wrongs.ts'
import { fromC, temperatureLabel, toC } from '../logbook/forms.ts'

export const begin = {
  crankcaseL: '40',
  hoseM: '4',
  hoseMm: '8',
  columnL: '3',
  flowLPerMin: '2.5',
  beadMassG: '2000',
  beadKind: 'regular-gel',
  start: '15',
  stop: '6',
  humidityPct: '70',
  temp: fromC(12).toFixed(0),
  flightEveryDays: '14',
  gPerFlight: '',
  leakLPerH: '',
  pumpW: '',
}
export type Draft = typeof begin

/** Crankcase, hoses and column, L. */
export function loopL(draft: Pick<Draft, 'crankcaseL' | 'hoseM' | 'hoseMm' | 'columnL'>): number {
  const [crankcase, length, bore, column] = [draft.crankcaseL, draft.hoseM, draft.hoseMm, draft.columnL].map(
    (text) => readNumber(text) ?? 0,
  )
  const hose = (Math.PI / 4) * ((bore ?? 0) / 100) ** 2 * (length ?? 0) * 10
  return Math.round(((crankcase ?? 0) + hose + (column ?? 0)) * 10) / 10
}

export function questionOf(draft: Draft): SizingQuestion {
  return {
    volumeL: loopL(draft),
    flowLPerMin: readNumber(draft.flowLPerMin) ?? 0,
    beadMassG: readNumber(draft.beadMassG) ?? 0,
    ...(draft.beadKind === '' ? {} : { beadKind: draft.beadKind }),
    band: { start: readNumber(draft.start) ?? 0, stop: readNumber(draft.stop) ?? 0 },
    ambient: {
      humidity: readNumber(draft.humidityPct) ?? 0,
      temperature: toC(readNumber(draft.temp) ?? 0),
    },
    flightEveryDays: readNumber(draft.flightEveryDays),
    gPerFlight: readNumber(draft.gPerFlight),
    leakLPerH: readNumber(draft.leakLPerH),
    pumpW: readNumber(draft.pumpW),
  }
}

/** What is not needed widens the ranges when it is left empty; what is no number is not taken for empty. */
export function questionWrongs(draft: Draft): Wrongs {
  return wrongsOf({
    crankcaseL: neededNumberWrong(draft.crankcaseL, 'L'),
    hoseM: numberWrong(draft.hoseM, 'm'),
    hoseMm: numberWrong(draft.hoseMm, 'mm'),
    columnL: numberWrong(draft.columnL, 'L'),
    flowLPerMin: neededNumberWrong(draft.flowLPerMin, 'L/min'),
    beadMassG: neededNumberWrong(draft.beadMassG, 'g'),
    start: neededNumberWrong(draft.start, '%'),
    stop: neededNumberWrong(draft.stop, '%'),
    humidityPct: neededNumberWrong(draft.humidityPct, '%'),
    temp: neededNumberWrong(draft.temp, temperatureLabel()),
    flightEveryDays: numberWrong(draft.flightEveryDays, 'days'),
    gPerFlight: numberWrong(draft.gPerFlight, 'g'),
    leakLPerH: numberWrong(draft.leakLPerH, 'L/h'),
    pumpW: numberWrong(draft.pumpW, 'W'),
  })
}

const places: Readonly<Record<string, Place>> = {
  '/volumeL': { field: 'crankcaseL', about: 'Engine, hoses and column together have to be' },
  '/flowLPerMin': { field: 'flowLPerMin' },
  '/beadMassG': { field: 'beadMassG' },
  '/beadKind': { field: 'beadKind' },
  '/band/start': { field: 'start' },
  '/band/stop': { field: 'stop' },
  '/ambient/humidity': { field: 'humidityPct' },
  '/ambient/temperature': { field: 'temp', toShown: fromC },
  '/flightEveryDays': { field: 'flightEveryDays' },
  '/gPerFlight': { field: 'gPerFlight' },
  '/leakLPerH': { field: 'leakLPerH' },
  '/pumpW': { field: 'pumpW' },
}
export const questionPlace = (pointer: string): Place | null => places[pointer] ?? null
