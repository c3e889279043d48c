/**
 * Simulated rigs of all kinds, healthy and broken, through the very analysis of the scheduled job.
 * `npm run bench:faults -- [--rigs 200] [--seed 1] [--days 120] [--fault NAME] [--fills 40] [--bare] [--model own|other] [--details]`
 */
import { parseArgs } from 'node:util'
import { Worker } from 'node:worker_threads'
import type { Task } from './faults-worker.ts'
import type { FillsResult } from './fill-runs.ts'
import type { RigResult } from './fault-runs.ts'
import { type Model, MODELS } from './simulated.ts'
import { printFills, printRigs } from './faults-report.ts'

const { values } = parseArgs({
  options: {
    rigs: { type: 'string', default: '200' },
    seed: { type: 'string', default: '1' },
    days: { type: 'string', default: '120' },
    fault: { type: 'string' },
    fills: { type: 'string', default: '40' },
    'fill-days': { type: 'string', default: '420' },
    model: { type: 'string', default: 'own' },
    bare: { type: 'boolean', default: false },
    details: { type: 'boolean', default: false },
    threads: { type: 'string', default: '2' },
  },
})

const model = MODELS.find((name) => name === values.model)
if (model === undefined) throw new RangeError(`--model is ${MODELS.join(' or ')}, not ${values.model}`)

function tasks(of: Model): Task[] {
  const first = Number(values.seed)
  const rigs = Array.from({ length: Number(values.rigs) }, (_, i) => ({
    kind: 'rig' as const,
    model: of,
    seed: first + i,
    days: Number(values.days),
    only: values.fault ?? null,
  }))
  const fills = Array.from({ length: Number(values.fills) }, (_, i) => ({
    kind: 'fills' as const,
    model: of,
    seed: first + 10_000 + i,
    days: Number(values['fill-days']),
    isBare: values.bare,
  }))
  return [...fills, ...rigs]
}

/** Hands the tasks out one by one, so that a long one does not hold up a half. */
async function runAll(todo: Task[]): Promise<(RigResult | FillsResult)[]> {
  const results: (RigResult | FillsResult)[] = []
  const total = todo.length
  const next = (worker: Worker) => {
    const task = todo.shift()
    if (task === undefined) void worker.terminate()
    // oxlint-disable-next-line unicorn/require-post-message-target-origin -- a worker thread has no origin
    else worker.postMessage(task)
  }
  const runOne = async () => {
    const worker = new Worker(new URL('faults-worker.ts', import.meta.url))
    await new Promise<void>((resolve, reject) => {
      worker.on('message', (result: RigResult | FillsResult) => {
        results.push(result)
        if (process.stderr.isTTY) process.stderr.write(`\r${results.length} of ${total} rigs`)
        next(worker)
      })
      worker.on('error', reject)
      worker.on('exit', () => resolve())
      next(worker)
    })
  }
  await Promise.all(Array.from({ length: Math.min(Number(values.threads), total) }, runOne))
  return results
}

const startedMs = performance.now()
const results = await runAll(tasks(model))
const rigs = results
  .filter((result): result is RigResult => 'faults' in result)
  .sort((a, b) => a.seed - b.seed)
const fills = results
  .filter((result): result is FillsResult => 'fills' in result)
  .sort((a, b) => a.seed - b.seed)
if (rigs.length > 0) printRigs(rigs, values.details)
if (fills.length > 0) printFills(fills, values.details)
console.log(`\n${((performance.now() - startedMs) / 1000).toFixed(0)} s`)
