import { AT_THE_MAINS } from './cautions.ts'
import type { RuleWords } from './say.ts'
import { number, pct, span } from './tongue.ts'

export const silentWords: RuleWords = {
  title: () => 'nothing heard',
  sentence: (say) => {
    const lastPct = say.number('lastPct')
    const last = lastPct === null ? '' : ` (${pct(lastPct)} then)`
    const other = say.number('otherHeardS')
    const elsewhere = other === null ? '' : ` Another sensor of this rig was heard at ${say.moment(other)}.`
    return `No reading of the return air since ${say.time('lastHeardS')}${last}.${elsewhere} Nobody knows how the engine is.`
  },
  causes: (say) =>
    say.number('otherHeardS') === null
      ? ['The hub, its network or its power is out.', "The hub's key was changed or revoked."]
      : [
          "The return sensor's battery or radio: the hub itself is there.",
          'Its readings are set aside as unreadable: see Hub.',
        ],
  notMeasured: () => ['Everything since then. Gaps count nowhere as dry.'],
  decides: () => 'The last posts on the Hub page: whether anything comes in, and what it says.',
  checks: (say) => [
    'Look at the last posts on the Hub page: does anything come in, and is it set aside?',
    ...(say.number('otherHeardS') === null
      ? ["Is the hub's network up? Router, SIM, access point.", 'Is there power in the hangar?']
      : ["The sensor's battery, and its distance from the hub."]),
    AT_THE_MAINS,
  ],
  over: () => 'Readings come in again.',
}

export const frozenWords: RuleWords = {
  title: () => 'the sensor stands still',
  sentence: (say) => {
    const value = say.number('pct')
    const hours = say.number('hours')
    const expected = say.number('expectedPct')
    const by = say.text('expectedBy')
    const why =
      by === 'run'
        ? 'a long run'
        : by === 'warmth'
          ? 'the change of temperature'
          : 'the air that always gets in'
    const should = expected === null ? '' : `; ${why} should have moved it by ${pct(expected)}`
    return `The sensor has said ${value === null ? 'the same' : pct(value)} for ${hours === null ? 'days' : span(hours)}, since ${say.moment(say.alert.sinceS)}${should}.`
  },
  causes: () => [
    'The sensor or its radio has stopped, and the hub repeats the last number.',
    'The sensor is damaged.',
  ],
  notMeasured: () => ['The air since then.'],
  decides: () => 'Breathe on the sensor: the number has to move within minutes.',
  checks: () => [
    'When did the sensor itself last report to the hub? Its battery, its radio.',
    'Breathe on the sensor: does the number move?',
    'Restart the hub.',
    'Replace the sensor, and enter it: its correction ends with it.',
  ],
  over: () => 'The sensor moves again.',
}

export const implausibleWords: RuleWords = {
  title: () => 'readings jump',
  sentence: (say) => {
    const spikePct = say.number('spikePct')
    const spikeC = say.number('spikeC')
    const what = spikePct !== null ? pct(spikePct) : spikeC !== null ? say.temp(spikeC) : 'a far value'
    return `${number(say.number('spikes') ?? 3, 0)} times within a day a single reading jumped away (to ${what}) and back, as no air does.`
  },
  causes: () => ['A loose wire or a failing sensor.', 'A hub that mixes up two sensors.'],
  notMeasured: () => [],
  decides: () => 'The last posts on the Hub page show what came in, word for word.',
  checks: () => ['Look at the last posts on the Hub page.', 'Wire, plug and battery of the sensor.'],
  over: () => 'No jump for a week.',
}
