/** What the numbers behind an alert are called, and how each is written. The names are those of `src/core/rules`. */
import type { Evidence } from '../../shapes.ts'
import { grams, humidity, number, temperature, temperatureUnit, withUnit } from '../../units.ts'
import { moment } from '../../when.ts'

type Write = (value: number) => string

const when: Write = (v) => moment(v * 1000)
const overHours: Write = (v) => withUnit(v, v < 10 ? 1 : 0, 'h')
const overDays: Write = (v) => withUnit(v, v < 10 ? 1 : 0, v === 1 ? 'day' : 'days')
const watts: Write = (v) => withUnit(v, 1, 'W')
const share: Write = (v) => withUnit(v * 100, 0, '%')
const airPerHour: Write = (v) => withUnit(v * 100, 1, '% of the air an hour')
const times: Write = (v) => `${number(v, 1)} times`
const count: Write = (v) => number(v, 0)
const flights: Write = (v) => `${number(v, v < 10 ? 1 : 0)} ${v === 1 ? 'flight' : 'flights'}`
const kelvin: Write = (v) =>
  temperatureUnit.value === 'degF' ? withUnit(v * 1.8, 1, '°F') : withUnit(v, 1, '°C')

/** Yes, no, and words: what is written is the value itself. */
const asSaid = null

const names: Readonly<Record<string, readonly [string, Write | null]>> = {
  by: ['Told by', asSaid],
  endedBy: ['Ended by', asSaid],
  takenOverBy: ['Goes on as', asSaid],
  assumed: ['Assumed', asSaid],
  pumpBasis: ['The pump’s state is', asSaid],
  isFlat: ['Every reading the same', asSaid],
  isQuicker: ['Runs got shorter', asSaid],
  isAmbientMeasured: ['Hangar air is measured', asSaid],
  isLoggedOff: ['Logged as off', asSaid],
  isCycling: ['The pump goes on and off', asSaid],
  isPlateau: ['On the plateau', asSaid],
  isDried: ['Came down from the plateau', asSaid],
  isSpent: ['As much as an engine can hold', asSaid],
  isTimedOut: ['Took longer than its water does', asSaid],
  withLeak: ['Hangar air gets in', asSaid],

  nowPct: ['Air now', humidity],
  nowAtS: ['Last reading', when],
  fromPct: ['Air at first', humidity],
  fromAtS: ['Compared since', when],
  pct: ['Air', humidity],
  lastPct: ['Air when last heard', humidity],
  endPct: ['Air at the end of the run', humidity],
  tempC: ['Temperature of the air', temperature],
  tempSpanC: ['Temperature moved by', kelvin],
  floorPct: ['Floor the air could reach', humidity],
  surgePct: ['Rise after the start', humidity],
  dropShare: ['Share of the way down', share],
  startPct: ['The band’s start', humidity],
  stopPct: ['The band’s stop', humidity],
  limitPct: ['Limit', humidity],
  stepPct: ['Step of the sensor', (v) => humidity(v, 2)],
  slopePctPerH: ['Still moving by', (v) => withUnit(v, 2, '% RH an hour')],
  ambientPct: ['Hangar air', humidity],
  ambientTempC: ['Temperature of the hangar air', temperature],
  supplyPct: ['Air from the beads', humidity],
  floorCheckPct: ['Floor check', humidity],
  floorBeforePct: ['Floor before', humidity],
  floorAfterPct: ['Floor after', humidity],

  metalPct: ['Humidity at the coldest metal', humidity],
  metalLimitPct: ['The metal is heading for', humidity],
  metalTempC: ['Temperature of the metal', temperature],
  metalWetSinceS: ['Metal wet since', when],
  t40H: ['Until the metal is at 40 %, at the earliest', overHours],
  passes40AtS: ['The metal at 40 %, at the earliest', when],

  runFromS: ['Pump on since', when],
  ranH: ['Ran for', overHours],
  neededH: ['A run should need', overHours],
  pumpRestsSinceS: ['Pump at rest since', when],
  lastRunS: ['Last run', when],
  offSinceS: ['Logged off since', when],
  runs: ['Runs that dried since', count],
  powerW: ['Power', watts],
  usualPowerW: ['Usual power', watts],
  runTimeRatio: ['Runs last, against the fill’s first', times],
  limitRatio: ['Told from', times],
  timeShare: ['Run time against before', share],

  beadsShare: ['Likely the beads', share],
  leakShare: ['Likely a leak', share],
  suctionLeakShare: ['Likely a leak before the pump', share],
  sensorShare: ['Likely the sensor', share],

  takenUpG: ['Water taken up', grams],
  capacityG: ['May be taken up', grams],
  flightsLeftLow: ['Flights left, at least', flights],
  flightsLeftMid: ['Flights left', flights],
  flightsLeftHigh: ['Flights left, at most', flights],
  daysLeftLow: ['Time left, at least', overDays],
  daysLeftMid: ['Time left', overDays],
  daysLeftHigh: ['Time left, at most', overDays],
  emptyAtS: ['Used up about', when],
  usedUpAtS: ['Used up by the ledger since', when],
  fillFromS: ['Beads in use since', when],
  daysUntilFull: ['Until the beads are full', overDays],
  gPerH: ['Water into the beads', (v) => withUnit(v, 2, 'g/h')],

  ingressPerH: ['Hangar air getting in', airPerHour],
  ingressHighPerH: ['Hangar air getting in, at most', airPerHour],
  ingressLPerH: ['Hangar air getting in', (v) => withUnit(v, 1, 'L/h')],
  usualPerH: ['Usually', airPerHour],
  timesUsual: ['Against the usual', times],
  days: ['Changed for', overDays],

  hours: ['The same for', overHours],
  longestH: ['Longest before', overHours],
  readings: ['Readings in a row', count],
  expectedPct: ['Should have moved by', (v) => humidity(v, 1)],
  expectedBy: ['Because of', asSaid],
  spikes: ['Jumps', count],
  spikePct: ['Jump to', humidity],
  spikeC: ['Jump to a temperature of', temperature],
  lastSpikeS: ['Last jump', when],

  lastHeardS: ['Last heard', when],
  otherHeardS: ['Another sensor last heard', when],
  limitH: ['May be silent for', overHours],
  nowAfterS: ['Cannot wait from', when],

  flightAtS: ['Landed', when],
  waitedH: ['Waited for', overHours],
  offAtS: ['Rig off at', when],
  openedAtS: ['Wet since', when],
  doneAtS: ['Done at', when],
  movedG: ['Water into the beads since', grams],
  budgetG: ['Water to be expected', grams],
  expectedH: ['Expected to take', overHours],
  tookH: ['Took', overHours],
}

