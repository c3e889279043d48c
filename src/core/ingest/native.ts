/** Records under their native names: an object, a list of objects, or `{"readings": [...]}`. */
import type { FindResult, Unfit } from './found.ts'
import { NATIVE_TERMS } from './found.ts'
import type { RawRecord } from './reading-record.ts'

export const NATIVE_NAMES = ['at', 'humidity', 'temperature', 'pump', 'power', 'place', 'rig'] as const

const NOT_A_RECORD: Unfit = { pointer: '', reason: 'not_a_record', detail: 'not an object' }

export function findNative(body: unknown, readAs: string): FindResult {
  if (Array.isArray(body)) return fromList(body, readAs)
  if (!isObject(body)) return nothingFound('the body is no object and no list of objects')
  if (Object.hasOwn(body, 'readings')) {
    const list = body['readings']
    if (Array.isArray(list)) return fromList(list, readAs)
    return nothingFound('"readings" is not a list', '/readings')
  }
  if (!NATIVE_NAMES.some((name) => Object.hasOwn(body, name)))
    return nothingFound(`none of the names ${NATIVE_NAMES.join(', ')} is in it: give the source a recipe`)
  return { readAs, records: [pick(body)], terms: NATIVE_TERMS }
}

function fromList(list: readonly unknown[], readAs: string): FindResult {
  if (list.length === 0) return nothingFound('the list is empty')
  return {
    readAs,
    records: list.map((item) => (isObject(item) ? pick(item) : NOT_A_RECORD)),
    terms: NATIVE_TERMS,
  }
}

/** Plain access is safe: what JSON.parse made has own properties only, and no native name is on the prototype. */
function pick(item: Readonly<Record<string, unknown>>): RawRecord {
  return {
    at: item['at'],
    humidity: item['humidity'],
    temperature: item['temperature'],
    pump: item['pump'],
    power: item['power'],
    place: item['place'],
    rig: item['rig'],
  }
}

function nothingFound(detail: string, pointer = ''): FindResult {
  return { problem: 'no_record', detail, errors: [{ pointer, detail }] }
}

export function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value)
}
