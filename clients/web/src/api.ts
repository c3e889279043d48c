/** Every call the app makes, with the type of its answer: screens name calls, never addresses. */
import type { Alert, Cycle, Exposure, Health, LogEntry, Me, Now, Page, Rig, Role, Trace } from './shapes.ts'
import type { PublicKeyCredentialRequestOptionsJSON } from '@simplewebauthn/browser'
import { rfc3339 } from './when.ts'

export type Call<T> = {
  readonly method: 'GET' | 'POST' | 'PUT' | 'PATCH' | 'DELETE'
  readonly path: string
  readonly body?: unknown
  /** Never set: carries the type of the answer. */
  readonly answers?: T
}

const get = <T>(path: string): Call<T> => ({ method: 'GET', path })
const change = <T>(method: 'POST' | 'PUT' | 'PATCH', path: string, body: unknown = {}): Call<T> => ({
  method,
  path,
  body,
})
const remove = (path: string, body?: unknown): Call<undefined> => ({
  method: 'DELETE',
  path,
  ...(body === undefined ? {} : { body }),
})
const pageMax = 100

export type Invited = {
  kind: 'join' | 'device'
  name: string | null
  hangars: { name: string; role: Role }[]
}
export type PasskeyOptions = PublicKeyCredentialRequestOptionsJSON
export type Window = { fromS: number; toS: number }
const window = ({ fromS, toS }: Window): string => `from=${rfc3339(fromS * 1000)}&to=${rfc3339(toS * 1000)}`

export const api = {
  health: get<Health>('/healthz'),
  me: get<Me>('/v1/me'),
  signOut: change<undefined>('POST', '/v1/sign-out'),
  signOutEverywhere: remove('/v1/sessions'),
  readInvite: (token: string) => change<Invited>('POST', '/v1/invites/read', { token }),
  acceptInvite: (body: { token: string; name?: string; zone?: string }) =>
    change<Me>('POST', '/v1/invites/accept', body),
  askSignIn: change<PasskeyOptions>('POST', '/v1/sign-in/options'),
  signIn: (response: unknown) => change<Me>('POST', '/v1/sign-in', { response }),

  rigs: (hangar: string) => get<Page<Rig>>(`/v1/hangars/${hangar}/rigs?limit=${pageMax}`),
  rig: (rig: string) => get<Rig>(`/v1/rigs/${rig}`),
  now: (rig: string) => get<Now>(`/v1/rigs/${rig}/now`),
  trace: (rig: string, span: Window, points: number) =>
    get<Trace>(`/v1/rigs/${rig}/trace?${window(span)}&points=${points}`),
  cycles: (rig: string) => get<Page<Cycle>>(`/v1/rigs/${rig}/cycles`),
  exposure: (rig: string, span: Window) => get<Exposure>(`/v1/rigs/${rig}/exposure?${window(span)}`),
  logbook: (rig: string) => get<Page<LogEntry>>(`/v1/rigs/${rig}/logbook?limit=${pageMax}`),
  alerts: get<Page<Alert>>('/v1/alerts'),
  alertsOf: (rig: string) => get<Page<Alert>>(`/v1/rigs/${rig}/alerts`),
  seen: (alert: string) => change<Alert>('POST', `/v1/alerts/${alert}/seen`),
  exportCsv: (rig: string) => `/v1/rigs/${rig}/export.csv`,
}
