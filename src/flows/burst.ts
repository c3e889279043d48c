/**
 * How an isolate asks the limiter. That is another round trip, and the answer is nearly always yes: so it is asked once
 * for a handful of posts, and while it is asked the post of a source that was quiet goes on; a no counts for the next
 * one. A noisy hub gets as many posts through as it has under way at once, and no more.
 */
import { BURST_HANDFUL, SOURCE_CACHE_MAX } from '../core/limits.ts'

export type BurstGate = {
  /** Waits for the limiter only if the source was over its limit when it was last asked. */
  readonly ask: (
    source: string,
    nowS: number,
  ) => Promise<{ readonly isOver: boolean; readonly asked: Promise<void> }>
}

type Known = { isLoud: boolean; turns: number; untilS: number }

const MINUTE_S = 60
const NOT_ASKED = { isOver: false, asked: Promise.resolve() }

/** `isWithin`: may this source send `BURST_HANDFUL` more posts this minute? One that does not answer limits nothing. */
export function burstGate(isWithin: (source: string) => Promise<boolean>): BurstGate {
  const known = new Map<string, Known>()
  const note = async (source: string, nowS: number): Promise<boolean> => {
    const isLetIn = await isWithin(source).catch(() => true)
    // Forgetting costs a question, no more.
    if (known.size >= SOURCE_CACHE_MAX) known.clear()
    known.set(source, {
      isLoud: !isLetIn,
      turns: isLetIn ? BURST_HANDFUL - 1 : 0,
      untilS: nowS + MINUTE_S,
    })
    return isLetIn
  }
  return {
    ask: async (source, nowS) => {
      const entry = known.get(source)
      if (entry !== undefined && entry.turns > 0 && nowS < entry.untilS) {
        entry.turns -= 1
        return NOT_ASKED
      }
      const answer = note(source, nowS)
      const isOver = entry?.isLoud === true && !(await answer)
      return { isOver, asked: answer.then(() => undefined) }
    },
  }
}
