/** What the posts of a source are read by: its key, recipe, rigs, their bands and whether they are logged off. */
import type { Recipe } from '../../core/ingest/recipe.ts'
import { readRecipe } from '../../core/ingest/recipe.ts'
import { readRigFile } from '../../core/rig-file/rig-file.ts'
import type { SourceConfig, SourceRig } from '../../flows/ingest-ports.ts'
import { parseStored, rowsOf } from './stored.ts'

type SourceRecord = {
  source_id: number
  public_id: string
  config_version: number
  is_key_in_query: number
  recipe: string | null
  recipe_version: number
  day_s: number
  day_rows: number
  good_kept_s: number
  watched_until_s: number
}

const COLUMNS = `
  s.source_id, s.public_id, s.is_key_in_query, p.recipe, s.recipe_version, s.day_s, s.day_rows, s.good_kept_s,
  s.watched_until_s`

const SOURCE = `
  SELECT ${COLUMNS}, k.config_version
  FROM source_key k
  JOIN source s ON s.source_id = k.source_id
  LEFT JOIN recipe p ON p.source_id = s.source_id AND p.version = s.recipe_version
  WHERE k.key_hash = ?1 AND k.revoked_s IS NULL`

/** Without a key there is no version to hold on to: nobody caches this one. */
const SOURCE_BY_ID = `
  SELECT ${COLUMNS}, 0 AS config_version
  FROM source s LEFT JOIN recipe p ON p.source_id = s.source_id AND p.version = s.recipe_version
  WHERE s.public_id = ?1`

/** The settings that hold now, and the last word of the logbook on whether the rig is on. */
const rigsOf = (source: string): string => `
  SELECT r.rig_id, r.slug,
    (SELECT settings FROM rig_settings t WHERE t.rig_id = r.rig_id
      ORDER BY t.from_s > ?2, CASE WHEN t.from_s > ?2 THEN t.from_s ELSE -t.from_s END LIMIT 1) AS settings,
    (SELECT what FROM logbook l WHERE l.rig_id = r.rig_id AND l.at_s <= ?2 AND l.what IN ('on', 'off')
      ORDER BY l.at_s DESC, l.entry_id DESC LIMIT 1) AS last_switch
  FROM ${source}
  JOIN source_rig sr ON sr.source_id = k.source_id
  JOIN rig r ON r.rig_id = sr.rig_id
  ORDER BY r.rig_id`

const RIGS = rigsOf('(SELECT source_id FROM source_key WHERE key_hash = ?1) k')
const RIGS_BY_ID = rigsOf('(SELECT source_id FROM source WHERE public_id = ?1) k')

/** An isolate may come with what it counted of a day that is over: nothing of the new day is lost for it. */
const ADD_TO_DAY = `
  UPDATE source SET day_rows = CASE WHEN day_s = ?2 THEN day_rows ELSE 0 END + ?3, day_s = ?2
  WHERE source_id = ?1 AND day_s <= ?2`

export async function loadConfig(
  db: D1Database,
  ask: {
    readonly keyHash: string
    readonly count: { readonly sourceKey: number; readonly dayS: number; readonly rows: number } | null
    readonly nowS: number
  },
): Promise<SourceConfig | null> {
  const { keyHash, count, nowS } = ask
  const statements = [db.prepare(SOURCE).bind(keyHash), db.prepare(RIGS).bind(keyHash, nowS)]
  if (count !== null) statements.unshift(db.prepare(ADD_TO_DAY).bind(count.sourceKey, count.dayS, count.rows))
  const answers = await db.batch(statements)
  const [sources, rigs] = answers.slice(-2)
  return configFrom(sources, rigs)
}

/** By the source's public id, whatever keys it has. */
export async function loadConfigOf(
  db: D1Database,
  source: string,
  nowS: number,
): Promise<SourceConfig | null> {
  const [sources, rigs] = await db.batch([
    db.prepare(SOURCE_BY_ID).bind(source),
    db.prepare(RIGS_BY_ID).bind(source, nowS),
  ])
  return configFrom(sources, rigs)
}

function configFrom(sources: D1Result | undefined, rigs: D1Result | undefined): SourceConfig | null {
  const source = rowsOf<SourceRecord>(sources)[0]
  if (source === undefined) return null
  return {
    sourceKey: source.source_id,
    id: source.public_id,
    version: source.config_version,
    isKeyInQuery: source.is_key_in_query === 1,
    recipe: source.recipe === null ? null : recipeOf(source.recipe),
    recipeVersion: source.recipe_version,
    rigs: rowsOf<RigRecord>(rigs).map(rigOf),
    dayS: source.day_s,
    dayRows: source.day_rows,
    goodKeptS: source.good_kept_s,
    watchedUntilS: source.watched_until_s,
  }
}

/** Checked when it was saved. One that an older version let pass and this one does not is an error to be seen. */
function recipeOf(text: string): Recipe {
  const read = readRecipe(parseStored<unknown>(text))
  if (!read.ok) throw new Error(`a saved recipe cannot be read: ${read.problems[0]?.pointer ?? ''}`)
  return read.recipe
}

type RigRecord = { rig_id: number; slug: string; settings: string | null; last_switch: string | null }

function rigOf(row: RigRecord): SourceRig {
  const file = readRigFile(row.settings === null ? null : JSON.parse(row.settings))
  if (!file.ok) throw new Error(`settings of rig ${row.rig_id} cannot be read: ${file.problems[0]?.pointer}`)
  return { key: row.rig_id, slug: row.slug, band: file.settings.band, isOff: row.last_switch === 'off' }
}
