import { expect, test } from 'vitest'
import { readRigFile } from '../../../src/core/rig-file/rig-file.ts'

test('the band alone is a rig; nothing about its parts is made up', () => {
  expect(readRigFile({ band: { start: 15, stop: 6 } })).toEqual({
    ok: true,
    unknownKeys: [],
    settings: {
      band: { startPct: 15, stopPct: 6 },
      beadMassG: null,
      beadKind: 'regular-gel',
      volumeL: null,
      flowLPerMin: null,
      reportEveryS: null,
      elevationM: 0,
      pumpOnW: null,
      switchTolPct: 1,
      sensorSits: null,
      boxL: 2,
      ambient: null,
    },
  })
})

test('unknown keys are named, not refused', () => {
  expect(readRigFile({ band: { start: 15, stop: 6 }, colour: 1 })).toMatchObject({ unknownKeys: ['colour'] })
})

test.each([
  [null, ['']],
  [[], ['']],
  [{}, ['/band']],
  [{ band: 3 }, ['/band']],
  [{ band: { start: 15 } }, ['/band/stop']],
  [{ band: { start: 6, stop: 15 } }, ['/band/start']],
  [{ band: { start: 15, stop: 6 }, volumeL: '45' }, ['/volumeL']],
  [{ band: { start: 15, stop: 6 }, volumeL: Number.NaN, flowLPerMin: 0 }, ['/volumeL', '/flowLPerMin']],
  [{ band: { start: 15, stop: 6 }, sensorSits: 'wing' }, ['/sensorSits']],
  [{ band: { start: 15, stop: 6 }, ambient: { humidity: 60 } }, ['/ambient/temperature']],
])('%j is refused with the place', (file, pointers) => {
  const read = readRigFile(file)
  expect(read.ok ? [] : read.problems.map((problem) => problem.pointer)).toEqual(pointers)
})
