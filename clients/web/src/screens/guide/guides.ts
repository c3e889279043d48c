/** The five things that go wrong without a guide, in steps short enough to read with gloves on. */
import {
  baking,
  beadHealth,
  crankcaseGas,
  dust,
  loopPressure,
  propeller,
  type Caution,
} from '../../cautions.ts'

export type Step = { title: string; lines: string[]; cautions?: Caution[] }
export type Guide = {
  what: 'bake' | 'weigh' | 'salt-check' | 'floor-check' | 'loop-test'
  title: string
  why: string
  steps: Step[]
  /** The entry that ends it. */
  entry: string
  /** Written down at the press of the first step's button: the rig is not judged from then on. */
  begins?: { label: string; hours: number; entry: string }
}

const bake: Guide = {
  what: 'bake',
  title: 'Bake the beads',
  why: 'A bake drives the water out and starts a new fill. How hot decides how dry the air can become: 120 °C leaves about 0.01 g of water in each gram of beads, 100 °C about 0.016.',
  entry: 'bake',
  steps: [
    {
      title: 'Take the jar out',
      lines: [
        'Switch the pump off. Close both hose ends, so that the engine does not breathe hangar air meanwhile.',
        'Have a spare jar? Put it in now and switch the pump on again: the engine waits for nobody.',
      ],
      cautions: [propeller, crankcaseGas],
    },
    {
      title: 'Weigh it',
      lines: [
        'On a scale that shows a gram, with its lid, the way you will weigh it after the bake. The difference is the best number the forecast can get.',
      ],
    },
    {
      title: 'Bake',
      lines: [
        'Spread the beads no deeper than a finger. 120 °C for four hours, or what the supplier allows: some indicating beads end at 110 °C.',
        'Deep trays and cool ovens leave water in the middle. Stir half way.',
      ],
      cautions: [beadHealth, baking],
    },
    {
      title: 'Cool, look, weigh',
      lines: [
        'Let the beads cool covered: open, they take water from the air at once.',
        'Look for dust and broken beads, and at the particle filter after the column.',
        'Weigh the jar again, same lid.',
      ],
      cautions: [dust],
    },
    {
      title: 'Back into the column, and write it down',
      lines: ['Upright and packed, hoses on, pump on. Enter the bake with the time it went back in.'],
    },
  ],
}

const weigh: Guide = {
  what: 'weigh',
  title: 'Weigh the jar',
  why: 'Before and after one bake, the same jar on the same scale: the difference fixes how much these beads can hold. A single weight says little.',
  entry: 'weighing',
  steps: [
    {
      title: 'Take the jar out',
      lines: ['Pump off, both hose ends closed, lid on the jar at once.'],
      cautions: [propeller],
    },
    {
      title: 'Weigh',
      lines: [
        'A kitchen scale to the gram will do. Wipe the jar dry, zero the empty scale, read twice.',
        'The same lid and the same label every time.',
      ],
    },
    {
      title: 'Back in, and write it down',
      lines: ['Hoses on, pump on. Enter the weight of jar, lid and beads together.'],
    },
  ],
}

const saltCheck: Guide = {
  what: 'salt-check',
  title: 'Salt check of the sensor',
  why: 'Cheap sensors are worst exactly where this rig works. Over a saturated salt the air has a known humidity: lithium chloride 11.3 %, magnesium chloride 32.8 %, at 25 °C. One salt gives an offset, two a line, which at 6 % is still good to about 0.8 % only.',
  entry: 'salt-check',
  steps: [
    {
      title: 'Take the sensor out',
      lines: [
        'The rig is not judged while the check lasts, and nothing of it counts as dry.',
        'Let the pump rest, and close the place where the sensor sat.',
      ],
      cautions: [propeller],
    },
    {
      title: 'Make the pot',
      lines: [
        'A spoon of salt in a bottle cap, water drop by drop until it is a wet paste, not a solution: crystals must stay.',
        'Cap and sensor into a small tight jar, the sensor not touching the paste.',
        'Lithium chloride irritates: gloves, not near food. Table salt, 75.3 %, is a plausibility check only.',
      ],
    },
    {
      title: 'Wait at least eight hours',
      lines: [
        'Somewhere that keeps its temperature: indoors, in a box, out of the sun. One degree between salt and sensor is 0.7 %.',
        'Overnight is better. The last two hours must be steady.',
      ],
    },
    {
      title: 'Put it back, and write it down',
      lines: [
        'Enter when the check began and ended, what the sensor showed at the end, and the temperature beside it.',
        'A check that is too short, unsteady or far off is refused with the reason; nothing is corrected then.',
      ],
    },
  ],
}

const floorCheck: Guide = {
  what: 'floor-check',
  title: 'Floor check',
  why: 'The pump stops at the lower limit and hides how dry the air could become. Kept on for four hours, it shows where the air settles: the best sign of what the beads still do.',
  entry: 'floor-check',
  begins: { label: 'The pump is on now: write it down', hours: 4, entry: 'floor-check' },
  steps: [
    {
      title: 'Keep the pump on',
      lines: [
        'At the outlet, by hand, for four hours. Nobody has to stay.',
        'Not within five days of a flight: water still leaving the oil lifts the floor.',
      ],
      cautions: [loopPressure],
    },
    {
      title: 'Set a timer',
      lines: ['An off-timer on the outlet, or come back. After four hours the outlet gets its band back.'],
    },
    {
      title: 'Read the result',
      lines: ['The last twenty minutes count. The result stands on the rig’s page with the next check.'],
    },
  ],
}

const loopTest: Guide = {
  what: 'loop-test',
  title: 'Loop test',
  why: 'When the air settles too high, beads, a leak on the suction side and the sensor look alike. Fifteen minutes of air from the beads straight to the sensor tell them apart.',
  entry: 'loop-test',
  begins: { label: 'The loop is short now: write it down', hours: 0.25, entry: 'loop-test' },
  steps: [
    {
      title: 'Take the engine out of the loop',
      lines: [
        'Join the column’s outlet to the sensor’s inlet with a short clean hose. Close the engine’s two openings.',
      ],
      cautions: [propeller, loopPressure],
    },
    {
      title: 'Run fifteen minutes',
      lines: ['Pump on. What the sensor shows now is the beads’ air and the sensor’s own error.'],
    },
    {
      title: 'Put the loop back',
      lines: [
        'Low now, high with the engine: the engine or its hoses leak, or the engine still gives off water.',
        'High now as well: the beads, or the sensor. A salt check decides between the two.',
      ],
    },
  ],
}

export const guides: Guide[] = [bake, weigh, saltCheck, floorCheck, loopTest]
