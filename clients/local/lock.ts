import { readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import * as z from 'zod'
import { StartError } from './start-error.ts'

const lockSchema = z.object({ pid: z.int(), runtimePid: z.int().nullable() })
type Holder = z.infer<typeof lockSchema>

/**
 * One process per state folder: two would run the schedule twice and write the same database files. A holder
 * that was killed leaves its file and, on Linux, its runtime process: both are cleared away here.
 * @returns `note`, to record the runtime's process once it runs, and `release`
 * @throws StartError while another process holds the folder
 */
export function lockState(dir: string) {
  const file = join(dir, 'lock.json')
  const holder = readHolder(file)
  if (holder !== null && holder.pid !== process.pid && isOurs(holder.pid, 'start.ts')) {
    throw new StartError(`The state folder ${dir} is in use by process ${holder.pid}: stop that one first.`)
  }
  if (holder?.runtimePid && isOurs(holder.runtimePid, 'workerd')) process.kill(holder.runtimePid, 'SIGKILL')
  const write = (runtimePid: number | null) =>
    writeFileSync(file, JSON.stringify({ pid: process.pid, runtimePid } satisfies Holder))
  write(null)
  return {
    note: () => write(findChild('workerd')),
    release: () => rmSync(file, { force: true }),
  }
}

function readHolder(file: string): Holder | null {
  try {
    return lockSchema.parse(JSON.parse(readFileSync(file, 'utf8')))
  } catch {
    return null
  }
}

/** Process numbers are used again: what runs under this one must also be the program that we left there. */
function isOurs(pid: number, program: string): boolean {
  const command = commandOf(pid)
  if (command !== null) return command.includes(program)
  if (process.platform === 'linux') return false
  try {
    process.kill(pid, 0)
    return program === 'start.ts'
  } catch {
    return false
  }
}

function commandOf(pid: number): string | null {
  try {
    return readFileSync(`/proc/${pid}/cmdline`, 'utf8')
  } catch {
    return null
  }
}

/** The child of this process that runs `program`; null where /proc does not tell. */
function findChild(program: string): number | null {
  try {
    const pids = readdirSync('/proc').filter((name) => /^\d+$/.test(name))
    const pid = pids.find(
      (each) => parentOf(each) === process.pid && commandOf(Number(each))?.includes(program),
    )
    return pid === undefined ? null : Number(pid)
  } catch {
    return null
  }
}

function parentOf(pid: string): number | null {
  try {
    // The name in brackets may hold blanks: the parent is the second field after the last bracket.
    const stat = readFileSync(`/proc/${pid}/stat`, 'utf8')
    return Number(stat.slice(stat.lastIndexOf(')') + 2).split(' ')[1])
  } catch {
    return null
  }
}
