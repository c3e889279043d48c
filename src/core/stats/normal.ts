const ROOT_2PI = Math.sqrt(2 * Math.PI)

/** Where the series hands over to the continued fraction: both hold 14 digits there. */
const SWITCH_Z = 3
const TERMS_MAX = 200

/** P(Z > z) of the standard normal, relative error under 1e-12. Series below 3, continued fraction above (A&S 26.2.11, 26.2.14). */
export function normalUpperTail(z: number): number {
  if (z < 0) return 1 - normalUpperTail(-z)
  const density = Math.exp(-0.5 * z * z) / ROOT_2PI
  if (z < SWITCH_Z) {
    let term = z
    let sum = z
    for (let k = 1; k < TERMS_MAX && Math.abs(term) > 1e-17 * Math.abs(sum); k++) {
      term *= (z * z) / (2 * k + 1)
      sum += term
    }
    return 0.5 - density * sum
  }
  let fraction = 0
  for (let k = TERMS_MAX; k >= 1; k--) fraction = k / (z + fraction)
  return density / (z + fraction)
}

const HALVINGS = 60

/** The z with P(Z <= z) = p, to 1e-12; `p` in (0, 1), else RangeError. Newton on the tail, kept in a bracket. */
export function normalQuantile(p: number): number {
  if (!(p > 0 && p < 1)) throw new RangeError(`a probability must lie within 0..1, not ${p}`)
  if (p < 0.5) return -normalQuantile(1 - p)
  let low = 0
  let high = 40
  let z = 1
  for (let round = 0; round < HALVINGS; round++) {
    const error = normalUpperTail(z) - (1 - p)
    if (error > 0) low = z
    else high = z
    const next = z + (error * ROOT_2PI) / Math.exp(-0.5 * z * z)
    const guarded = next > low && next < high ? next : (low + high) / 2
    if (Math.abs(guarded - z) < 1e-13) return guarded
    z = guarded
  }
  return z
}
