import type { Runtime } from './runtime.ts'

/** The platform's cron trigger fires on the multiples of five minutes, and so does this. */
export const TICK_EVERY_S = 300
/**
 * How long after the last of a row of large posts the results are brought up to date. Between two posts of one
 * back-fill it would run ahead into a time that is not there yet, and have to go back.
 */
const CATCH_UP_AFTER_MS = 2500
/**
 * A post of this size or more, unzipped, is a back-fill, and its results are not left to the next tick: some 25 records,
 * two hours of a hub that was away. A live post is one record, and the settling time makes the next tick soon enough.
 */
const BACK_FILL_FROM_BYTES = 2000
/** Passes over what is behind, in one go: 200 of 5,000 readings a rig are nine years of five-minute readings. */
const CATCH_UP_PASSES_MAX = 200

/**
 * Stands in for the platform's schedule. It runs once at the start, at every multiple of five minutes, and soon
 * after a back-fill again and again until no rig is behind.
 */
export function startSchedule(runtime: Runtime, { onError }: { onError: (error: unknown) => void }) {
  let cron: NodeJS.Timeout | null = null
  let catchUp: NodeJS.Timeout | null = null
  let isStopped = false
  // One at a time, in order: a second run of the same tick would only find the work done.
  let running: Promise<unknown> = Promise.resolve()
  const queue = (work: () => Promise<void>) => {
    running = running.then(() => (isStopped ? undefined : work())).catch(onError)
    return running
  }
  const runUntilEven = () => queue(() => tickUntilEven(runtime, () => isStopped))
  const waitForNext = () => {
    cron = setTimeout(
      () => {
        void queue(() => runtime.tick(lastTickS()))
        waitForNext()
      },
      (lastTickS() + TICK_EVERY_S) * 1000 - Date.now() + 50,
    )
  }
  waitForNext()
  return {
    runUntilEven,
    posted: (bytes: number | null, status: number) => {
      if (status !== 200 || (bytes !== null && bytes < BACK_FILL_FROM_BYTES)) return
      if (catchUp) clearTimeout(catchUp)
      catchUp = setTimeout(() => void runUntilEven(), CATCH_UP_AFTER_MS)
    },
    stop: async () => {
      isStopped = true
      if (cron) clearTimeout(cron)
      if (catchUp) clearTimeout(catchUp)
      await running
    },
  }
}

function lastTickS(): number {
  return Math.floor(Date.now() / 1000 / TICK_EVERY_S) * TICK_EVERY_S
}

async function tickUntilEven(runtime: Runtime, isStopped: () => boolean): Promise<void> {
  for (let pass = 0; pass < CATCH_UP_PASSES_MAX && !isStopped(); pass++) {
    await runtime.tick(lastTickS())
    const row = await runtime.queryFirst('SELECT behind FROM schedule WHERE one = 1')
    if (row?.['behind'] === 0) return
  }
}
