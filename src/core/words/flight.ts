import { AT_THE_PROPELLER, NO_START, WARM_ENGINE } from './cautions.ts'
import type { RuleWords, Say } from './say.ts'
import { grams, number, pct, span } from './tongue.ts'

/** Nothing ends the `off` but an entry: which of the two it is, only the owner knows. */
function cyclingSentence(say: Say): string {
  const flown = say.number('flightAtS') === null ? '' : ` It has flown at ${say.time('flightAtS')}.`
  const cycles = say.text('pumpBasis') === 'inferred' ? 'seems to cycle and dry' : 'cycles and dries'
  return `The logbook says the rig is off since ${say.time('offSinceS')}, but its pump ${cycles}: if it is back on the engine, enter \`on\`.${flown}`
}

/** Runs that are too few, or too quick, for those of an engine: joined hoses have them too. */
function notEnteredSentence(say: Say, after: string, runs: number): string {
  const dried = say.text('pumpBasis') === 'inferred' ? 'seems to have dried' : 'has dried'
  const times = runs === 1 ? 'once' : `${number(runs, 0)} times`
  return `Flown at ${say.time('flightAtS')}, and nothing is entered of the rig being back${after}. Its pump ${dried} air ${times} since, as it also would on joined hoses: if it is back on the engine, enter \`on\`.`
}

export const leftOffWords: RuleWords = {
  title: (say) => (say.is('isCycling') ? 'logged off, and the pump cycles' : 'not back on after the flight'),
  sentence: (say) => {
    if (say.is('isCycling')) return cyclingSentence(say)
    const waitedH = say.number('waitedH')
    const after = waitedH === null ? '' : ` after ${span(waitedH)}`
    const runs = say.number('runs') ?? 0
    if (say.is('isLoggedOff') && runs > 0) return notEnteredSentence(say, after, runs)
    return `Flown at ${say.time('flightAtS')}, and the rig is not back on the engine${after}: no entry, and no run that shows it.`
  },
  causes: (say) =>
    say.is('isCycling')
      ? [
          'The rig is back on, and nobody has entered it.',
          'The pump runs on joined hoses, beside the engine.',
        ]
      : say.is('isLoggedOff')
        ? [
            'The rig was taken off for the flight and is still off.',
            ...((say.number('runs') ?? 0) > 0 ? ['It is back on, and nobody has entered it.'] : []),
          ]
        : ['The rig was not hooked up again.', 'It is on, and the pump does not run.'],
  notMeasured: (say) =>
    say.is('isCycling')
      ? ['Whether the hoses are on the engine. While it is logged off nothing is judged.']
      : ['The air in the engine since the flight.'],
  decides: (say) =>
    say.is('isCycling') ? 'An entry `on`.' : 'An entry `on`, or one run whose air comes down.',
  checks: (say) => [
    ...(say.is('isCycling') ? ['Back on the engine? Enter `on`, with the time it was hooked up.'] : []),
    WARM_ENGINE,
    AT_THE_PROPELLER,
    'Hook up both hoses, close the caps, hang up the streamer, and enter `on`.',
    'Away with the aircraft? Enter `away`.',
    NO_START,
  ],
  over: (say) =>
    say.text('endedBy') === 'away' ? 'The aircraft is away.' : 'The rig is back on the engine.',
}

function tookWords(say: Say, word: 'in' | 'after'): string {
  const tookH = say.number('tookH')
  return tookH === null ? '' : ` ${word} ${span(tookH)}`
}

/** What is told while the air has come down and the rest of the water follows. */
function afterPlateau(say: Say): string {
  const nowPct = say.number('nowPct')
  const movedG = say.number('movedG')
  const seen = nowPct === null ? '' : `: ${pct(nowPct)} at ${say.time('nowAtS')}`
  const water = movedG === null ? '' : `, about ${grams(movedG)} of water so far`
  return `The plateau after the flight is over${seen}${water}. What drops and films still hold comes out within about a day.`
}

