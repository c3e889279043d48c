import { inverseDiagonal, solvePositive } from './linear-solve.ts'

/** A fit looks at one run or one rest: a day of minutes at most. */
export const FIT_POINTS_MAX = 1500
const ITERATIONS_MAX = 400
const RELATIVE_STEP = 1e-10
const DAMPING_MAX = 1e12

/**
 * A step may change a positive parameter by this factor at most (as a logarithm): from a poor start the first full
 * step runs off to where the curve is flat and nothing leads back (BoxBOD, start 1).
 */
const LOG_STEP_MAX = 1

export type Problem = {
  readonly predict: (parameters: readonly number[], x: number) => number
  readonly xs: readonly number[]
  readonly ys: readonly number[]
  /** Tried in turn; the best end wins. Give a coarse grid where the shape is not known. */
  readonly starts: readonly (readonly number[])[]
  /** Parameters that must stay above zero are fitted as logarithms. */
  readonly positive?: readonly boolean[]
}

export type Fit = {
  readonly parameters: readonly number[]
  /** Standard errors from the curvature at the end. */
  readonly sds: readonly number[]
  readonly residualSumSquares: number
  readonly residualSd: number
  readonly degreesOfFreedom: number
}

export type FitRefusal =
  | { readonly reason: 'too_few_points'; readonly points: number; readonly needed: number }
  | { readonly reason: 'too_many_points'; readonly points: number; readonly limit: number }
  | { readonly reason: 'not_converged'; readonly starts: number }
  | { readonly reason: 'not_determined' }

export type FitResult = { readonly ok: true; readonly fit: Fit } | ({ readonly ok: false } & FitRefusal)

/** Parameters as they are fitted: logarithms where they must stay positive. */
function toInner(problem: Problem, parameters: readonly number[]): number[] {
  return parameters.map((value, i) =>
    problem.positive?.[i] === true ? Math.log(Math.max(value, 1e-300)) : value,
  )
}

function toOuter(problem: Problem, inner: readonly number[]): number[] {
  return inner.map((value, i) => (problem.positive?.[i] === true ? Math.exp(value) : value))
}

type Residuals = (inner: readonly number[]) => Float64Array

function residualsOf(problem: Problem, outer: (inner: readonly number[]) => readonly number[]): Residuals {
  return (inner) => {
    const parameters = outer(inner)
    return Float64Array.from(problem.xs, (x, i) => (problem.ys[i] ?? 0) - problem.predict(parameters, x))
  }
}

function sumSquares(values: Float64Array): number {
  let sum = 0
  for (const value of values) sum += value * value
  // An overflow is a step too far, not a failure.
  return Number.isFinite(sum) ? sum : Number.POSITIVE_INFINITY
}

function dot(a: Float64Array, b: Float64Array): number {
  return a.reduce((sum, value, row) => sum + value * (b[row] ?? 0), 0)
}

/** J'J and J'r by central differences. */
function normalEquations(residuals: Residuals, at: readonly number[]) {
  const n = at.length
  const here = residuals(at)
  const columns = at.map((value, i) => {
    const step = 6e-6 * Math.max(Math.abs(value), 1e-6)
    const up = residuals(at.with(i, value + step))
    const down = residuals(at.with(i, value - step))
    return here.map((_, row) => ((down[row] ?? 0) - (up[row] ?? 0)) / (2 * step))
  })
  const matrix = new Float64Array(n * n)
  const right = new Float64Array(n)
  columns.forEach((a, i) => {
    right[i] = dot(a, here)
    columns.forEach((b, j) => (matrix[i * n + j] = dot(a, b)))
  })
  return { matrix, right }
}

function damped(matrix: Float64Array, n: number, damping: number): Float64Array {
  const copy = Float64Array.from(matrix)
  for (let i = 0; i < n; i++) {
    const diagonal = copy[i * n + i] ?? 0
    copy[i * n + i] = diagonal + damping * Math.max(diagonal, 1e-300)
  }
  return copy
}

function limited(step: number, isLog: boolean | undefined): number {
  return isLog === true ? Math.min(LOG_STEP_MAX, Math.max(-LOG_STEP_MAX, step)) : step
}

/** Levenberg-Marquardt from one start; `null` if it does not come to rest. */
function descend(
  residuals: Residuals,
  start: readonly number[],
  positive: readonly boolean[],
): { at: number[]; rss: number } | null {
  let at = [...start]
  let rss = sumSquares(residuals(at))
  let damping = 1e-3
  if (!Number.isFinite(rss)) return null
  for (let round = 0; round < ITERATIONS_MAX; round++) {
    const { matrix, right } = normalEquations(residuals, at)
    let isBetter = false
    while (!isBetter) {
      const step = solvePositive(damped(matrix, at.length, damping), right)
      const next = step === null ? at : at.map((value, i) => value + limited(step[i] ?? 0, positive[i]))
      const nextRss = step === null ? Number.POSITIVE_INFINITY : sumSquares(residuals(next))
      const isSmall = at.every(
        (value, i) => Math.abs((next[i] ?? 0) - value) <= RELATIVE_STEP * (Math.abs(value) + 1e-12),
      )
      if (step !== null && isSmall) return { at: nextRss < rss ? next : at, rss: Math.min(rss, nextRss) }
      if (nextRss < rss) {
        at = next
        rss = nextRss
        damping = Math.max(damping / 5, 1e-14)
        isBetter = true
      } else damping *= 4
      // No step however short goes down: the bottom, as far as the arithmetic can see.
      if (damping > DAMPING_MAX) return { at, rss }
    }
  }
  return null
}

/**
 * Non-linear least squares, guarded: positive parameters stay positive, several starts, standard errors, and a named
 * reason where the data do not determine the parameters. Reaches 6 digits on the NIST StRD cases in the tests.
 */
export function fitLeastSquares(problem: Problem): FitResult {
  const points = problem.xs.length
  const needed = (problem.starts[0]?.length ?? 0) + 1
  if (points < needed || problem.ys.length !== points)
    return { ok: false, reason: 'too_few_points', points, needed }
  if (points > FIT_POINTS_MAX) return { ok: false, reason: 'too_many_points', points, limit: FIT_POINTS_MAX }
  const residuals = residualsOf(problem, (inner) => toOuter(problem, inner))
  const ends = problem.starts
    .map((start) => descend(residuals, toInner(problem, start), problem.positive ?? []))
    .filter((end) => end !== null)
    .sort((a, b) => a.rss - b.rss)
  const best = ends[0]
  if (best === undefined) return { ok: false, reason: 'not_converged', starts: problem.starts.length }
  const parameters = toOuter(problem, best.at)
  const { matrix } = normalEquations(
    residualsOf(problem, (outer) => outer),
    parameters,
  )
  const diagonal = inverseDiagonal(matrix, parameters.length)
  if (diagonal === null) return { ok: false, reason: 'not_determined' }
  const degreesOfFreedom = points - parameters.length
  const residualSd = Math.sqrt(best.rss / degreesOfFreedom)
  const sds = diagonal.map((value) => residualSd * Math.sqrt(value))
  return {
    ok: true,
    fit: { parameters, sds, residualSumSquares: best.rss, residualSd, degreesOfFreedom },
  }
}
