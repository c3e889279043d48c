/** JSON Pointer, RFC 6901: own properties and array elements only, so that no prototype is ever reached. */

/** The unescaped steps; `null` if the text is no JSON Pointer. */
export function parsePointer(text: string): readonly string[] | null {
  if (text === '') return []
  if (!text.startsWith('/') || /~(?![01])/.test(text)) return null
  return text
    .slice(1)
    .split('/')
    .map((step) => step.replaceAll('~1', '/').replaceAll('~0', '~'))
}

/** The value that the steps lead to; `undefined` if there is none. */
export function resolvePointer(document: unknown, steps: readonly string[]): unknown {
  let value = document
  for (const step of steps) {
    if (Array.isArray(value)) {
      if (!/^(?:0|[1-9]\d{0,8})$/.test(step)) return undefined
      value = value[Number(step)] as unknown
    } else if (typeof value === 'object' && value !== null && Object.hasOwn(value, step)) {
      value = Reflect.get(value, step)
    } else {
      return undefined
    }
  }
  return value
}

/** As it stands in a pointer. */
export function escapeStep(step: string): string {
  return step.replaceAll('~', '~0').replaceAll('/', '~1')
}
