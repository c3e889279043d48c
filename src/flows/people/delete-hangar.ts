/** A hangar goes in bounded steps: what its rigs hold first, itself last, so that a step cut short loses track of nothing. */
import type { Hangar, PeoplePorts } from './ports.ts'

export type Step = { readonly isDone: boolean; readonly removed: number }

/** What belongs to a hangar on the database that holds its rigs. */
export type Belongings = {
  /** Removes up to `budget` rows; done when nothing is left. */
  readonly removeStep: (hangar: Hangar, budget: number) => Promise<Step>
}

export async function deleteHangarStep(
  ports: { readonly people: PeoplePorts; readonly belongings: Belongings },
  hangar: Hangar,
  budget: number,
): Promise<Step> {
  const step = await ports.belongings.removeStep(hangar, budget)
  if (!step.isDone) return step
  await ports.people.hangars.remove(hangar.id)
  return { isDone: true, removed: step.removed + 1 }
}
