import * as z from 'zod'

/** The part of the runner's JSON report that is counted. */
export const reportSchema = z.object({
  testResults: z.array(
    z.object({
      name: z.string(),
      status: z.string(),
      assertionResults: z.array(z.object({ fullName: z.string(), status: z.string() })),
    }),
  ),
})
export type Report = z.infer<typeof reportSchema>

export type Counted = {
  readonly passed: number
  readonly failed: number
  /** Tests that did not run here. */
  readonly skipped: readonly string[]
  /** Failures that are no test of their own: a file that does not load, an error between tests, a forbidden skip. */
  readonly broken: readonly string[]
}

/**
 * Counts a report so that nothing can hide: a file without a single result, a runner that ended badly although
 * every test passed, a run in which nothing passed, and (where skipping is forbidden) a skipped test all fail.
 */
export function countResults(
  report: Report | null,
  { runnerStatus, noSkips }: { runnerStatus: number | null; noSkips: boolean },
): Counted {
  const files = report?.testResults ?? []
  const tests = files.flatMap((file) => file.assertionResults)
  const passed = tests.filter((test) => test.status === 'passed').length
  const skipped = tests
    .filter((test) => test.status !== 'passed' && test.status !== 'failed')
    .map((test) => test.fullName)
  const broken = files
    .filter(
      (file) => file.status === 'failed' && file.assertionResults.every((test) => test.status !== 'failed'),
    )
    .map((file) => file.name)
  if (noSkips) broken.push(...skipped.map((name) => `${name} (skipped where nothing may be)`))
  const failedTests = tests.filter((test) => test.status === 'failed').length
  const isUnexplained = failedTests + broken.length === 0 && (runnerStatus !== 0 || passed === 0)
  if (isUnexplained) broken.push(`the test runner ended with ${runnerStatus ?? 'a signal'}`)
  return { passed, failed: failedTests + broken.length, skipped, broken }
}
