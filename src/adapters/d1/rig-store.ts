/** Rigs and their dated settings. */
import { publicId } from '../../core/ids/public-id.ts'
import type { DatedRigFile, RigFile, RigRow, RigStore } from '../../flows/ports.ts'
import { FIRST_SETTINGS_S } from '../../core/limits.ts'
import { rigKeyOf } from './rig-key.ts'
import { LEAVING, removeRigStep } from './rig-removal.ts'
import { rewindStatements } from './rewind.ts'
import type { Random } from './shard.ts'
import { parseStored } from './stored.ts'

export function rigStore(db: D1Database, shard: number, random: Random): RigStore {
  return {
    add: (rig) => addRig(db, publicId(shard, random), rig),
    ofHangar: async (hangar) => {
      const found = await db
        .prepare(`${RIG} WHERE hangar = ?1 AND deleting_at_s IS NULL ORDER BY name, rig_id`)
        .bind(hangar)
        .all<RigRecord>()
      return found.results.map(rigOf)
    },
    byId: async (id) => {
      const row = await db.prepare(`${RIG} WHERE public_id = ?1`).bind(id).first<RigRecord>()
      return row === null ? null : rigOf(row)
    },
    change: (id, change) => changeRig(db, id, change),
    settings: (id) => settingsOf(db, id),
    settingsOfHangar: (hangar) => settingsOfHangar(db, hangar),
    setSettings: async (id, change) => {
      const rig = await rigKeyOf(db, id)
      if (rig === null) return
      await db.batch([
        db
          .prepare(
            `INSERT INTO rig_settings (rig_id, from_s, settings) VALUES (?1, ?2, ?3)
             ON CONFLICT (rig_id, from_s) DO UPDATE SET settings = excluded.settings`,
          )
          .bind(rig, change.fromS, JSON.stringify(change.settings)),
        ...rewindStatements(db, rig, change.fromS),
      ])
    },
    removeSettings: async (id, fromS) => {
      const rig = await rigKeyOf(db, id)
      if (rig === null) return
      await db.batch([
        db
          .prepare('DELETE FROM rig_settings WHERE rig_id = ?1 AND from_s = ?2 AND from_s <> ?3')
          .bind(rig, fromS, FIRST_SETTINGS_S),
        ...rewindStatements(db, rig, fromS),
      ])
    },
    leaving: async (hangar, limit) => {
      const found = await db.prepare(LEAVING).bind(hangar, limit).all<{ public_id: string }>()
      return found.results.map((row) => row.public_id)
    },
    removeStep: (id, budget, nowS) => removeRigStep(db, { id, budget, nowS }),
  }
}

const RIG = 'SELECT rig_id, public_id, hangar, slug, name, made_s FROM rig'

type RigRecord = {
  rig_id: number
  public_id: string
  hangar: string
  slug: string
  name: string
  made_s: number
}

function rigOf(row: RigRecord): RigRow {
  return { id: row.public_id, hangar: row.hangar, slug: row.slug, name: row.name, madeS: row.made_s }
}

type NewRig = {
  readonly hangar: string
  readonly slug: string
  readonly name: string
  readonly settings: RigFile
  readonly nowS: number
}

async function addRig(db: D1Database, id: string, rig: NewRig): ReturnType<RigStore['add']> {
  const [added] = await db.batch([
    db
      .prepare(
        `INSERT INTO rig (public_id, hangar, slug, name, made_s) VALUES (?1, ?2, ?3, ?4, ?5)
         ON CONFLICT (hangar, slug) DO NOTHING RETURNING rig_id`,
      )
      .bind(id, rig.hangar, rig.slug, rig.name, rig.nowS),
    db
      .prepare(
        'INSERT INTO rig_settings (rig_id, from_s, settings) SELECT rig_id, ?2, ?3 FROM rig WHERE public_id = ?1',
      )
      .bind(id, FIRST_SETTINGS_S, JSON.stringify(rig.settings)),
    db.prepare('INSERT INTO memory (rig_id) SELECT rig_id FROM rig WHERE public_id = ?1').bind(id),
  ])
  if (added?.results.length !== 1) return { reason: 'slug_taken' }
  return { rig: { id, hangar: rig.hangar, slug: rig.slug, name: rig.name, madeS: rig.nowS } }
}

async function changeRig(
  db: D1Database,
  id: string,
  change: { readonly name?: string; readonly slug?: string },
): ReturnType<RigStore['change']> {
  const rig = await db.prepare(`${RIG} WHERE public_id = ?1`).bind(id).first<RigRecord>()
  if (rig === null) return 'none'
  const slug = change.slug ?? rig.slug
  const [done] = await db.batch([
    db
      .prepare(
        `UPDATE rig SET name = ?2, slug = ?3 WHERE rig_id = ?1
         AND NOT EXISTS (SELECT 1 FROM rig o WHERE o.hangar = ?4 AND o.slug = ?3 AND o.rig_id <> ?1) RETURNING rig_id`,
      )
      .bind(rig.rig_id, change.name ?? rig.name, slug, rig.hangar),
    db
      .prepare(
        `UPDATE source_key SET config_version = config_version + 1
         WHERE source_id IN (SELECT source_id FROM source_rig WHERE rig_id = ?1)`,
      )
      .bind(rig.rig_id),
  ])
  return done?.results.length === 1 ? 'done' : 'slug_taken'
}

async function settingsOf(db: D1Database, id: string): Promise<readonly DatedRigFile[]> {
  const found = await db
    .prepare(
      `SELECT t.from_s, t.settings FROM rig r JOIN rig_settings t ON t.rig_id = r.rig_id
       WHERE r.public_id = ?1 ORDER BY t.from_s`,
    )
    .bind(id)
    .all<{ from_s: number; settings: string }>()
  return found.results.map((row) => ({ fromS: row.from_s, settings: parseStored<RigFile>(row.settings) }))
}

async function settingsOfHangar(
  db: D1Database,
  hangar: string,
): Promise<ReadonlyMap<string, readonly DatedRigFile[]>> {
  const found = await db
    .prepare(
      `SELECT r.public_id, t.from_s, t.settings FROM rig r JOIN rig_settings t ON t.rig_id = r.rig_id
       WHERE r.hangar = ?1 AND r.deleting_at_s IS NULL ORDER BY r.rig_id, t.from_s`,
    )
    .bind(hangar)
    .all<{ public_id: string; from_s: number; settings: string }>()
  return Map.groupBy(
    found.results.map((row) => ({
      rig: row.public_id,
      fromS: row.from_s,
      settings: parseStored<RigFile>(row.settings),
    })),
    ({ rig }) => rig,
  )
}
