/** RFC 8428 sections 5.1.1 to 5.1.7: the RFC's own packs, resolved and read. */
import { expect, test } from 'vitest'
import { findSenml, resolvePack } from '../../src/core/ingest/senml.ts'
import { takeIn } from '../../src/core/ingest/take-in.ts'

const NOW_S = 1_400_000_000
const DEVICE = 'urn:dev:ow:10e2073a01080063'
const RIG = { key: 1, slug: 'kestrel' }

function read(pack: unknown) {
  const found = findSenml(pack, { recipe: null, rigs: [RIG.slug], receivedS: NOW_S })
  if ('problem' in found) throw new Error(found.detail)
  return { found, taken: takeIn(found, { rigs: [RIG], receivedS: NOW_S }) }
}

function resolved(pack: readonly unknown[]) {
  const records = resolvePack(pack, NOW_S)
  if ('pointer' in records) throw new Error(records.detail)
  return records.filter((record) => !('reason' in record))
}

test('5.1.1 single datapoint: relative to now', () => {
  const { taken } = read([{ n: DEVICE, u: 'Cel', v: 23.1 }])
  expect(taken.readings).toMatchObject([{ atS: NOW_S, tempCentiC: 2310, humidityCentiPct: null }])
})

test('5.1.2 a stream with base time and unit', () => {
  const values = [21.2, 21.3, 21.4, 21.4, 21.5, 21.5, 21.5, 21.6, 21.7]
  const pack = values.map((v, index) =>
    index === 0 ? { bn: DEVICE, bt: 1.320067464e9, bu: '%RH', v } : { t: index * 10, v },
  )
  const { taken } = read(pack)
  expect(taken.readings.map((reading) => [reading.atS, reading.humidityCentiPct])).toEqual(
    values.map((v, index) => [1_320_067_464 + index * 10, Math.round(v * 100)]),
  )
})

test('5.1.3 and 5.1.4: humidity among positions and a battery; the others are set aside by name', () => {
  const pack = [
    { bn: DEVICE, bt: 1_320_067_464, bu: '%RH', v: 20 },
    { u: 'lon', v: 24.30621 },
    { u: 'lat', v: 60.07965 },
    { t: 60, v: 20.3 },
    { u: 'lon', t: 60, v: 24.30622 },
    { u: 'lat', t: 60, v: 60.07965 },
    { t: 120, v: 20.7 },
    { u: 'lon', t: 120, v: 24.30623 },
    { u: 'lat', t: 120, v: 60.07966 },
    { u: '%EL', t: 150, v: 98 },
    { t: 180, v: 21.2 },
    { u: 'lon', t: 180, v: 24.30628 },
    { u: 'lat', t: 180, v: 60.07967 },
  ]
  expect(resolved(pack)).toHaveLength(13)
  expect(resolved(pack)[9]).toMatchObject({ n: DEVICE, u: '%EL', t: 1_320_067_614, v: 98 })
  const { taken } = read(pack)
  expect(taken.readings.map((reading) => [reading.atS, reading.humidityCentiPct])).toEqual([
    [1_320_067_464, 2000],
    [1_320_067_524, 2030],
    [1_320_067_584, 2070],
    [1_320_067_644, 2120],
  ])
  expect(taken.setAside.map((entry) => entry.reason)).toEqual(
    Array.from({ length: 9 }, () => 'unknown_field'),
  )
})

test('5.1.5 several kinds of data', () => {
  const { taken } = read([
    { bn: `${DEVICE}:`, n: 'temp', u: 'Cel', v: 23.1 },
    { n: 'label', vs: 'Machine Room' },
    { n: 'open', vb: false },
    { n: 'nfv-reader', vd: 'aGkgCg' },
  ])
  expect(taken.readings).toMatchObject([{ tempCentiC: 2310 }])
  expect(taken.setAside.map((entry) => entry.index)).toEqual([1, 2, 3])
})

