/** Taking everything along. */
import { operation } from '../operation.ts'

export const exportOperations = {
  exportRig: operation({
    method: 'get',
    path: '/v1/rigs/{rig}/export.csv',
    access: 'watcher',
    summary: 'All readings of a rig as CSV, in the form that POST /v1/readings takes',
    media: 'text/csv',
  }),
  exportHangar: operation({
    method: 'get',
    path: '/v1/hangars/{hangar}/export',
    access: 'keeper',
    summary: 'Everything of a hangar as JSON Lines: rigs, settings, logbook, sources, results, readings',
    media: 'application/jsonl',
  }),
} as const
