/** A form's sending: what is wrong with what was typed is kept by field until the next try or until it is mended. */
import { useState } from 'preact/hooks'
import type { Call } from '../api.ts'
import { request, type Problem } from '../request.ts'
import { sortOut, type PlaceOf, type Wrongs } from '../wrongs.ts'

export type FormState = {
  isBusy: boolean
  wrongs: Wrongs
  /** What belongs to no field. */
  problem: Problem | null
  /** Counts the tries that failed: each takes the reader to the first field that is wrong. */
  failed: number
  /** Sends, unless something is known to be wrong; `null` when it failed. */
  send: <T>(call: () => Call<T>, wrongs?: Wrongs) => Promise<{ value: T } | null>
  /** Somebody is mending that field. */
  mend: (field: string) => void
}

export function useForm(placeOf: PlaceOf): FormState {
  const [isBusy, setBusy] = useState(false)
  const [said, setSaid] = useState<{ wrongs: Wrongs; problem: Problem | null }>(nothing)
  const [failed, setFailed] = useState(0)
  const fail = (why: { wrongs: Wrongs; problem: Problem | null }): null => {
    setSaid(why)
    setFailed((before) => before + 1)
    return null
  }
  const send = async <T>(call: () => Call<T>, wrongs: Wrongs = {}): Promise<{ value: T } | null> => {
    if (Object.keys(wrongs).length > 0) return fail({ wrongs, problem: null })
    setBusy(true)
    setSaid(nothing)
    const answer = await request(call())
    setBusy(false)
    return answer.ok ? { value: answer.value } : fail(sortOut(answer.problem, placeOf))
  }
  const mend = (field: string): void => {
    if (!(field in said.wrongs)) return
    const { [field]: _mended, ...wrongs } = said.wrongs
    setSaid({ ...said, wrongs })
  }
  return { isBusy, ...said, failed, send, mend }
}

const nothing = { wrongs: {}, problem: null }
