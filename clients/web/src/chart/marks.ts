/** The logbook's words, short for the chart and long for tables. */
import { hours, grams, humidity } from '../units.ts'
import type { Mark } from '../shapes.ts'

const names: Record<string, string> = {
  flight: 'Flight',
  bake: 'Beads baked',
  beads: 'Beads changed',
  weighing: 'Jar weighed',
  'salt-check': 'Salt check',
  'floor-check': 'Floor check',
  'loop-test': 'Loop test',
  preheat: 'Preheat',
  off: 'Rig off',
  on: 'Rig on',
  away: 'Away',
  'power-off': 'Power off',
  sensor: 'Sensor',
  note: 'Note',
}

export function markName(what: string): string {
  return names[what] ?? what
}

const value = (detail: Mark['detail'], name: string): number | null => {
  const found = Number(detail[name])
  return detail[name] === undefined || detail[name] === '' || !Number.isFinite(found) ? null : found
}

/** "flight 1.4 h" */
export function markLabel({ what, detail }: Pick<Mark, 'what' | 'detail'>): string {
  const flown = value(detail, 'hours')
  if (what === 'flight' && flown !== null) return `flight ${hours(flown)}`
  return markName(what).toLowerCase()
}

/** What the entry says beyond its name: "1.4 h in the air", "gross 2 431 g", "shown 12.1 % over LiCl". */
export function markDetail({ what, detail }: Pick<Mark, 'what' | 'detail'>): string {
  const said: string[] = []
  const push = (name: string, write: (v: number) => string): void => {
    const found = value(detail, name)
    if (found !== null) said.push(write(found))
  }
  if (what === 'flight') push('hours', (v) => `${hours(v)} in the air`)
  if (what === 'bake') {
    push('tempC', (v) => `at ${v} °C`)
    push('hours', (v) => `for ${hours(v)}`)
    push('beforeG', (v) => `${grams(v)} before`)
    push('afterG', (v) => `${grams(v)} after`)
  }
  if (what === 'beads') push('massG', (v) => `${grams(v)} dry`)
  if (what === 'weighing') push('grossG', (v) => `${grams(v)} with the jar`)
  if (what === 'salt-check') push('shownPct', (v) => `sensor showed ${humidity(v)}`)
  for (const name of ['salt', 'kind', 'jar', 'change', 'text']) {
    const found = detail[name]
    if (found) said.push(name === 'jar' ? `jar ${found}` : name === 'salt' ? `over ${found}` : found)
  }
  return said.join(', ')
}
