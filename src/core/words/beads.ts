import { AT_THE_OVEN, AT_THE_PROPELLER } from './cautions.ts'
import { causesByShare, consequence, WHAT_TELLS } from './consequence.ts'
import type { RuleWords, Say } from './say.ts'
import { date, grams, number, pct, span } from './tongue.ts'

export const floorRisingWords: RuleWords = {
  title: () => 'runs take longer: the floor is rising',
  sentence: (say) => {
    const ratio = say.number('runTimeRatio')
    const checkPct = say.number('floorCheckPct')
    if (say.text('by') === 'floor-check' && checkPct !== null) {
      const stopPct = say.number('stopPct')
      return `With the pump kept on, the air settled at ${pct(checkPct)}${stopPct === null ? '' : `, too near the ${pct(stopPct)} at which a run should end`}.`
    }
    return ratio === null
      ? 'The runs take much longer than when these beads were fresh.'
      : `The runs now take ${number(ratio, 1)} times as long as in the first two weeks of these beads.`
  },
  causes: causesByShare,
  notMeasured: (say) => [
    'The air that leaves the beads.',
    ...(say.text('by') === 'floor-check'
      ? []
      : ['Where the air would settle: the pump stops before it gets there.']),
  ],
  decides: () => WHAT_TELLS,
  checks: () => [
    'Enter a floor check: keep the pump on for 4 hours.',
    'Take a jar of freshly baked beads along.',
    AT_THE_PROPELLER,
    'Are all hoses, caps and plugs tight, above all between engine and pump?',
    'If fresh beads change nothing: a salt check of the sensor.',
  ],
  over: (say) => {
    if (say.text('endedBy') === 'new fill') return 'New beads are in.'
    return say.text('takenOverBy') === 'leak'
      ? 'It is a leak: see there.'
      : say.text('takenOverBy') === null
        ? 'The runs are short again.'
        : 'The beads are nearly used up: see there.'
  },
}

function leftSentence(say: Say): string {
  const flights = say.number('flightsLeftMid')
  const days = say.number('daysLeftMid')
  const emptyAtS = say.number('emptyAtS')
  const when =
    emptyAtS === null || emptyAtS <= say.nowS ? '' : `, about ${date(emptyAtS, say.tongue, say.nowS)}`
  if ((flights !== null && flights < 0.5) || (days !== null && days < 0.5)) return 'The beads are used up'
  if (flights !== null)
    return `The beads are good for about ${flights < 1.5 ? 'one more flight' : `${number(flights, 0)} more flights`}${when}`
  return days === null
    ? 'The beads are nearly used up'
    : `The beads are good for about ${span(days * 24)} more${when}`
}

export const beadsSpentWords: RuleWords = {
  title: () => 'bake or change the beads',
  sentence: (say) => {
    const supplyPct = say.number('supplyPct')
    const floorCheckPct = say.number('floorCheckPct')
    const stopPct = say.number('stopPct')
    const takenUpG = say.number('takenUpG')
    const capacityG = say.number('capacityG')
    const wetSinceS = say.number('metalWetSinceS')
    const ledger =
      takenUpG === null || capacityG === null
        ? ''
        : ` They have taken up ${grams(takenUpG)} of about ${grams(capacityG)}.`
    const wet =
      say.alert.urgency === 'now' && wetSinceS !== null
        ? ` The air at the coldest metal is over 40 % since ${say.moment(wetSinceS)}.`
        : ''
    if (say.text('by') === 'supply' && supplyPct !== null) {
      return `The air leaving the beads reads ${pct(supplyPct)}${stopPct === null ? '' : `, over ${pct(stopPct)}`}: they are used up.${ledger}${wet}`
    }
    if (say.text('by') === 'floor-check' && floorCheckPct !== null) {
      return `With the pump kept on, the air settled at ${pct(floorCheckPct)}${stopPct === null ? '' : `, above the ${pct(stopPct)} at which a run should end`}.${ledger}${wet}`
    }
    const front =
      say.text('by') === 'front' ? ' By the length of the runs, the air leaving them has begun to rise.' : ''
    return `${leftSentence(say)}.${front}${ledger}${wet}`
  },
  causes: (say) => [
    'Flights and leakage have filled them, as they are meant to.',
    'A leak has filled them early: compare with the last fill.',
    ...(say.text('by') === 'floor-check'
      ? ['A leak, or a sensor that reads high, with beads in order.']
      : []),
  ],
  notMeasured: (say) => [
    ...(say.text('by') === 'supply'
      ? []
      : ['The air that leaves the beads: it stays dry until roughly the last fifth of a fill.']),
    'What is in the beads: it is counted, not weighed.',
  ],
  decides: () => 'Weigh the jar before and after the bake: the difference is what was in it.',
  checks: () => [
    'Bring a baked jar and change the beads, or bake these.',
    AT_THE_OVEN,
    'Weigh the jar before and after the bake, and enter both.',
    'Look for dust in the filter and water in the drip leg.',
  ],
  over: (say) =>
    say.text('endedBy') === 'new fill'
      ? 'New beads are in.'
      : 'There is more room in the beads than it looked.',
}

