/** The cautions, each in one place: screens show those that belong to what a person is about to do. */

export type Caution = { about: string; lines: string[] }

export const propeller: Caution = {
  about: 'In front of the engine',
  lines: [
    'Magnetos off, and treat the propeller as live whenever you work in front of it.',
    'An alert is never a reason to hurry at an aircraft.',
  ],
}
export const crankcaseGas: Caution = {
  about: 'Gas and mains',
  lines: [
    'Crankcase gas after a flight can be flammable: no sparking pump, relay or mains joint in its path or below the cowl.',
    'Wait until the engine is cool before hooking up.',
    'Mains devices near fuel vapour: protected outlet, ventilation, local electrical code, a licensed electrician.',
  ],
}
export const beadHealth: Caution = {
  about: 'Beads',
  lines: [
    'Indicating beads can contain cobalt chloride, a listed carcinogen by inhalation: no dust, gloves.',
    'Used beads hold fuel and oil vapour, possibly lead.',
  ],
}
export const baking: Caution = {
  about: 'Baking',
  lines: [
    'Bake outdoors or in a vented electric oven kept for it. Never gas, never an open flame, never a kitchen.',
    'The first bake after contact with oil smokes and can ignite: stay with it.',
    'Follow the supplier’s temperature limit, and let the jar cool before closing it.',
  ],
}
export const startUp: Caution = {
  about: 'Starting the engine',
  lines: [
    'Never start an engine with the rig on it: a blocked breather can pressurise the crankcase and push out a seal.',
    'A streamer stays on the rig; whatever covers the breather’s ice-relief hole comes off; plugs are counted on and off; filler cap and dipstick are locked.',
  ],
}
export const loopPressure: Caution = {
  about: 'Pressure in the loop',
  lines: [
    'The loop must not hold pressure or vacuum: one hose off lets the pump pressurise or evacuate a sealed crankcase. Fit a relief within the engine maker’s limit.',
  ],
}
export const dust: Caution = {
  about: 'Dust and water',
  lines: [
    'Silica dust is abrasive: a particle filter after the beads, and look for dust at every bake.',
    'Liquid water shatters many gels: a drip leg before them. Column upright and packed.',
  ],
}
export const limits: Caution = {
  about: 'What drying does not do',
  lines: [
    'Drying does not remove acids: change the oil before storage.',
    'It does not replace the maker’s preservation procedure. Approved maintenance data and a licensed mechanic decide what is airworthy.',
  ],
}
export const service: Caution = {
  about: 'This service',
  lines: [
    'Alerts are best effort: a phone, a network or a push service can fail. Silence is not proof of a dry engine, and the pages say when nothing was heard.',
    'The answer a hub gets, pump: run or rest, advises. The hub keeps its own band and an off-timer; this is never the only control.',
  ],
}

export const people: Caution[] = [propeller, crankcaseGas, beadHealth, baking]
export const engine: Caution[] = [startUp, loopPressure, dust, limits]
