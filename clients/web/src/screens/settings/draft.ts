/** rig.json as fields of text, and back; keys this form does not know are kept as they are. */
import { readNumber } from '../../parts/fields.tsx'
import type { Settings } from '../../shapes.ts'
import { fromC, toC } from '../logbook/forms.ts'

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
    ambientTemp: ambient ? fromC(ambient.temperature).toFixed(0) : '',
  }
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
  const temp = readNumber(draft.ambientTemp)
  const { band: _band, ...rest } = before ?? { band: null }
  const known = new Set([...Object.keys(numbers), 'reportEveryS', 'sensorSits', 'beadKind', 'ambient'])
  const kept = Object.fromEntries(Object.entries(rest).filter(([name]) => !known.has(name)))
  return {
    ...kept,
    band: { start: readNumber(draft.start) ?? 0, stop: readNumber(draft.stop) ?? 0 },
    ...Object.fromEntries(Object.entries(numbers).filter(([, value]) => value !== null)),
    ...(minutes === null ? {} : { reportEveryS: Math.round(minutes * 60) }),
    ...(draft.sensorSits === '' ? {} : { sensorSits: draft.sensorSits }),
    ...(draft.beadKind.trim() === '' ? {} : { beadKind: draft.beadKind.trim() }),
    ...(pct === null || temp === null ? {} : { ambient: { humidity: pct, temperature: toC(temp) } }),
  }
}
