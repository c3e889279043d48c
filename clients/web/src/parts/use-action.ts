/** A change asked of the server: one at a time, with its trouble kept until the next try. */
import { useState } from 'preact/hooks'
import type { Call } from '../api.ts'
import { request, type Problem } from '../request.ts'

export type Action = {
  isBusy: boolean
  problem: Problem | null
  /** Sends; `null` when it failed (the problem is kept). */
  send: <T>(call: Call<T>) => Promise<{ value: T } | null>
}

export function useAction(): Action {
  const [isBusy, setBusy] = useState(false)
  const [problem, setProblem] = useState<Problem | null>(null)
  const send = async <T>(call: Call<T>): Promise<{ value: T } | null> => {
    setBusy(true)
    setProblem(null)
    const answer = await request(call)
    setBusy(false)
    if (answer.ok) return { value: answer.value }
    setProblem(answer.problem)
    return null
  }
  return { isBusy, problem, send }
}
