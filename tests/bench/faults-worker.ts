import { parentPort } from 'node:worker_threads'
import { type FillOptions, runFills } from './fill-runs.ts'
import { type RunOptions, runRig } from './fault-runs.ts'

export type Task = ({ readonly kind: 'rig' } & RunOptions) | ({ readonly kind: 'fills' } & FillOptions)

parentPort?.on('message', (task: Task) => {
  // oxlint-disable-next-line unicorn/require-post-message-target-origin -- a worker thread has no origin
  parentPort?.postMessage(task.kind === 'rig' ? runRig(task) : runFills(task))
})
