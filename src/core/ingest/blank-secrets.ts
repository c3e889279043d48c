/**
 * Takes secrets out of a post before it is kept and shown. Hubs put keys and passwords into bodies; nobody needs to see
 * them to mend a recipe. The shape of the text stays, so that it can still be read and replayed: what the recipe reads
 * is no secret, whatever its name, and a bare `key` is what hubs call a device or a sensor.
 */
import type { Recipe } from './recipe.ts'

const NAMES =
  '[\\w-]*(?:password|passwd|secret|token|api[_-]?key|access[_-]?key|auth(?:orization)?|credential)[\\w-]*|pass|pwd'
/** `"password": "..."`, `token=...`: the names hubs and people give to secrets. */
const JSON_SECRET = new RegExp(`"(${NAMES})"(\\s*:\\s*)"(?:[^"\\\\]|\\\\.)*"`, 'gi')
const FORM_SECRET = new RegExp(`(^|[&?\\s])(${NAMES})=[^&\\s"']*`, 'gi')
/** A source key wherever it stands. */
const OWN_KEY = /bead_[a-km-np-z2-9]{60}/g

export function blankSecrets(text: string, recipe: Recipe | null): string {
  const read = namesRead(recipe)
  return text
    .replace(OWN_KEY, '***')
    .replace(JSON_SECRET, (all: string, name: string, colon: string) =>
      read.has(name) ? all : `"${name}"${colon}"***"`,
    )
    .replace(FORM_SECRET, (all: string, before: string, name: string) =>
      read.has(name) ? all : `${before}${name}=***`,
    )
}

/** The last steps of all pointers to values. */
function namesRead(recipe: Recipe | null): ReadonlySet<string> {
  if (recipe === null) return new Set()
  const { at, humidity, temperature, power, pump, rig, place } = recipe
  return new Set(
    [at, humidity, temperature, power, pump, rig, place].flatMap((from) =>
      from === null || typeof from === 'string' ? [] : from.steps.slice(-1),
    ),
  )
}