test('5.1.6 two devices in one pack: names resolved', () => {
  const pack = [
    { bn: '2001:db8::2/', bt: 1.320078429e9, n: 'temperature', u: 'Cel', v: 25.2 },
    { n: 'humidity', u: '%RH', v: 30 },
    { bn: '2001:db8::1/', n: 'temperature', u: 'Cel', v: 12.3 },
    { n: 'humidity', u: '%RH', v: 67 },
  ]
  expect(resolved(pack).map((record) => [Reflect.get(record, 'n'), Reflect.get(record, 't')])).toEqual([
    ['2001:db8::2/temperature', 1_320_078_429],
    ['2001:db8::2/humidity', 1_320_078_429],
    ['2001:db8::1/temperature', 1_320_078_429],
    ['2001:db8::1/humidity', 1_320_078_429],
  ])
})

test('5.1.7 a base name alone is no record of its own', () => {
  const { found } = read([
    { bn: `${DEVICE}:` },
    { n: 'temp', u: 'Cel', v: 23.1 },
    { n: 'heat', u: '/', v: 1 },
    { n: 'fan', u: '/', v: 0 },
  ])
  expect(found.records).toHaveLength(3)
})

test('4.1 base value is added; 4.5.3 times from 2^28 s on are absolute, below they are relative', () => {
  const pack = [
    { bn: 'a', bu: '%RH', bv: 20, v: 1.5 },
    { v: -0.5, t: -60 },
    { v: 0, t: 268_435_455 },
    { v: 0, t: 268_435_456 },
  ]
  expect(resolved(pack)).toMatchObject([
    { v: 21.5, t: NOW_S },
    { v: 19.5, t: NOW_S - 60 },
    { t: NOW_S + 268_435_455 },
    { t: 268_435_456 },
  ])
})

test('12.1 %RH is per cent, % is a ratio and counts only where the name says humidity', () => {
  const { taken } = read([
    { bn: 'hub/', n: 'ambient/humidity', u: '%', v: 0.43 },
    { n: 'battery', u: '%', v: 0.9 },
    { n: 'return/rh', u: '%RH', v: 9.4 },
    { n: 'return/t', u: 'K', v: 291.15 },
  ])
  expect(taken.readings).toMatchObject([
    { place: 2, humidityCentiPct: 4300 },
    { place: 0, humidityCentiPct: 940 },
    { place: 0, tempCentiC: 1800 },
  ])
  expect(taken.setAside).toMatchObject([{ index: 1, reason: 'unknown_field' }])
})

test('4.4 what must be understood and is not stops the pack: a label ending in _, a newer version', () => {
  const source = { recipe: null, rigs: [RIG.slug], receivedS: NOW_S }
  expect(findSenml([{ n: 'a', u: 'Cel', v: 1, foo_: 1 }], source)).toMatchObject({
    problem: 'no_record',
    errors: [{ pointer: '/0/foo_' }],
  })
  expect(findSenml([{ bver: 11, n: 'a', u: 'Cel', v: 1 }], source)).toMatchObject({
    errors: [{ pointer: '/0/bver' }],
  })
  expect(read([{ bver: 10, n: 'a', u: 'Cel', v: 1, foo: 1 }]).taken.readings).toHaveLength(1)
})

test('12.1 a unit says what a number is, whatever else its name says: watts of a pump, humidity of its box', () => {
  const { taken } = read([
    { bn: 'hub:pump:', bt: 1_390_000_000, n: 'power', u: 'W', v: 4.1 },
    { n: 'humidity', u: '%RH', v: 11 },
    { n: 'box', u: 'Cel', v: 20 },
    { n: 'state', vb: true },
  ])
  expect(taken.setAside).toEqual([])
  expect(taken.readings).toMatchObject([
    { powerDeciW: 41, pumpOn: null },
    { humidityCentiPct: 1100, pumpOn: null },
    { tempCentiC: 2000, pumpOn: null },
    { pumpOn: 1 },
  ])
  expect(read([{ n: 'pump', u: 'W', v: 1 }]).taken.readings).toMatchObject([{ powerDeciW: 10, pumpOn: null }])
  const words = [{ v: 1 }, { vs: 'on' }, { u: '/', v: 1 }].map((value) => Object.assign({ n: 'pump' }, value))
  for (const record of words) expect(read([record]).taken.readings).toMatchObject([{ pumpOn: 1 }])
  // The base unit is that of the measurements beside it.
  const mixed = [
    { bn: 'hub/', bu: '%RH', n: 'return', v: 11 },
    { n: 'pump', v: 1 },
  ]
  expect(read(mixed).taken.readings).toMatchObject([{ humidityCentiPct: 1100 }, { pumpOn: 1 }])
})
