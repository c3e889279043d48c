/**
 * Cholesky factor of a symmetric positive definite matrix, row by row in one array, or `null` if it is not one.
 * Small and dense: at most a handful of parameters.
 */
function choleskyFactor(matrix: Float64Array, n: number): Float64Array | null {
  const factor = new Float64Array(n * n)
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i * n + j] ?? 0
      for (let k = 0; k < j; k++) sum -= (factor[i * n + k] ?? 0) * (factor[j * n + k] ?? 0)
      if (i === j) {
        if (!(sum > 0)) return null
        factor[i * n + i] = Math.sqrt(sum)
      } else factor[i * n + j] = sum / (factor[j * n + j] ?? 1)
    }
  }
  return factor
}

/** Solves `matrix` x = `right` for a symmetric positive definite matrix; `null` if it is not one. */
export function solvePositive(matrix: Float64Array, right: Float64Array): Float64Array | null {
  const n = right.length
  const factor = choleskyFactor(matrix, n)
  if (factor === null) return null
  const x = Float64Array.from(right)
  for (let i = 0; i < n; i++) {
    let sum = x[i] ?? 0
    for (let k = 0; k < i; k++) sum -= (factor[i * n + k] ?? 0) * (x[k] ?? 0)
    x[i] = sum / (factor[i * n + i] ?? 1)
  }
  for (let i = n - 1; i >= 0; i--) {
    let sum = x[i] ?? 0
    for (let k = i + 1; k < n; k++) sum -= (factor[k * n + i] ?? 0) * (x[k] ?? 0)
    x[i] = sum / (factor[i * n + i] ?? 1)
  }
  return x
}

/** Diagonal of the inverse of a symmetric positive definite matrix; `null` if it is not one. */
export function inverseDiagonal(matrix: Float64Array, n: number): number[] | null {
  const diagonal: number[] = []
  for (let i = 0; i < n; i++) {
    const unit = new Float64Array(n)
    unit[i] = 1
    const column = solvePositive(matrix, unit)
    if (column === null) return null
    diagonal.push(column[i] ?? 0)
  }
  return diagonal
}
