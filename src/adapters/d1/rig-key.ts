/** The integer key of a rig; `null` if there is none of that id. */
export async function rigKeyOf(db: D1Database, id: string): Promise<number | null> {
  return db.prepare('SELECT rig_id FROM rig WHERE public_id = ?1').bind(id).first<number>('rig_id')
}
