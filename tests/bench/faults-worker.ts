import { parentPort } from 'node:worker_threads'
import { runFills } from './fill-runs.ts'
import { runRig } from './fault-runs.ts'

export type Task =
  | { readonly kind: 'rig'; readonly seed: number; readonly days: number; readonly only: string | null }
  | { readonly kind: 'fills'; readonly seed: number; readonly days: number }

parentPort?.on('message', (task: Task) => {
  // oxlint-disable-next-line unicorn/require-post-message-target-origin -- a worker thread has no origin
  parentPort?.postMessage(task.kind === 'rig' ? runRig(task) : runFills(task))
})
