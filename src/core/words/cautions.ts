/** Said wherever a check sends somebody to the place where it can hurt. Local codes and licensed practice come first. */
export const AT_THE_PROPELLER = 'First: magnetos off, and treat the propeller as live. There is no hurry.'

export const AT_THE_MAINS =
  'Mains near fuel vapour: pull the plug before you open anything, air the bay; wiring is for a licensed electrician.'

export const WARM_ENGINE = 'Wait until the engine is cool: crankcase gas after a flight can be flammable.'

export const AT_THE_OVEN =
  "Bake outdoors or in a vented electric oven kept for it, never gas, open flame or a kitchen; keep to the supplier's temperature, wear gloves, make no dust, let the jar cool before closing it."

export const NO_START = 'Never start the engine with the rig on it.'
