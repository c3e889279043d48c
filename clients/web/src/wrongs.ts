/** What is wrong with a form: beside the field that it belongs to, and what belongs to none above the button. */
import type { PlaceProblem, Problem } from './request.ts'
import { capital } from './when.ts'

/** By the field's name, in words. */
export type Wrongs = Readonly<Record<string, string>>

/** The field that stands for a place in the request. */
export type Place = {
  field: string
  /** What its numbers are about, where that is more than the field: "The loop has to be". */
  about?: string
  /** The server's number in the field's unit, where that is another. */
  toShown?: (value: number) => number
}
export type PlaceOf = (pointer: string) => Place | null

/** Leaves out what is in order. */
export function wrongsOf(checked: Readonly<Record<string, string | null>>): Wrongs {
  const wrongs: Record<string, string> = {}
  for (const [field, wrong] of Object.entries(checked)) if (wrong !== null) wrongs[field] = wrong
  return wrongs
}

/** The server's complaints at their fields; `problem` is what is left of them. */
export function sortOut(problem: Problem, placeOf: PlaceOf): { wrongs: Wrongs; problem: Problem | null } {
  if (problem.kind !== 'refused' || problem.errors.length === 0) return { wrongs: {}, problem }
  const wrongs: Record<string, string> = {}
  const rest: PlaceProblem[] = []
  for (const error of problem.errors) {
    const place = error.pointer === null ? null : placeOf(error.pointer)
    if (place === null) rest.push(error)
    else wrongs[place.field] ??= sentenceOf(error, place)
  }
  return { wrongs, problem: rest.length === 0 ? null : { ...problem, errors: rest } }
}

function sentenceOf({ detail, range }: PlaceProblem, { about, toShown }: Place): string {
  if (range === undefined) return `${capital(detail).replace(/\.$/, '')}.`
  const [least, most] = [range.min, range.max].map((value) => Number((toShown?.(value) ?? value).toFixed(2)))
  return `${about ?? 'This has to be'} from ${least} to ${most}.`
}
