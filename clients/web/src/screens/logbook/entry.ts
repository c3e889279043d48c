/** An entry as it was typed: what is wrong with it, and what is sent. */
import type { LogEntry } from '../../shapes.ts'
import { numberWrong, readNumber } from '../../typed-number.ts'
import { fromLocalInput, ms, rfc3339, toLocalInput } from '../../when.ts'
import { wrongsOf, type Place, type Wrongs } from '../../wrongs.ts'
import { fromC, temperatureLabel, toC, type Ask, type Form } from './forms.ts'

type Given = Readonly<Record<string, string>>
type Typed = { form: Form; at: string; given: Given; nowMs: number }

/** An entry says what has happened; only how long it lasts may lie ahead. */
export function entryWrongs({ form, at, given, nowMs }: Typed): Wrongs {
  const atMs = fromLocalInput(at)
  const asks = form.asks.map((ask) => [
    ask.name,
    askWrong(ask, (given[ask.name] ?? '').trim(), { form, atMs }),
  ])
  return wrongsOf({ ...Object.fromEntries(asks), at: atWrong(atMs, nowMs) })
}

function atWrong(atMs: number | null, nowMs: number): string | null {
  if (atMs === null) return 'Give the day and the time.'
  return atMs > nowMs ? 'This lies ahead: enter it once it has happened.' : null
}

function askWrong(ask: Ask, text: string, entry: { form: Form; atMs: number | null }): string | null {
  if (ask.kind === 'number') return numberWrong(text, ask.unit)
  if (ask.kind === 'temperature') return numberWrong(text, temperatureLabel())
  if (ask.kind !== 'until' || text === '') return null
  const endMs = fromLocalInput(text)
  if (endMs === null) return 'Give the day and the time, or clear both.'
  return entry.atMs !== null && endMs <= entry.atMs ? `This has to be later than “${entry.form.at}”.` : null
}

/**
 * As the server wants it: text, degC, RFC 3339; what was left empty is left out. For what has nothing wrong. `startMs` is
 * what the time began with: left alone, it is that very instant. Of an `entry`
 * that is corrected everything else stays as it was: names that no field is for, seconds, digits that a field rounds, and
 * which of two equal hours in autumn it was.
 */
export function bodyOf(
  { form, at, given, startMs }: Omit<Typed, 'nowMs'> & { startMs: number },
  entry?: LogEntry,
): Pick<LogEntry, 'at' | 'what' | 'detail'> {
  const before = entry?.detail ?? {}
  const asked = new Set(form.asks.map(({ name }) => name))
  const detail = Object.fromEntries(Object.entries(before).filter(([name]) => !asked.has(name)))
  for (const ask of form.asks) {
    const typed = (given[ask.name] ?? '').trim()
    const was = before[ask.name] ?? ''
    const text = was !== '' && typed === shownText(ask, was) ? was : sentText(ask, typed)
    if (text !== '') detail[ask.name] = text
  }
  const isAsItBegan = at === toLocalInput(startMs)
  return { at: isAsItBegan ? rfc3339(startMs) : sentTime(at), what: form.what, detail }
}

/** A value of an entry as its field shows it: local times, the person's unit. */
export function shownText(ask: Ask, text: string): string {
  if (ask.kind === 'until') return toLocalInput(ms(text))
  if (ask.kind !== 'temperature') return text
  const tempC = readNumber(text)
  return tempC === null ? text : String(Number(fromC(tempC).toFixed(1)))
}

function sentText(ask: Ask, text: string): string {
  if (text === '') return ''
  if (ask.kind === 'until') return sentTime(text)
  if (ask.kind !== 'temperature' && ask.kind !== 'number') return text
  const number = readNumber(text)
  if (number === null) return text
  return ask.kind === 'temperature' ? toC(number).toFixed(1) : String(number)
}

/** What is no time goes as it was typed, and is refused. */
function sentTime(text: string): string {
  const atMs = fromLocalInput(text)
  return atMs === null ? text : rfc3339(atMs)
}

/** The field that stands for a place in the request. */
export function entryPlace(form: Form, pointer: string): Place | null {
  if (pointer === '/at') return { field: 'at' }
  const ask = form.asks.find((one) => pointer === `/detail/${one.name}`)
  if (!ask) return null
  return ask.kind === 'temperature' ? { field: ask.name, toShown: fromC } : { field: ask.name }
}
