/** Drag to move, pinch or wheel to zoom: pointer events only, so that mouse, pen and finger are one thing. */
import type uPlot from 'uplot'

export type View = { fromS: number; toS: number }

/** Closer than this there is nothing more to see, s. */
const narrowestS = 1800
/** Wider than this no rig has been kept, s. */
const widestS = 20 * 365 * 86400
/** Less movement than this is a tap, px. */
const tapMaxPx = 6

export function limitView(view: View, newestS: number): View {
  const wantedS = Math.min(Math.max(view.toS - view.fromS, narrowestS), widestS)
  const middleS = (view.fromS + view.toS) / 2
  const toS = Math.min(middleS + wantedS / 2, newestS + wantedS * 0.25)
  return { fromS: Math.round(toS - wantedS), toS: Math.round(toS) }
}

export function zoomed(view: View, factor: number, aroundS: number): View {
  return {
    fromS: aroundS - (aroundS - view.fromS) * factor,
    toS: aroundS + (view.toS - aroundS) * factor,
  }
}

export function moved(view: View, byS: number): View {
  return { fromS: view.fromS + byS, toS: view.toS + byS }
}

type Hands = { u: uPlot; view: () => View; show: (view: View) => void; read: (atS: number) => void }

/** Returns the function that takes the listeners off again. */
export function listen({ u, view, show, read }: Hands): () => void {
  const area = u.over
  const fingers = new Map<number, number>()
  let start: { view: View; xs: number[] } | null = null
  const atS = (x: number): number => u.posToVal(x, 'x')
  const local = (event: PointerEvent): number => event.clientX - area.getBoundingClientRect().left
  const begin = (): void => {
    start = { view: view(), xs: [...fingers.values()] }
  }
  const drag = (): void => {
    if (!start) return
    const now = [...fingers.values()]
    const width = area.clientWidth
    const { view: from, xs } = start
    const perPx = (from.toS - from.fromS) / width
    const [a0, b0] = xs
    const [a, b] = now
    if (a0 === undefined || a === undefined) return
    if (b0 !== undefined && b !== undefined && Math.abs(b - a) > 8) {
      const factor = Math.abs(b0 - a0) / Math.abs(b - a)
      const aroundS = from.fromS + ((a0 + b0) / 2) * perPx
      show(moved(zoomed(from, factor, aroundS), ((a0 + b0) / 2 - (a + b) / 2) * perPx * factor))
    } else if (Math.abs(a - a0) > tapMaxPx) show(moved(from, (a0 - a) * perPx))
  }
  const down = (event: PointerEvent): void => {
    area.setPointerCapture(event.pointerId)
    fingers.set(event.pointerId, local(event))
    begin()
    read(atS(local(event)))
  }
  const move = (event: PointerEvent): void => {
    if (fingers.has(event.pointerId)) {
      fingers.set(event.pointerId, local(event))
      drag()
    } else if (event.pointerType === 'mouse') read(atS(local(event)))
  }
  const up = (event: PointerEvent): void => {
    fingers.delete(event.pointerId)
    begin()
  }
  const wheel = (event: WheelEvent): void => {
    // A plain wheel scrolls the page: only a pinch on a touch pad, which browsers report with ctrl, or a held key zooms.
    if (!event.ctrlKey && !event.metaKey) return
    event.preventDefault()
    const aroundS = atS(event.clientX - area.getBoundingClientRect().left)
    show(zoomed(view(), Math.exp(event.deltaY * 0.01), aroundS))
  }
  area.addEventListener('pointerdown', down)
  area.addEventListener('pointermove', move)
  area.addEventListener('pointerup', up)
  area.addEventListener('pointercancel', up)
  area.addEventListener('wheel', wheel, { passive: false })
  return () => {
    area.removeEventListener('pointerdown', down)
    area.removeEventListener('pointermove', move)
    area.removeEventListener('pointerup', up)
    area.removeEventListener('pointercancel', up)
    area.removeEventListener('wheel', wheel)
  }
}
