import { AT_THE_MAINS, AT_THE_PROPELLER, WARM_ENGINE } from './cautions.ts'
import {
  assumedFor,
  causesByShare,
  consequence,
  noTemperature,
  pumpSource,
  WHAT_TELLS,
} from './consequence.ts'
import type { RuleWords, Say } from './say.ts'
import { grams, number, pct, span } from './tongue.ts'

function fromTo(say: Say): string {
  const fromPct = say.number('fromPct')
  const nowPct = say.number('nowPct')
  if (fromPct === null || nowPct === null) return ''
  return `${pct(fromPct)} at ${say.time('fromAtS')}, ${pct(nowPct)} at ${say.time('nowAtS')}`
}

function isByPower(say: Say): boolean {
  return say.text('by') === 'power'
}

export const noDropWords: RuleWords = {
  title: (say) => (isByPower(say) ? 'the pump draws the wrong power' : 'pump on, air not getting drier'),
  sentence: (say) => {
    const powerW = say.number('powerW')
    const usualW = say.number('usualPowerW')
    if (isByPower(say) && powerW !== null && usualW !== null) {
      return `The pump is on and draws ${number(powerW, 1)} W instead of ${number(usualW, 1)} W since ${say.moment(say.alert.sinceS)}.${consequence(say)}`
    }
    const runs = say.text('pumpBasis') === 'inferred' ? 'seems to run' : 'is on'
    return `The pump ${runs} since ${say.time('runFromS')} and the air is not getting drier: ${fromTo(say)}.${consequence(say)}`
  },
  causes: (say) => {
    if (isByPower(say)) {
      const isLow = (say.number('powerW') ?? 0) < (say.number('usualPowerW') ?? 0)
      return isLow
        ? ['The motor does not turn, or its plug is out.', 'The power meter has failed.']
        : ['The motor is stalled or its line is blocked.', 'Something else hangs on the same outlet.']
    }
    if (say.is('isFlat'))
      return ['The sensor stands still: it did not move by one step.', 'The pump is dead.']
    const hasSurge = (say.number('surgePct') ?? 0) >= 2
    return hasSurge
      ? [
          'A hose or cap is off behind the pump, so that the dried air does not reach the engine.',
          'The pump has stopped since it started.',
          'The beads are used up and give back what they take: the pump blows, and what it blows is damp.',
        ]
      : [
          'The pump is dead: the short rise that engine air brings at the start did not come either.',
          'A hose or cap is off.',
        ]
  },
  notMeasured: (say) => [...pumpSource(say), ...noTemperature(say), ...assumedFor(say)],
  decides: () =>
    'Hold a hand to the outlet of the pump: air or no air. With air, follow it to where it is lost.',
  checks: (say) => [
    AT_THE_PROPELLER,
    'Is the pump humming and warm, and does its outlet blow?',
    ...(isByPower(say) ? [AT_THE_MAINS] : []),
    'Are both hoses on at pump, beads and engine, and both caps closed?',
    'Is a hose kinked, or is there water in its low point?',
    ...(say.is('isFlat') ? ['Does the sensor show another number when you breathe on it?'] : []),
    'Open the pump only with its plug pulled: a torn membrane hums but moves nothing.',
  ],
  over: (say) => {
    const nowPct = say.number('nowPct')
    if (say.text('endedBy') === 'power') return 'The pump draws its usual power again.'
    if (say.text('endedBy') === 'surge') return 'Engine air reaches the sensor again: the pump moves air.'
    return nowPct === null
      ? 'The air gets drier again.'
      : `The air gets drier again: ${pct(nowPct)} with the pump on.`
  },
}

/** A ledger is good to some grams: whoever reads it then finds them full, h. */
const FULL_WITHIN_H = 0.5

export const openLoopWords: RuleWords = {
  title: () => 'the loop is open: beads dry the hangar',
  sentence: (say) => {
    const nowPct = say.number('nowPct')
    const ambientPct = say.number('ambientPct')
    const gPerH = say.number('gPerH')
    const days = say.number('daysUntilFull')
    const like = ambientPct === null ? 'steady, as hangar air is' : `like the hangar's ${pct(ambientPct)}`
    const cost = gPerH === null ? '' : ` That costs the beads ${grams(gPerH)} an hour`
    const isFull = days !== null && days * 24 < FULL_WITHIN_H
    const until =
      days === null ? '' : isFull ? ': they are full by now' : `: full in about ${span(days * 24)}`
    return `With the pump on, the air coming back reads ${nowPct === null ? 'high' : pct(nowPct)} since ${say.moment(say.alert.sinceS)}, ${like}.${cost}${cost === '' ? '' : `${until}.`}`
  },
  causes: () => [
    'The hose from the engine to the pump, or the cap it sits in, is off.',
    'The rig runs beside the engine: it was never hooked up again.',
  ],
  notMeasured: (say) => [
    ...(say.text('by') === 'steady' ? ['The hangar air: there is no sensor for it.'] : []),
    'The air inside the engine.',
  ],
  decides: () => 'Close the suction hose with a thumb: the pump labours if the loop is whole up to there.',
  checks: () => [
    AT_THE_PROPELLER,
    'Is the rig hooked up to the engine at all?',
    'Is the hose from the engine on at both ends, and its cap closed?',
    'Is a plug or the dipstick out?',
    'Stop the pump until it is mended: the beads are filling up.',
  ],
  over: () => 'The loop is closed again: the air comes down with the pump on.',
}

