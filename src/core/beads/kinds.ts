/**
 * Kinds of beads, as data with a source. Points are the adsorption branch at 25 degC: vapour pressure in Pa and water
 * held in kg per kg of dry beads, joined in log-log; `heatKJPerKg` moves them in temperature.
 */
export type BeadKind = {
  readonly name: string
  readonly says: string
  readonly points25: readonly (readonly [pressurePa: number, loadingKgKg: number])[]
  /** Isosteric heat of adsorption, kJ per kg of water. */
  readonly heatKJPerKg: number
  readonly source: string
}

/** Saturation pressure over water at 25 degC, Pa (IAPWS SR1-86): turns published relative pressures into Pa. */
const SATURATION_25_PA = 3169.8245

/** A published power law w = factor x^0.625 as two points: straight in log-log. */
function powerLaw(factor: number): BeadKind['points25'] {
  return [0.01, 1].map((x) => [x * SATURATION_25_PA, factor * x ** 0.625] as const)
}

/** From the measured points at 298 to 348 K, loading 0.037: 48.8 kJ/mol. */
const GEL_HEAT_KJ_KG = 2710

export const BEAD_KINDS: readonly BeadKind[] = [
  {
    name: 'regular-gel',
    says: 'regular-density silica gel, indicating or not',
    points25: [
      [27.1, 0.017654974],
      [88.9, 0.03729163],
      [408, 0.095661137],
      [941, 0.187358912],
      [1600, 0.27923684],
      [2430, 0.340488792],
    ],
    heatKJPerKg: GEL_HEAT_KJ_KG,
    source: 'Wang and LeVan 2009, J. Chem. Eng. Data 54, 2839: silica gel and water, volumetric, 298.15 K',
  },
  {
    name: 'fine-pore-gel',
    says: 'fine-pore silica gel',
    points25: powerLaw(0.346),
    heatKJPerKg: GEL_HEAT_KJ_KG,
    source: 'Sakoda and Suzuki 1984, J. Chem. Eng. Japan 17, 52: w = 0.346 x^0.625',
  },
  {
    name: 'high-capacity-gel',
    says: 'high-capacity silica gel made for heat pumps',
    points25: powerLaw(0.522),
    heatKJPerKg: GEL_HEAT_KJ_KG,
    source: 'Cho and Kim 1992, Energy 17, 829: w = 0.522 x^0.625',
  },
  {
    name: 'round-pore-gel',
    says: 'silica gel that takes up most of its water between 20 and 60 % RH',
    points25: [
      [177.7, 0.05492],
      [305.77, 0.07677],
      [461.48, 0.09922],
      [630.17, 0.12712],
      [950.06, 0.18574],
      [1269.94, 0.24451],
      [1911.99, 0.32203],
      [3021.84, 0.36342],
    ],
    heatKJPerKg: GEL_HEAT_KJ_KG,
    source: 'Thu et al. 2013, Appl. Therm. Eng. 50, 1596: adsorption at 25 degC, read from a figure',
  },
]

/** The kind of that name, or `null` if it is not known. */
export function findBeadKind(name: string): BeadKind | null {
  return BEAD_KINDS.find((kind) => kind.name === name) ?? null
}
