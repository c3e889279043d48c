import type { RuleName } from '../fold/outputs.ts'

/** Messages about silence to one device and hangar are said in one. */
export type Groupable = {
  readonly alert: string
  readonly device: string
  readonly hangar: string
  readonly rule: RuleName
  readonly rank: number
  readonly dueAtS: number
}

/**
 * Groups what can be said together, and puts the most urgent first: within a rank, the one that has waited longest.
 * Messages about one alert stay apart, each is its own.
 */
export function groupMessages<T extends Groupable>(waiting: readonly T[]): readonly (readonly T[])[] {
  const groups = new Map<string, T[]>()
  for (const [index, one] of waiting.entries()) {
    const name = one.rule === 'silent' ? `${one.device} ${one.hangar}` : `#${index}`
    const group = groups.get(name)
    if (group) group.push(one)
    else groups.set(name, [one])
  }
  const rankOf = (group: readonly T[]) => Math.min(...group.map((one) => one.rank))
  const dueOf = (group: readonly T[]) => Math.min(...group.map((one) => one.dueAtS))
  return [...groups.values()].sort((a, b) => rankOf(a) - rankOf(b) || dueOf(a) - dueOf(b))
}