export const wetAndIdleWords: RuleWords = {
  title: () => 'air above the band, pump not running',
  sentence: (say) => {
    const nowPct = say.number('nowPct')
    const startPct = say.number('startPct')
    const limit = startPct === null ? 'limit' : pct(startPct)
    const since = say.moment(say.alert.sinceS)
    if (nowPct !== null && startPct !== null && nowPct <= startPct)
      return `The air went above the ${limit} at which the pump should start, from ${since} on, and the pump has not run since; the air is at ${pct(nowPct)} now.${consequence(say)}`
    return `The air is at ${nowPct === null ? 'too much' : pct(nowPct)}, above the ${limit} at which the pump should start, since ${since}, and the pump rests.${consequence(say)}`
  },
  causes: () => [
    'The outlet did not switch: no power, no radio, or its rule is off.',
    'The pump runs and its state is reported wrongly.',
  ],
  notMeasured: (say) => [...noTemperature(say), ...assumedFor(say)],
  decides: () => 'Switch the outlet on by hand: if the pump then runs, it is the rule or the radio.',
  checks: () => [
    "Does the hub's own rule still say: on at the upper limit, off at the lower?",
    'Can you switch the outlet from where you are?',
    'Is there power at the socket? Look at its breaker before anything else.',
    AT_THE_MAINS,
    AT_THE_PROPELLER,
    'Does the pump start when the outlet is switched by hand?',
  ],
  over: (say) => (say.text('endedBy') === 'dry' ? 'The air is back in the band.' : 'The pump runs again.'),
}

export const stuckRunningWords: RuleWords = {
  title: () => 'air below the band, pump still running',
  sentence: (say) => {
    const nowPct = say.number('nowPct')
    const stopPct = say.number('stopPct')
    const isInferred = say.text('pumpBasis') === 'inferred'
    const runsOn = isInferred
      ? 'it gets no wetter, as it would at rest: the pump runs on'
      : 'the pump runs on'
    return `The air is at ${nowPct === null ? 'less' : pct(nowPct)}, below the ${stopPct === null ? 'limit' : pct(stopPct)} at which the pump should stop, since ${say.moment(say.alert.sinceS)}, and ${runsOn}. The engine is not at risk; the pump wears and any leak feeds the beads.`
  },
  causes: () => [
    'The outlet did not switch off: radio, rule, or welded contacts.',
    'Somebody left it switched on by hand.',
  ],
  notMeasured: (say) => (say.text('pumpBasis') === 'inferred' ? pumpSource(say) : []),
  decides: () => 'Switch the outlet off from where you are: if the pump runs on, the contact is stuck.',
  checks: () => [
    'Switch the outlet off from where you are.',
    "Does the hub's own rule still say: off at the lower limit?",
    'Was it left on for a floor check? Then enter one in the logbook.',
    AT_THE_MAINS,
  ],
  over: (say) =>
    say.text('endedBy') === 'wetter' ? 'The air is back in the band.' : 'The pump rests again.',
}

export const bandNotReachedWords: RuleWords = {
  title: () => 'a run that does not reach the band',
  sentence: (say) => {
    const nowPct = say.number('nowPct')
    const stopPct = say.number('stopPct')
    const ranH = say.number('ranH')
    const neededH = say.number('neededH')
    const usual = neededH === null ? '' : `, where ${span(neededH)} should do`
    return `The pump has run for ${ranH === null ? 'long' : span(ranH)}${usual}, and the air has settled at ${nowPct === null ? 'too much' : pct(nowPct)}, above the ${stopPct === null ? 'limit' : pct(stopPct)} at which it stops.`
  },
  causes: causesByShare,
  notMeasured: (say) => ['The air that leaves the beads.', ...noTemperature(say)],
  decides: () => WHAT_TELLS,
  checks: () => [
    AT_THE_PROPELLER,
    'Are all hoses, caps and plugs tight, above all between engine and pump?',
    'Do the beads still have their dry colour? Colour is a hint, not a proof.',
    'Is the column upright and packed, so that air cannot pass beside the beads?',
    'Take a jar of freshly baked beads along.',
    WARM_ENGINE,
  ],
  over: (say) => {
    const nowPct = say.number('nowPct')
    return nowPct === null
      ? 'A run has reached the lower limit again.'
      : `A run has reached the lower limit again: ${pct(nowPct)}.`
  },
}
