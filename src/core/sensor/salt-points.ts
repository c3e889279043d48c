/** Salts offered for checking a sensor. Caustic ones would reach lower and are left out: nobody should handle them for this. */
export const SALTS = ['LiCl', 'MgCl2', 'NaCl'] as const
export type Salt = (typeof SALTS)[number]

/** Rows of the published table the polynomials are used for, degC. */
export const SALT_MIN_C = 5
export const SALT_MAX_C = 40

type SaltData = {
  readonly polynomial: readonly number[]
  /** Stated uncertainty, % RH, by temperature. */
  readonly uncertainty: readonly (readonly [tempC: number, pct: number])[]
}

/**
 * L. Greenspan 1977, J. Res. NBS 81A, 89: RH = a0 + a1 t + a2 t^2 + a3 t^3, and the uncertainties of its table 2. The
 * linear term of LiCl is positive: a widely copied transcription has it negative and gives 10.89 instead of 11.30 % at
 * 25 degC.
 */
const DATA: Readonly<Record<Salt, SaltData>> = {
  LiCl: {
    polynomial: [11.2323, 0.00824245, -0.21489e-3],
    uncertainty: [
      [10, 0.41],
      [15, 0.35],
      [20, 0.31],
      [25, 0.27],
      [30, 0.24],
      [35, 0.22],
    ],
  },
  MgCl2: {
    polynomial: [33.6686, -0.00797397, -0.108988e-2],
    uncertainty: [
      [10, 0.24],
      [15, 0.21],
      [20, 0.18],
      [25, 0.16],
      [30, 0.14],
      [35, 0.13],
    ],
  },
  NaCl: {
    polynomial: [75.5164, 0.0398321, -0.265459e-2, 0.2848e-4],
    uncertainty: [
      [10, 0.22],
      [15, 0.18],
      [20, 0.14],
      [25, 0.12],
      [30, 0.11],
      [35, 0.12],
    ],
  },
}

export type SaltPoint = { readonly humidityPct: number; readonly uncertaintyPct: number }

/** Between table rows in proportion, beyond them the nearest row. */
function uncertaintyAt(rows: SaltData['uncertainty'], tempC: number): number {
  let before = rows[0]
  for (const row of rows) {
    if (tempC <= row[0]) {
      if (before === undefined || before === row) return row[1]
      return before[1] + ((row[1] - before[1]) * (tempC - before[0])) / (row[0] - before[0])
    }
    before = row
  }
  return before?.[1] ?? 0
}

/** The salt named in a log entry, however its case; `null` if it is none of ours. */
export function saltNamed(text: string): Salt | null {
  return SALTS.find((salt) => salt.toLowerCase() === text.trim().toLowerCase()) ?? null
}

/** RH over a saturated solution of `salt` at `tempC`, % RH, with its uncertainty; `null` outside 5..40 degC. */
export function saltPoint(salt: Salt, tempC: number): SaltPoint | null {
  if (!(tempC >= SALT_MIN_C && tempC <= SALT_MAX_C)) return null
  const { polynomial, uncertainty } = DATA[salt]
  return {
    humidityPct: polynomial.reduceRight((sum, factor) => sum * tempC + factor, 0),
    uncertaintyPct: uncertaintyAt(uncertainty, tempC),
  }
}
