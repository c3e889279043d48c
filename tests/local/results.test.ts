import { expect, test } from 'vitest'
import { countResults, type Report } from '../results.ts'

const report = (...files: [string, string[]][]): Report => ({
  testResults: files.map(([status, statuses], i) => ({
    name: `file-${i}`,
    status,
    assertionResults: statuses.map((each, j) => ({ fullName: `test ${i}.${j}`, status: each })),
  })),
})
const quiet = { runnerStatus: 0, noSkips: false }

test('passed, failed and skipped tests are counted', () => {
  const counted = countResults(
    report(['failed', ['passed', 'failed']], ['passed', ['passed', 'pending', 'todo']]),
    {
      ...quiet,
      runnerStatus: 1,
    },
  )
  expect(counted).toEqual({ passed: 2, failed: 1, skipped: ['test 1.1', 'test 1.2'], broken: [] })
})

test('a file that does not load is a failure although it has no failed test', () => {
  const counted = countResults(report(['failed', []], ['passed', ['passed']]), { ...quiet, runnerStatus: 1 })
  expect(counted).toMatchObject({ passed: 1, failed: 1, broken: ['file-0'] })
})

test('a bad end of the runner is a failure although every test passed', () => {
  expect(countResults(report(['passed', ['passed']]), { ...quiet, runnerStatus: 1 }).failed).toBe(1)
  expect(countResults(report(['passed', ['passed']]), { ...quiet, runnerStatus: null }).failed).toBe(1)
})

test('no report and no test at all are failures', () => {
  expect(countResults(null, quiet).failed).toBe(1)
  expect(countResults(report(), quiet).failed).toBe(1)
})

test('a skipped test fails where nothing may be skipped', () => {
  const skipping = report(['passed', ['passed', 'skipped']])
  expect(countResults(skipping, quiet).failed).toBe(0)
  expect(countResults(skipping, { ...quiet, noSkips: true })).toMatchObject({ passed: 1, failed: 1 })
})
