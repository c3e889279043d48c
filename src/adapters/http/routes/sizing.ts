/** What a rig would do before it is built. */
import { BEAD_KINDS } from '../../../core/beads/kinds.ts'
import { sizeRig, type SizingRefusal } from '../../../core/rig/sizing.ts'
import type { App } from '../context.ts'
import { refuse, type Refusal } from '../problem.ts'
import { sizingOperations as operations } from '../schemas/sizing.ts'
import { serve } from '../serve.ts'

export function serveSizing(app: App): void {
  serve(app, operations.sizeRig, ({ body }) => {
    const { band, ambient, ...rest } = body
    const sized = sizeRig({
      ...rest,
      band: { startPct: band.start, stopPct: band.stop },
      climate: { humidityPct: ambient.humidity, tempC: ambient.temperature },
    })
    if (!sized.ok) return refusalFor(sized)
    return { ...sized.answer, assumed: [...sized.answer.assumed] }
  })
  serve(app, operations.listBeadKinds, () => ({
    items: BEAD_KINDS.map(({ name, says, source }) => ({ name, says, source })),
    next: null,
  }))
}

/** Where the model's names stand in the body. */
const POINTERS: Readonly<Record<string, string>> = {
  startPct: '/band/start',
  stopPct: '/band/stop',
  humidityPct: '/ambient/humidity',
  tempC: '/ambient/temperature',
}

function refusalFor(refusal: SizingRefusal): Refusal {
  switch (refusal.reason) {
    case 'out_of_range':
      return at(
        POINTERS[refusal.name] ?? `/${refusal.name}`,
        `a number from ${refusal.low} to ${refusal.high}`,
        { min: refusal.low, max: refusal.high },
      )
    case 'unknown_beads':
      return at('/beadKind', `one of ${BEAD_KINDS.map(({ name }) => name).join(', ')}`)
    case 'band_upside_down':
      return at(
        '/band/start',
        `has to be above where the pump stops: ${refusal.startPct} is not over ${refusal.stopPct}`,
      )
    default:
      return at(
        '/ambient/humidity',
        `air of ${refusal.humidityPct} % never makes a pump start that starts at ${refusal.startPct} %`,
      )
  }
}

function at(pointer: string, detail: string, range?: { min: number; max: number }): Refusal {
  return refuse('invalid', { errors: [{ pointer, detail, range }] })
}
