/**
 * A number with so many decimals. What a memory keeps of a statistic is kept no longer than it is sure: seventeen digits
 * of a drying time are fifteen of noise, and they are most of the bytes.
 */
export function rounded(value: number, decimals: number): number {
  const factor = 10 ** decimals
  return Math.round(value * factor) / factor
}
