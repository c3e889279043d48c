/** When a rig was first heard: what lies before it is neither dry nor an outage. */
import { api } from '../../api.ts'
import { useRead } from '../../query.ts'
import { ms } from '../../when.ts'

const dayS = 86_400
/** Longer than any rig has been there. */
const lifeS = 10 * 366 * dayS
/** The fewest that the server gives: only where the first silence ends is looked at. */
const points = 10

/** UTC day of the first reading, s; `null` of a rig never heard or where nobody can tell, `undefined` until that is known. */
export function useFirstDayS(rig: string, isAsked = true): number | null | undefined {
  const toS = Math.ceil(Date.now() / 1000 / dayS) * dayS
  const read = useRead(isAsked ? api.trace(rig, { fromS: toS - lifeS, toS }, points) : null, 3600)
  if (!read.value) return read.isLoading ? undefined : null
  const { gaps, series } = read.value
  if (series.every((one) => one.points.length === 0)) return null
  const first = gaps.find((gap) => ms(gap.from) / 1000 <= toS - lifeS)
  return first ? Math.floor(ms(first.to) / 1000 / dayS) * dayS : toS - lifeS
}
