/** What is asked for each kind of entry, in the order a person knows it, with a start that is often right. */
import { temperatureUnit } from '../../units.ts'

export type Ask =
  | {
      name: string
      label: string
      kind: 'number'
      unit: string
      step: number
      digits: number
      start: string
      hint?: string
    }
  | { name: string; label: string; kind: 'temperature'; startC: number | null }
  | { name: string; label: string; kind: 'word'; options: { value: string; label: string }[] }
  | { name: string; label: string; kind: 'text'; hint?: string }
  | { name: string; label: string; kind: 'until'; startH: number }

export type Form = {
  what: string
  label: string
  /** When it was: the word in front of the time. */
  at: string
  hint?: string
  asks: Ask[]
}

const jar: Ask = { name: 'jar', label: 'Jar', kind: 'text', hint: 'Its name, if you have more than one.' }
const mass = (name: string, label: string, hint?: string): Ask => ({
  name,
  label,
  kind: 'number',
  unit: 'g',
  step: 10,
  digits: 0,
  start: '',
  ...(hint === undefined ? {} : { hint }),
})

/** The first six are what a visit is about; the rest is one press further. */
export const forms: Form[] = [
  {
    what: 'flight',
    label: 'Flight',
    at: 'Landed',
    asks: [
      {
        name: 'hours',
        label: 'In the air',
        kind: 'number',
        unit: 'hours',
        step: 0.1,
        digits: 1,
        start: '1.0',
      },
    ],
  },
  { what: 'on', label: 'Rig on', at: 'Hooked up', asks: [] },
  { what: 'off', label: 'Rig off', at: 'Taken off', asks: [] },
  {
    what: 'bake',
    label: 'Baked the beads',
    at: 'Back in the column',
    hint: 'A fill starts here.',
    asks: [
      { name: 'tempC', label: 'Oven', kind: 'temperature', startC: 120 },
      { name: 'hours', label: 'For', kind: 'number', unit: 'hours', step: 0.5, digits: 1, start: '4.0' },
      mass('beforeG', 'Jar before the bake', 'The same jar, the same lid. Leave empty if not weighed.'),
      mass('afterG', 'Jar after the bake'),
      jar,
    ],
  },
  {
    what: 'beads',
    label: 'Changed the beads',
    at: 'In the column since',
    hint: 'A fill starts here.',
    asks: [mass('massG', 'Dry beads'), { name: 'kind', label: 'Kind', kind: 'text' }, jar],
  },
  {
    what: 'weighing',
    label: 'Weighed the jar',
    at: 'Weighed',
    asks: [mass('grossG', 'Jar with its beads', 'Take the jar as it is, always with the same lid.')],
  },
  {
    what: 'preheat',
    label: 'Preheat',
    at: 'Switched on',
    asks: [],
  },
  {
    what: 'away',
    label: 'Away',
    at: 'From',
    hint: 'No reminder that the rig is off until then.',
    asks: [{ name: 'until', label: 'Until', kind: 'until', startH: 72 }],
  },
  { what: 'power-off', label: 'Power off', at: 'Off since', asks: [] },
  {
    what: 'sensor',
    label: 'Sensor',
    at: 'Done',
    asks: [
      {
        name: 'change',
        label: 'What was done',
        kind: 'word',
        options: [
          { value: 'replaced', label: 'Another sensor' },
          { value: 'battery', label: 'New battery' },
        ],
      },
    ],
  },
  {
    what: 'salt-check',
    label: 'Salt check',
    at: 'Began',
    hint: 'The guide under Settings and checks goes through it step by step.',
    asks: [
      {
        name: 'salt',
        label: 'Salt',
        kind: 'word',
        options: [
          { value: 'LiCl', label: 'Lithium chloride, 11.3 %' },
          { value: 'MgCl2', label: 'Magnesium chloride, 32.8 %' },
          { value: 'NaCl', label: 'Table salt, 75.3 %' },
        ],
      },
      { name: 'until', label: 'Ended', kind: 'until', startH: 12 },
      {
        name: 'shownPct',
        label: 'The sensor showed',
        kind: 'number',
        unit: '%',
        step: 0.1,
        digits: 1,
        start: '',
      },
      { name: 'tempC', label: 'Beside it', kind: 'temperature', startC: null },
    ],
  },
  {
    what: 'floor-check',
    label: 'Floor check',
    at: 'Pump kept on from',
    asks: [{ name: 'until', label: 'Until', kind: 'until', startH: 4 }],
  },
  {
    what: 'loop-test',
    label: 'Loop test',
    at: 'From',
    asks: [{ name: 'until', label: 'Until', kind: 'until', startH: 0.25 }],
  },
  {
    what: 'note',
    label: 'Note',
    at: 'At',
    asks: [{ name: 'text', label: 'Note', kind: 'text' }],
  },
]
export const firstForms = 6

/** Ovens and hangars in the person's unit; the server keeps degC. */
export function toC(shown: number): number {
  return temperatureUnit.value === 'degF' ? (shown - 32) / 1.8 : shown
}
export function fromC(tempC: number): number {
  return temperatureUnit.value === 'degF' ? tempC * 1.8 + 32 : tempC
}
export const temperatureLabel = (): string => (temperatureUnit.value === 'degF' ? '°F' : '°C')
