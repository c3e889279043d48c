/** rig.json as fields of text, and back; keys this form does not know are kept as they are. */
import type { Settings } from '../../shapes.ts'
import { neededNumberWrong, numberWrong, readNumber } from '../../typed-number.ts'
import { wrongsOf, type Place, type Wrongs } from '../../wrongs.ts'
import { fromC, temperatureLabel, toC } from '../logbook/forms.ts'

export type Draft = {
  start: string
  stop: string
  beadMassG: string
  beadKind: string
  volumeL: string
  flowLPerMin: string
  pumpOnW: string
  reportEveryMin: string
  elevationM: string
  sensorSits: '' | 'box' | 'engine'
  ambientPct: string
  ambientTemp: string
}

const text = (value: number | null | undefined): string =>
  value === undefined || value === null ? '' : String(value)

export function draftOf(settings: Settings): Draft {
  const ambient = settings.ambient ?? null
  return {
    start: text(settings.band.start),
    stop: text(settings.band.stop),
    beadMassG: text(settings.beadMassG),
    beadKind: settings.beadKind ?? '',
    volumeL: text(settings.volumeL),
    flowLPerMin: text(settings.flowLPerMin),
    pumpOnW: text(settings.pumpOnW),
    reportEveryMin: settings.reportEveryS ? text(settings.reportEveryS / 60) : '',
    elevationM: text(settings.elevationM),
    sensorSits: settings.sensorSits ?? '',
    ambientPct: text(ambient?.humidity),
    ambientTemp: ambient ? text(Number(fromC(ambient.temperature).toFixed(1))) : '',
  }
}

const halfWrong = 'Give both, or neither: humidity and temperature belong together.'
const isHalf = (own: string, other: string): boolean => own.trim() === '' && other.trim() !== ''

/** What cannot be sent as it was typed: a number that is left out here would be gone without a word. */
export function draftWrongs(draft: Draft): Wrongs {
  const { ambientPct, ambientTemp } = draft
  return wrongsOf({
    start: neededNumberWrong(draft.start, '%'),
    stop: neededNumberWrong(draft.stop, '%'),
    beadMassG: numberWrong(draft.beadMassG, 'g'),
    flowLPerMin: numberWrong(draft.flowLPerMin, 'L/min'),
    volumeL: numberWrong(draft.volumeL, 'L'),
    pumpOnW: numberWrong(draft.pumpOnW, 'W'),
    reportEveryMin: numberWrong(draft.reportEveryMin, 'minutes'),
    elevationM: numberWrong(draft.elevationM, 'm'),
    ambientPct: isHalf(ambientPct, ambientTemp) ? halfWrong : numberWrong(ambientPct, '%'),
    ambientTemp: isHalf(ambientTemp, ambientPct) ? halfWrong : numberWrong(ambientTemp, temperatureLabel()),
  })
}

const places: Readonly<Record<string, Place>> = {
  '/name': { field: 'name' },
  '/slug': { field: 'name' },
  '/settings/band/start': { field: 'start' },
  '/settings/band/stop': { field: 'stop' },
  '/settings/beadMassG': { field: 'beadMassG' },
  '/settings/beadKind': { field: 'beadKind' },
  '/settings/flowLPerMin': { field: 'flowLPerMin' },
  '/settings/volumeL': { field: 'volumeL' },
  '/settings/pumpOnW': { field: 'pumpOnW' },
  '/settings/reportEveryS': { field: 'reportEveryMin', toShown: (seconds) => seconds / 60 },
  '/settings/elevationM': { field: 'elevationM' },
  '/settings/sensorSits': { field: 'sensorSits' },
  '/settings/ambient/humidity': { field: 'ambientPct' },
  '/settings/ambient/temperature': { field: 'ambientTemp', toShown: fromC },
}
/** The field of a rig's form that stands for a place in the request. */
export const settingPlace = (pointer: string): Place | null => places[pointer] ?? null

/** Settings saved unchanged would be new ones all the same, from now on. */
export function isChanged(draft: Draft, settings: Settings): boolean {
  const before = draftOf(settings)
  return JSON.stringify(draft) !== JSON.stringify(before)
}

/** What is left empty is left out: the server then learns it or says that it is not known. */
export function settingsOf(draft: Draft, before: Settings | null): Settings {
  const numbers: Record<string, number | null> = {
    beadMassG: readNumber(draft.beadMassG),
    volumeL: readNumber(draft.volumeL),
    flowLPerMin: readNumber(draft.flowLPerMin),
    pumpOnW: readNumber(draft.pumpOnW),
    elevationM: readNumber(draft.elevationM),
  }
  const minutes = readNumber(draft.reportEveryMin)
  const pct = readNumber(draft.ambientPct)
  // The field shows it to a tenth, in the person's unit: left alone, it stays what it was.
  const kept = before !== null && draft.ambientTemp === draftOf(before).ambientTemp ? before.ambient : null
  const temp = readNumber(draft.ambientTemp)
  const tempC = kept?.temperature ?? (temp === null ? null : toC(temp))
  const { band: _band, ...rest } = before ?? { band: null }
  const known = new Set([...Object.keys(numbers), 'reportEveryS', 'sensorSits', 'beadKind', 'ambient'])
  const others = Object.fromEntries(Object.entries(rest).filter(([name]) => !known.has(name)))
  return {
    ...others,
    band: { start: readNumber(draft.start) ?? 0, stop: readNumber(draft.stop) ?? 0 },
    ...Object.fromEntries(Object.entries(numbers).filter(([, value]) => value !== null)),
    ...(minutes === null ? {} : { reportEveryS: Math.round(minutes * 60) }),
    ...(draft.sensorSits === '' ? {} : { sensorSits: draft.sensorSits }),
    ...(draft.beadKind.trim() === '' ? {} : { beadKind: draft.beadKind.trim() }),
    ...(pct === null || tempC === null ? {} : { ambient: { humidity: pct, temperature: tempC } }),
  }
}