/** What a rule says in a word, where that word is its own. */
const values: Readonly<Record<string, string>> = {
  power: 'the pump’s power',
  drop: 'the air’s way down',
  surge: 'the rise after the start',
  ambient: 'likeness to the hangar air',
  steady: 'air that does not move',
  supply: 'the air from the beads',
  front: 'what runs are heading for',
  ledger: 'the ledger of the fill',
  forecast: 'the forecast',
  change: 'a change against the usual',
  'run-time': 'how long runs last',
  runs: 'the runs before and after',
  'floor-check': 'the floor check',
  run: 'the run',
  warmth: 'the temperature',
  ingress: 'hangar air getting in',
  changed: 'a reading that moved',
}

export function isNamed(name: string): boolean {
  return Object.hasOwn(names, name)
}

/** An alert that is kept from a former version may have a name that no rule has any more: shown as it can be read. */
export function words(name: string): string {
  const spaced = name.replace(/([a-z0-9])([A-Z])/g, '$1 $2').toLowerCase()
  return names[name]?.[0] ?? spaced.charAt(0).toUpperCase() + spaced.slice(1)
}

export function valueText(name: string, value: Evidence[string]): string {
  if (value === null) return 'not known'
  if (typeof value === 'boolean') return value ? 'yes' : 'no'
  if (typeof value === 'string') return values[value] ?? value
  return names[name]?.[1]?.(value) ?? number(value, Number.isInteger(value) ? 0 : 2)
}

/** In the order of the rule; without what nobody assumed or took over. */
export function namesShown(evidence: Evidence): string[] {
  return Object.keys(evidence).filter(
    (name) => evidence[name] !== null || (name !== 'assumed' && name !== 'takenOverBy'),
  )
}
