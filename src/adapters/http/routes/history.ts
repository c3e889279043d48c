/** Results from before a rig was brought here. */
import { takeHistory } from '../../../flows/history.ts'
import type { App } from '../context.ts'
import { refuse } from '../problem.ts'
import { historyOperations as operations } from '../schemas/history.ts'
import { serve } from '../serve.ts'
import { shardOf } from '../shard.ts'
import { secondsOf } from '../time.ts'

export function serveHistory(app: App): void {
  serve(app, operations.bringHistory, async ({ params, ports, body, nowS }) => {
    const { readingsFrom, checkedTo, ...rows } = body
    const readingsFromS = Math.min(secondsOf(readingsFrom), nowS)
    const reachedS = Math.min(secondsOf(checkedTo), nowS)
    const { history } = shardOf(ports, params.rig)
    const isTaken = await takeHistory(history, params.rig, { readingsFromS, reachedS, ...rows })
    return isTaken
      ? { isTaken }
      : refuse('conflict', { detail: 'This rig has been checked already: its past is told here.' })
  })
}
