/**
 * A simulated sensor hub: a rig that does not exist, seen by a hub that posts like a real one.
 *   npm run -s hub -- --key KEY [options]
 */
import { parseArgs } from 'node:util'
import { typicalPlan, type FaultKind, type RigPlan } from '../../src/core/rig/plan.ts'
import { advanceRig, type RigOutput } from '../../src/core/rig/simulate.ts'
import { startRig } from '../../src/core/rig/state.ts'
import { BODY_KINDS, recipeFor, type BodyKind } from './encode.ts'
import { retryBuffer, type RetryBuffer } from './retry-buffer.ts'

const usage = `usage: npm run -s hub -- --key KEY [options]
  --url URL         the service (http://localhost:8787)
  --rig SLUG        named in each record, where a source serves several rigs
  --body KIND       ${BODY_KINDS.join(', ')} (native); \`--print-recipe\` shows the recipe for kind recipe
  --gzip            compress each post
  --every S         seconds between readings (300)
  --days N          begin N days ago (0); the past is posted as fast as the service takes it
  --speed N         N simulated seconds a second from there on (1: real time)
  --until-now       stop when the present is reached
  --outage H/P      the line is down for H hours in every P, e.g. 2/24; what was measured is sent afterwards
  --fault KIND[:N]  pump-dead, supply-off, cap-off:L/h, return-off, stuck-on, stuck-off, frozen, leak:times, silent
  --fault-after H   the fault begins H hours after the start (0)
  --seed N          another engine, hangar and weather (1)`

const DAY_S = 86_400

async function main(): Promise<void> {
  const { values } = parseArgs({
    options: {
      url: { type: 'string', default: 'http://localhost:8787' },
      key: { type: 'string' },
      rig: { type: 'string' },
      body: { type: 'string', default: 'native' },
      gzip: { type: 'boolean', default: false },
      every: { type: 'string', default: '300' },
      days: { type: 'string', default: '0' },
      speed: { type: 'string', default: '1' },
      'until-now': { type: 'boolean', default: false },
      outage: { type: 'string' },
      fault: { type: 'string' },
      'fault-after': { type: 'string', default: '0' },
      seed: { type: 'string', default: '1' },
      'print-recipe': { type: 'boolean', default: false },
    },
  })
  const rig = values.rig ?? null
  if (values['print-recipe']) return console.log(JSON.stringify(recipeFor(rig), null, 2))
  if (values.key === undefined) throw new Error(`--key is missing\n${usage}`)
  const nowS = Math.floor(Date.now() / 1000)
  const startS = nowS - (nowS % 60) - Math.round(number('days', values.days) * DAY_S)
  const plan = planFor({ values, startS })
  const buffer = retryBuffer(
    { origin: new URL(values.url).origin, key: values.key },
    { kind: readKind(values.body), rig, isZipped: values.gzip },
  )
  await run(plan, buffer, {
    speed: number('speed', values.speed),
    isEndingNow: values['until-now'],
    isDown: outage(values.outage, startS),
  })
  console.log(JSON.stringify(buffer.tally))
}

type Values = Readonly<Record<'seed' | 'every' | 'fault-after', string>> & {
  readonly fault?: string | undefined
}

function planFor({ values, startS }: { values: Values; startS: number }): RigPlan {
  const plan = typicalPlan(number('seed', values.seed), startS)
  const hub = { ...plan.hub, everyS: number('every', values.every) }
  if (values.fault === undefined) return { ...plan, hub }
  const [name = '', size = '1'] = values.fault.split(':')
  const kind = faultKinds.find((each) => each === name)
  if (kind === undefined) throw new Error(`--fault ${name} is none of ${faultKinds.join(', ')}`)
  const fromS = startS + 3600 * number('fault-after', values['fault-after'])
  return {
    ...plan,
    hub,
    faults: [{ kind, size: number('fault', size), fromS, untilS: Number.MAX_SAFE_INTEGER }],
  }
}

const faultKinds: readonly FaultKind[] = [
  'pump-dead',
  'supply-off',
  'cap-off',
  'return-off',
  'stuck-off',
  'stuck-on',
  'silent',
  'frozen',
  'leak',
  'suction-leak',
  'shift',
]

function readKind(text: string): BodyKind {
  const kind = BODY_KINDS.find((each) => each === text)
  if (kind === undefined) throw new Error(`--body ${text} is none of ${BODY_KINDS.join(', ')}`)
  return kind
}

function number(name: string, text: string): number {
  const value = Number(text)
  if (text.trim() === '' || !Number.isFinite(value) || value < 0)
    throw new Error(`--${name} ${text} is not a number`)
  return value
}

/** Whether the line is down at a simulated time. */
function outage(text: string | undefined, startS: number): (atS: number) => boolean {
  if (text === undefined) return () => false
  const [downH = 0, everyH = 0] = text.split('/').map((part) => number('outage', part))
  if (!(everyH > downH))
    throw new Error(`--outage ${text}: the line must be up for some of the time, as in 2/24`)
  return (atS) => (atS - startS) % (3600 * everyH) >= 3600 * (everyH - downH)
}

type Pace = {
  readonly speed: number
  readonly isEndingNow: boolean
  readonly isDown: (atS: number) => boolean
}

/** The past as fast as it goes, in pieces of a day; then at the asked pace until Ctrl+C. */
async function run(plan: RigPlan, buffer: RetryBuffer, { speed, isEndingNow, isDown }: Pace): Promise<void> {
  const state = startRig(plan)
  const beganMs = Date.now()
  const presentS = () =>
    speed === 1 ? Math.floor(Date.now() / 1000) : plan.startS + (speed * (Date.now() - beganMs)) / 1000
  for (;;) {
    const targetS = isEndingNow || speed === 1 ? Date.now() / 1000 : presentS()
    while (state.atS + 60 <= targetS) {
      const out: RigOutput = { readings: [], log: [] }
      advanceRig(plan, state, Math.min(targetS, state.atS + DAY_S), out)
      buffer.add(out.readings)
      if (!isDown(state.atS)) await flush(buffer)
      console.error(
        `${new Date(state.atS * 1000).toISOString()} ${buffer.tally.acknowledged} posted, ${buffer.held()} held`,
      )
    }
    if (isEndingNow) break
    await sleep(speed === 1 ? 5000 : 250)
  }
  await flush(buffer)
}

async function flush(buffer: RetryBuffer): Promise<void> {
  while (!(await buffer.flush())) {
    console.error(`waiting ${buffer.waitMs()} ms: ${buffer.tally.lastProblem}`)
    await sleep(buffer.waitMs())
  }
}

function sleep(ms: number): Promise<void> {
  return new Promise((done) => setTimeout(done, ms))
}

try {
  await main()
} catch (error) {
  console.error(error instanceof Error ? error.message : String(error))
  process.exitCode = 2
}
