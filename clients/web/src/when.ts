/** Times as people write them, in the person's own zone. */
import { signal } from '@preact/signals'

const deviceZone = Intl.DateTimeFormat('en').resolvedOptions().timeZone
export const zone = signal(deviceZone)
/** Day before month in most of the world, and never a number for a month: "24 Nov" cannot be misread. */
const locale = 'en-GB'

const formats = new Map<string, Intl.DateTimeFormat>()
function format(name: string, options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const key = `${name} ${zone.value}`
  const found = formats.get(key)
  if (found) return found
  const made = new Intl.DateTimeFormat(locale, { ...options, timeZone: zone.value })
  formats.set(key, made)
  return made
}

const hm = { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' } as const

/** "06:10" */
export function clock(atMs: number): string {
  return format('clock', hm).format(atMs)
}

function dayOf(atMs: number): { number: number; year: number } {
  const parts = format('ymd', { year: 'numeric', month: '2-digit', day: '2-digit' }).formatToParts(atMs)
  const part = (type: string): number => Number(parts.find((p) => p.type === type)?.value)
  const year = part('year')
  return { number: Date.UTC(year, part('month') - 1, part('day')) / 86_400_000, year }
}

/** "today", "yesterday", "Tue 17 Nov" or, in another year, "3 Feb 2025": a day without its year is one of this year. */
export function day(atMs: number, nowMs: number = Date.now()): string {
  const [now, then] = [dayOf(nowMs), dayOf(atMs)]
  const daysBack = now.number - then.number
  if (daysBack === 0) return 'today'
  if (daysBack === 1) return 'yesterday'
  if (daysBack === -1) return 'tomorrow'
  if (now.year === then.year)
    return format('day', { weekday: 'short', day: 'numeric', month: 'short' }).format(atMs).replace(',', '')
  return format('dayYear', { day: 'numeric', month: 'short', year: 'numeric' }).format(atMs)
}

/** "today 06:10", "Tue 17 Nov 06:10" */
export function moment(atMs: number, nowMs: number = Date.now()): string {
  return `${day(atMs, nowMs)} ${clock(atMs)}`
}

/** "24 November 2026", for a page that is printed and read years later. */
export function fullDate(atMs: number): string {
  return format('full', { day: 'numeric', month: 'long', year: 'numeric' }).format(atMs)
}

/** The same of a day that is counted in UTC, whatever the person's zone: west of it its midnight is the evening before. */
export function utcDate(atS: number): string {
  return new Intl.DateTimeFormat(locale, {
    day: 'numeric',
    month: 'long',
    year: 'numeric',
    timeZone: 'UTC',
  }).format(atS * 1000)
}

/** "24 November 2026, 06:10", for the same page. */
export function fullMoment(atMs: number): string {
  return `${fullDate(atMs)}, ${clock(atMs)}`
}

/** "24 Nov" */
export function shortDate(atMs: number): string {
  return format('short', { day: 'numeric', month: 'short' }).format(atMs)
}

/** "2 minutes ago", "3 hours ago", "5 days ago": coarse on purpose, it only has to be believed. */
export function ago(atMs: number, nowMs: number = Date.now()): string {
  const seconds = Math.max(0, (nowMs - atMs) / 1000)
  if (seconds < 60) return 'just now'
  return `${span(seconds)} ago`
}

/** "2 minutes", "3 hours", "5 days" */
export function span(seconds: number): string {
  const minutes = Math.round(seconds / 60)
  if (minutes < 90) return plural(minutes, 'minute')
  const hours = Math.round(minutes / 60)
  if (hours < 48) return plural(hours, 'hour')
  const days = Math.round(hours / 24)
  if (days < 60) return plural(days, 'day')
  return plural(Math.round(days / 30.4), 'month')
}

export function plural(count: number, one: string, many: string = `${one}s`): string {
  return `${count} ${count === 1 ? one : many}`
}

const words = [
  'no',
  'one',
  'two',
  'three',
  'four',
  'five',
  'six',
  'seven',
  'eight',
  'nine',
  'ten',
  'eleven',
  'twelve',
]
/** Small counts as words: they start sentences. */
export function countWord(count: number): string {
  return words[count] ?? String(count)
}
export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1)
}

/** For `<input type="datetime-local">` in the person's zone: "2026-11-24T06:10". */
export function toLocalInput(atMs: number): string {
  const parts = format('input', {
    year: 'numeric',
    month: '2-digit',
    day: '2-digit',
    hour: '2-digit',
    minute: '2-digit',
    hourCycle: 'h23',
  }).formatToParts(atMs)
  const part = (type: string): string => parts.find((p) => p.type === type)?.value ?? ''
  return `${part('year')}-${part('month')}-${part('day')}T${part('hour')}:${part('minute')}`
}

/**
 * The instant that local clock reading means in the person's zone, ms; the first of two in the repeated autumn hour.
 * `null` for a field that was cleared or half filled in.
 */
export function fromLocalInput(text: string): number | null {
  if (!/^\d{4}-\d\d-\d\dT\d\d:\d\d$/.test(text)) return null
  const asUtc = Date.parse(`${text}:00Z`)
  if (Number.isNaN(asUtc)) return null
  let guess = asUtc
  for (let i = 0; i < 3; i++) guess -= Date.parse(`${toLocalInput(guess)}:00Z`) - asUtc
  return clockBackMs.map((backMs) => guess - backMs).find((atMs) => toLocalInput(atMs) === text) ?? guess
}

/** By how much clocks are put back in autumn: an hour, on Lord Howe Island half of one. */
const clockBackMs = [3_600_000, 1_800_000]

export const ms = (text: string): number => Date.parse(text)
export const rfc3339 = (atMs: number): string => `${new Date(atMs).toISOString().slice(0, 19)}Z`
