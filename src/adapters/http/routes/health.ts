import { HEALTH_CACHE_S } from '../../../core/limits.ts'
import { healthAt } from '../../../flows/health.ts'
import type { App } from '../context.ts'
import { healthOperations } from '../schemas/health.ts'
import { serve } from '../serve.ts'
import { timeOrNull } from '../time.ts'

export function serveHealth(app: App): void {
  serve(app, healthOperations.readHealth, async ({ caller, ports, nowS, context }) => {
    const { isOk, checkedAtS } = healthAt(await ports.health.checkedAtS(), nowS)
    const isHost = caller.kind === 'host'
    const host = isHost ? { host: await ports.health.forHost(nowS) } : {}
    const answer = { ok: isOk, checkedAt: timeOrNull(checkedAtS), ...host }
    const cache = isHost ? 'no-store' : `public, max-age=${HEALTH_CACHE_S}`
    return context.json(answer, isOk ? 200 : 503, { 'cache-control': cache })
  })
}
