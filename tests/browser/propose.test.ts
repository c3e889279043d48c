import { describe, expect, test } from 'vitest'
import { proposeRecipe } from '../../clients/web/src/screens/hub/propose.ts'

const json = (value: unknown): { body: string; contentType: string } => ({
  body: JSON.stringify(value),
  contentType: 'application/json',
})

describe('a recipe proposed from a post', () => {
  test.each([
    [
      'flat, a fraction and kelvin',
      json({ humidity: 0.113, temp: 291.3 }),
      { humidity: { from: '/humidity', unit: '1' }, temperature: { from: '/temp', unit: 'K' } },
    ],
    [
      'nested, names with slashes are escaped',
      json({ 'a/b': { rh: 12, temperature: 18 } }),
      { humidity: { from: '/a~1b/rh', unit: '%' }, temperature: { from: '/a~1b/temperature', unit: 'degC' } },
    ],
    [
      'a list of records, milliseconds and degF by its size',
      json({ readings: [{ t_ms: 1, time: 1798000000000, hum: 12, tmp: 64 }] }),
      {
        each: '/readings',
        at: { from: '/time', unit: 'ms' },
        temperature: { from: '/tmp', unit: 'degF' },
      },
    ],
    ['text times', json({ at: '2026-11-25T09:00:00Z', hum: 12 }), { at: { from: '/at', unit: 'rfc3339' } }],
    [
      'a form',
      { body: 'hum=12.1&tmp=18&relay=on&watts=4.2', contentType: 'application/x-www-form-urlencoded' },
      {
        humidity: { from: '/hum', unit: '%' },
        pump: { from: '/relay' },
        power: { from: '/watts', unit: 'W' },
      },
    ],
  ])('%s', (_, post, wanted) => {
    expect(proposeRecipe(post, ['qx-flo'])).toMatchObject(wanted)
  })

  test('the device’s own name is matched to a rig where there are several', () => {
    const proposed = proposeRecipe(json({ dev: 'a1', hum: 12 }), ['qx-flo', 'qx-two'])
    expect(proposed).toMatchObject({ rig: { from: '/dev', match: { a1: 'qx-flo' } } })
  })

  test.each([
    ['no JSON', { body: 'hello', contentType: 'text/plain' }],
    ['no air in it', json({ voltage: 3.3 })],
    ['a word where the humidity should be', json({ hum: 'unavailable' })],
  ])('nothing is proposed from %s', (_, post) => {
    expect(proposeRecipe(post, ['qx-flo'])).toBeNull()
  })
})
