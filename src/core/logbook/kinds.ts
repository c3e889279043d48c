/** The kinds of logbook entry and what may be said in each. The same names stand in logbook.csv and over HTTP. */

export const LOG_KINDS = [
  'flight',
  'bake',
  'beads',
  'weighing',
  'salt-check',
  'floor-check',
  'loop-test',
  'preheat',
  'off',
  'on',
  'away',
  'power-off',
  'sensor',
  'note',
] as const

export type LogKind = (typeof LOG_KINDS)[number]

/** A note is for people, and a kind that nobody knows is kept and ignored: neither changes what was worked out. */
export function isForAnalysis(what: string): boolean {
  return what !== 'note' && LOG_KINDS.some((kind) => kind === what)
}

export type Field =
  | { readonly type: 'number'; readonly min: number; readonly max: number }
  | { readonly type: 'time' }
  | { readonly type: 'word'; readonly words: readonly string[] }
  | { readonly type: 'text'; readonly maxChars: number }

const grams: Field = { type: 'number', min: 0, max: 50_000 }
/** Less is no load of a column. */
const loadG: Field = { type: 'number', min: 10, max: 50_000 }
const jar: Field = { type: 'text', maxChars: 80 }
const until: Field = { type: 'time' }

/** Ranges catch a wrong unit or a slip of the finger, nothing finer. Temperatures in degC, masses in g. */
export const LOG_FIELDS: Readonly<Record<LogKind, Readonly<Record<string, Field>>>> = {
  flight: { hours: { type: 'number', min: 0, max: 24 } },
  bake: {
    tempC: { type: 'number', min: 40, max: 350 },
    hours: { type: 'number', min: 0, max: 240 },
    beforeG: grams,
    afterG: grams,
    jar,
  },
  beads: { massG: loadG, kind: { type: 'text', maxChars: 60 }, jar },
  weighing: { grossG: grams },
  'salt-check': {
    salt: { type: 'word', words: ['LiCl', 'MgCl2', 'NaCl'] },
    shownPct: { type: 'number', min: 0, max: 105 },
    tempC: { type: 'number', min: -20, max: 60 },
    until,
  },
  'floor-check': { until },
  'loop-test': { until },
  preheat: {},
  off: {},
  on: {},
  away: { until },
  'power-off': {},
  sensor: { change: { type: 'word', words: ['replaced', 'battery'] } },
  note: { text: { type: 'text', maxChars: 2000 } },
}
