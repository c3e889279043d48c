import type { D1Database } from '@cloudflare/workers-types'
import type { PushService } from '../../peers/push-service.ts'

/** An invented hangar in the database: people with devices, rigs with alerts, as the check's batch would leave them. */
export type Hangar = ReturnType<typeof hangarIn>

export type DeviceChoice = {
  readonly person?: string
  readonly rigs?: readonly string[] | null
  readonly wants?: { readonly now?: boolean; readonly visit?: boolean; readonly note?: boolean }
  readonly quiet?: { readonly fromMin: number; readonly toMin: number; readonly forNow?: boolean }
}

export type AlertChoice = {
  readonly rig: string
  readonly rule?: string
  readonly urgency?: 'now' | 'visit' | 'note'
  readonly atS: number
}

export function hangarIn(db: D1Database, service: PushService, id = 'h1') {
  const rigKeys = new Map<string, number>()
  const run = (sql: string, ...values: unknown[]) =>
    db
      .prepare(sql)
      .bind(...values)
      .run()
  return {
    id,
    async build(people: readonly string[], rigs: readonly string[]) {
      await run('INSERT INTO hangar (id, name, made_at_s) VALUES (?1, ?2, 0)', id, `Row ${id}`)
      for (const person of people) {
        await run(
          "INSERT INTO person (id, name, zone, made_at_s) VALUES (?1, ?1, 'UTC', 0) ON CONFLICT DO NOTHING",
          person,
        )
        await run(
          "INSERT INTO member (hangar, person, role, since_s) VALUES (?1, ?2, 'watcher', 0)",
          id,
          person,
        )
      }
      for (const rig of rigs) {
        const row = await db
          .prepare(
            'INSERT INTO rig (public_id, hangar, slug, name, made_s) VALUES (?1, ?2, ?1, ?3, 0) RETURNING rig_id',
          )
          .bind(rig, id, `Rig ${rig}`)
          .first<{ rig_id: number }>()
        rigKeys.set(rig, row?.rig_id ?? 0)
        await run('INSERT INTO memory (rig_id, grid_s) VALUES (?1, 4000000000)', row?.rig_id)
      }
    },
    async device(device: string, choice: DeviceChoice = {}) {
      const to = service.subscribe()
      const wants = { now: true, visit: true, note: false, ...choice.wants }
      await run(
        `INSERT INTO device (id, person, name, origin, endpoint, p256dh, auth, rigs, wants_now, wants_visit,
           wants_note, quiet_from_min, quiet_to_min, is_quiet_for_now, made_at_s)
         VALUES (?1, ?2, ?1, 'https://dry.example', ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, 0)`,
        device,
        choice.person ?? 'ada',
        to.endpoint,
        to.p256dh,
        to.auth,
        choice.rigs ? JSON.stringify(choice.rigs) : null,
        wants.now ? 1 : 0,
        wants.visit ? 1 : 0,
        wants.note ? 1 : 0,
        choice.quiet?.fromMin ?? null,
        choice.quiet?.toMin ?? null,
        choice.quiet?.forNow ? 1 : 0,
      )
      return to
    },
    async raise(choice: AlertChoice) {
      const { rig, rule = 'no-drop', urgency = 'visit', atS } = choice
      const alert = `${rig}-${rule}-${atS}`
      await run(
        `INSERT INTO alert (public_id, rig_id, rule, raised_at_s, since_s, urgency, evidence)
         VALUES (?1, ?2, ?3, ?4, ?4, ?5, '{}')`,
        alert,
        rigKeys.get(rig),
        rule,
        atS,
        urgency,
      )
      await this.event(choice, 'raised', atS)
      return alert
    },
    async change(choice: AlertChoice, urgency: 'now' | 'visit' | 'note', atS: number) {
      await run(
        'UPDATE alert SET urgency = ?4 WHERE rig_id = ?1 AND rule = ?2 AND raised_at_s = ?3',
        rigKeys.get(choice.rig),
        choice.rule ?? 'no-drop',
        choice.atS,
        urgency,
      )
      await this.event({ ...choice, urgency }, 'changed', atS)
    },
    async end(choice: AlertChoice, atS: number) {
      await run(
        'UPDATE alert SET over_at_s = ?4 WHERE rig_id = ?1 AND rule = ?2 AND raised_at_s = ?3',
        rigKeys.get(choice.rig),
        choice.rule ?? 'no-drop',
        choice.atS,
        atS,
      )
      await this.event(choice, 'over', atS)
    },
    event(choice: AlertChoice, event: 'raised' | 'changed' | 'over', atS: number) {
      return run(
        `INSERT INTO alert_event (rig_id, rule, raised_at_s, at_s, event, urgency, since_s, evidence)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?3, '{}')`,
        rigKeys.get(choice.rig),
        choice.rule ?? 'no-drop',
        choice.atS,
        atS,
        event,
        choice.urgency ?? 'visit',
      )
    },
  }
}
