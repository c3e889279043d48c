/** A reason not to start that the person at the terminal can act on: shown as one sentence, without a stack. */
export class StartError extends Error {}

/** The `code` of a failed system call, such as `EADDRINUSE`, or null. */
export function systemCode(error: unknown): string | null {
  return error instanceof Error && 'code' in error && typeof error.code === 'string' ? error.code : null
}
