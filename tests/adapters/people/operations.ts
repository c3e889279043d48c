/** Every operation with its schemas, by the line that calls it. */
import type { OperationConfig } from '../../../src/adapters/http/operation.ts'
import { alertOperations } from '../../../src/adapters/http/schemas/alerts.ts'
import { deviceOperations } from '../../../src/adapters/http/schemas/devices.ts'
import { exportOperations } from '../../../src/adapters/http/schemas/exports.ts'
import { hangarOperations, inviteOperations } from '../../../src/adapters/http/schemas/hangars.ts'
import { healthOperations } from '../../../src/adapters/http/schemas/health.ts'
import { historyOperations } from '../../../src/adapters/http/schemas/history.ts'
import { logbookOperations } from '../../../src/adapters/http/schemas/logbook.ts'
import { meOperations, passkeyOperations } from '../../../src/adapters/http/schemas/me.ts'
import { rigOperations } from '../../../src/adapters/http/schemas/rigs.ts'
import { sizingOperations } from '../../../src/adapters/http/schemas/sizing.ts'
import { sourceOperations } from '../../../src/adapters/http/schemas/sources.ts'

const all: readonly OperationConfig[] = [
  alertOperations,
  deviceOperations,
  exportOperations,
  hangarOperations,
  healthOperations,
  historyOperations,
  inviteOperations,
  logbookOperations,
  meOperations,
  passkeyOperations,
  rigOperations,
  sizingOperations,
  sourceOperations,
].flatMap((group) => Object.values(group))

export const operationByLine: ReadonlyMap<string, OperationConfig> = new Map(
  all.map((one) => [`${one.method.toUpperCase()} ${one.path}`, one]),
)
