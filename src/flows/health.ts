/** Is the schedule running? The answer a monitor asks for, cheap enough to be asked by anybody. */
import { HEALTH_CACHE_S, SCHEDULE_STALE_S } from '../core/limits.ts'

export type HealthPort = {
  /** When the schedule last ran to its end, in the database where that is longest ago; `null`: never. One row each. */
  readonly checkedAtS: () => Promise<number | null>
  readonly forHost: (nowS: number) => Promise<HostHealth>
}

export type HostHealth = {
  readonly shards: number
  /** Rigs left alone for an hour because their data made the analysis throw. */
  readonly rigsSetBack: number
  /** Rigs that have more to catch up. */
  readonly rigsBehind: number
  readonly deliveriesWaiting: number
  /** Due for more than an hour: something is in their way. */
  readonly deliveriesOverdue: number
  /** Devices whose push service does not accept our key or our requests: the host's to mend. */
  readonly devicesRefused: number
  /** What went wrong today and yesterday (UTC), by its word. */
  readonly errors: Readonly<Record<string, number>>
}

export type Health = { readonly isOk: boolean; readonly checkedAtS: number | null }

export function healthAt(checkedAtS: number | null, nowS: number): Health {
  return { isOk: checkedAtS !== null && nowS - checkedAtS <= SCHEDULE_STALE_S, checkedAtS }
}

/** Remembers the one row for `HEALTH_CACHE_S`, so that a monitor, or a crowd of them, costs next to nothing. */
export function cachedHealth(port: HealthPort): HealthPort {
  let kept: { readonly atMs: number; readonly checkedAtS: number | null } | null = null
  return {
    forHost: port.forHost,
    checkedAtS: async () => {
      const nowMs = Date.now()
      if (kept !== null && nowMs - kept.atMs < HEALTH_CACHE_S * 1000) return kept.checkedAtS
      kept = { atMs: nowMs, checkedAtS: await port.checkedAtS() }
      return kept.checkedAtS
    },
  }
}