/** The air has not come down: the plateau was no evaporation, or cannot be told from it any longer. */
function stillWet(say: Say): string {
  const nowPct = say.number('nowPct')
  const wet = `Still wet${tookWords(say, 'after')}${nowPct === null ? '' : `, ${pct(nowPct)} in the return air`}`
  return say.is('isTimedOut') || say.is('isSpent')
    ? `${wet}: longer than the water of a flight takes. The pump is judged again.`
    : `${wet}, and the air does not look as if the pump moved it. The pump is judged again.`
}

function unfinished(say: Say, took: string, reads: string): string {
  const movedG = say.number('movedG')
  const water =
    movedG === null
      ? 'The plateau after the flight is over'
      : `About ${grams(movedG)} of water came out${took}`
  const stopPct = say.number('stopPct')
  const limit = stopPct === null ? 'the lower limit' : pct(stopPct)
  return `${water}, and no run has come down to ${limit} since the flight: more may follow${reads}.`
}

export const wetAfterFlightWords: RuleWords = {
  title: () => 'wet after the flight, drying',
  sentence: (say) => {
    if (say.alert.evidence['isPlateau'] === false) return afterPlateau(say)
    const nowPct = say.number('nowPct')
    const expectedH = say.number('expectedH')
    const expected =
      expectedH === null ? '' : `; at this flow and temperature it takes about ${span(expectedH)}`
    const at = say.time(say.number('nowAtS') === null ? 'openedAtS' : 'nowAtS')
    const plateau = nowPct === null ? 'a high plateau' : `a plateau of ${pct(nowPct)}, as at ${at},`
    return `Water of the flight is coming out: ${plateau} is normal${expected}.`
  },
  causes: () => ['Liquid water evaporates in the engine.'],
  notMeasured: (say) => (say.number('movedG') === null ? ['The water moved: the flow is not stated.'] : []),
  decides: (say) =>
    say.alert.evidence['isPlateau'] === false
      ? 'A run that comes down to the lower limit, and a day in which drops and films give back what they hold.'
      : 'The plateau ends by itself. If it does not within the water budget, the pump is looked at.',
  checks: () => ['Nothing to do.'],
  over: (say) => {
    const movedG = say.number('movedG')
    const nowPct = say.number('nowPct')
    const took = tookWords(say, 'in')
    const reads = nowPct === null ? '' : `; the return air reads ${pct(nowPct)}`
    if (say.text('endedBy') === 'flown again')
      return `Flown again${tookWords(say, 'after')}${movedG === null ? '' : `: until then about ${grams(movedG)} of water came out`}.`
    if (!say.is('isDried')) return stillWet(say)
    if (say.text('endedBy') === 'no stop') return unfinished(say, took, reads)
    const water =
      movedG === null
        ? 'The water of the flight is out'
        : `About ${grams(movedG)} of water came out after the flight`
    return `${water}${took}${reads}.`
  },
}

export const condensingWords: RuleWords = {
  title: () => 'hangar air condenses on the engine',
  sentence: (say) => {
    const ambientPct = say.number('ambientPct')
    const ambientTempC = say.number('ambientTempC')
    const metalTempC = say.number('metalTempC')
    const air =
      ambientPct === null || ambientTempC === null
        ? 'The hangar air'
        : `The hangar air (${pct(ambientPct)} at ${say.temp(ambientTempC)})`
    const metal =
      metalTempC === null ? 'the cold engine' : `the engine, still at about ${say.temp(metalTempC)}`
    return `${air} leaves dew on ${metal}, since ${say.moment(say.alert.sinceS)}${say.is('withLeak') ? ', and it can get in' : ', and the rig is off'}.`
  },
  causes: () => ['Warm, damp air has come over cold metal.'],
  notMeasured: () => ["The metal's temperature: taken as the hangar's, four hours behind."],
  decides: () => 'A hand on the crankcase: wet or dry.',
  checks: (say) => [
    say.is('withLeak') ? 'Mend the leak first.' : 'Put the rig back on as soon as the aircraft stays.',
    AT_THE_PROPELLER,
    'Keep the hangar door closed until the engine has warmed.',
  ],
  over: () => 'The metal is above the dew point again.',
}