export const leakWords: RuleWords = {
  title: (say) =>
    say.text('by') === 'never sealed' ? 'the loop does not seal' : 'hangar air leaks into the engine',
  sentence: (say) => {
    const times = say.number('timesUsual')
    const litres = say.number('ingressLPerH')
    const rate = litres === null ? '' : ` About ${number(litres, 1)} L of hangar air an hour.`
    if (say.text('by') === 'never sealed' || times === null) {
      return `Hangar air gets into the loop faster than a closed one lets it.${rate}${consequence(say)}`
    }
    return `Hangar air gets in ${number(times, times < 10 ? 1 : 0)} times as fast as usual on this rig since ${say.moment(say.alert.sinceS)}.${rate}${consequence(say)}`
  },
  causes: () => [
    'A plug, a cap or a hose end does not close: the breather, the oil filler, the dipstick.',
    'A cracked hose or a seal of the box.',
  ],
  notMeasured: (say) => [
    ...(say.is('isAmbientMeasured') ? [] : ["The hangar air: taken from the rig's climate."]),
    'Where it gets in.',
  ],
  decides: () =>
    'Close the loop section by section for one rest each: the section that stops the climb has the leak.',
  checks: () => [
    AT_THE_PROPELLER,
    'Is the dipstick seated and the filler cap closed over its hose?',
    "Is the breather's fitting tight, and whatever covers its ice-relief hole still on?",
    'Hoses: ends, cracks, clamps; the lid of the box.',
    'Was anything opened on the engine since it began?',
  ],
  over: () => 'The air stays dry between runs again.',
}

function byRunsSentence(say: Say): string {
  const before = say.number('floorBeforePct')
  const after = say.number('floorAfterPct')
  const floors =
    before === null || after === null ? null : `heading for ${pct(after)} instead of ${pct(before)}`
  const seen = say.is('isQuicker') ? `much shorter${floors === null ? '' : `, ${floors},`}` : floors
  return `The runs are suddenly ${seen ?? 'different'} since the rig was off at ${say.time('offAtS')}. Were the beads changed or baked then? Enter it; until then there is no forecast.`
}

function byLedgerSentence(say: Say): string {
  const usedUpAtS = say.number('usedUpAtS')
  const endPct = say.number('endPct')
  const since = usedUpAtS === null ? '' : ` since ${date(usedUpAtS, say.tongue, say.nowS)}`
  const ends = endPct === null ? 'runs still end where they should' : `runs still end at ${pct(endPct)}`
  return `By the water counted these beads are used up${since}, and yet ${ends}. Were they changed or baked without an entry? Enter it; until then there is no forecast.`
}

const isByLedger = (say: Say): boolean => say.text('by') === 'ledger'

export const swappedWords: RuleWords = {
  title: () => 'were the beads changed?',
  sentence: (say) => (isByLedger(say) ? byLedgerSentence(say) : byRunsSentence(say)),
  causes: (say) => [
    'Fresh beads without a line in the logbook.',
    isByLedger(say)
      ? 'More water is counted than the beads took up: by the flow or the sensor.'
      : 'A leak was closed.',
  ],
  notMeasured: (say) => [
    isByLedger(say)
      ? 'What is in the beads: it is counted, not weighed.'
      : 'What was done while the rig was off.',
  ],
  decides: (say) =>
    isByLedger(say)
      ? 'A line in the logbook: bake or beads. If nothing was changed: the weight of the jar before and after the next bake.'
      : 'A line in the logbook: bake or beads. If nothing was changed, nothing need be entered: it is asked for two weeks.',
  checks: () => ['Ask who was at the rig.', 'Enter the bake or the new beads with their date.'],
  over: (say) => {
    if (say.text('endedBy') === 'new fill') return 'The new beads are in the logbook.'
    return say.text('endedBy') === 'ledger'
      ? 'The water counted and the runs agree again.'
      : 'Nobody has answered: counted on as if nothing had been changed.'
  },
}
