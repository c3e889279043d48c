/** Every call the app makes, with the type of its answer: screens name calls, never addresses. */
import type {
  Alert,
  Cycle,
  Device,
  DeviceChoices,
  Exposure,
  Fill,
  Health,
  Invite,
  Link,
  LogEntry,
  Me,
  Member,
  Now,
  Page,
  Passkey,
  Person,
  Post,
  Proposal,
  Reach,
  Recipe,
  Rig,
  Role,
  Session,
  Settings,
  Sizing,
  SizingQuestion,
  Source,
  ReadingsAnswer,
  Trace,
  Token,
  Tried,
} from './shapes.ts'
import type {
  PublicKeyCredentialCreationOptionsJSON,
  PublicKeyCredentialRequestOptionsJSON,
} from '@simplewebauthn/browser'
import { rfc3339 } from './when.ts'
import { wholeList } from './whole-list.ts'

export type Call<T> = {
  readonly method: 'GET' | 'POST' | 'PUT' | 'PATCH' | 'DELETE'
  readonly path: string
  readonly body?: unknown
  /** Under this name the answer is kept for the time without a network: a window up to now has a new path every few minutes. */
  readonly keepAs?: string
  /** Never set: carries the type of the answer. */
  readonly answers?: T
}

const get = <T>(path: string): Call<T> => ({ method: 'GET', path })
const change = <T>(method: 'POST' | 'PUT' | 'PATCH', path: string, body: unknown = {}): Call<T> => ({
  method,
  path,
  body,
})
const remove = (path: string): Call<undefined> => ({ method: 'DELETE', path })
const kept = <T>(call: Call<T>, keepAs: string): Call<T> => ({ ...call, keepAs })

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

  changeMe: (body: Partial<Pick<Person, 'name' | 'zone' | 'unit'>>) =>
    change<Person>('PATCH', '/v1/me', body),
  deviceLink: change<Link>('POST', '/v1/me/links'),
  sessions: wholeList<Session>('/v1/sessions'),
  endSession: (session: string) => remove(`/v1/sessions/${session}`),
  passkeys: wholeList<Passkey>('/v1/passkeys'),
  askPasskey: change<PublicKeyCredentialCreationOptionsJSON>('POST', '/v1/passkeys/options'),
  addPasskey: (name: string, response: unknown) =>
    change<Passkey>('POST', '/v1/passkeys', { name, response }),
  removePasskey: (passkey: string) => remove(`/v1/passkeys/${passkey}`),

  tokens: wholeList<Token>('/v1/tokens'),
  addToken: (name: string, may: 'read' | 'write') =>
    change<Token & { token: string }>('POST', '/v1/tokens', { name, may }),
  removeToken: (token: string) => remove(`/v1/tokens/${token}`),

  renameHangar: (hangar: string, name: string) =>
    change<{ name: string }>('PATCH', `/v1/hangars/${hangar}`, { name }),
  removeHangar: (hangar: string, name: string): Call<{ isDone: boolean }> => ({
    method: 'DELETE',
    path: `/v1/hangars/${hangar}`,
    body: { name },
  }),
  exportHangar: (hangar: string) => `/v1/hangars/${hangar}/export`,
  members: (hangar: string) => wholeList<Member>(`/v1/hangars/${hangar}/members`),
  changeMember: (hangar: string, person: string, role: Role) =>
    change<Member>('PATCH', `/v1/hangars/${hangar}/members/${person}`, { role }),
  removeMember: (hangar: string, person: string) => remove(`/v1/hangars/${hangar}/members/${person}`),
  invites: (hangar: string) => wholeList<Invite>(`/v1/hangars/${hangar}/invites`),
  invite: (hangar: string, body: { role: Role; name?: string }) =>
    change<Link>('POST', `/v1/hangars/${hangar}/invites`, body),
  removeInvite: (hangar: string, invite: string) => remove(`/v1/hangars/${hangar}/invites/${invite}`),

  pushKey: get<{ key: string | null }>('/v1/push/key'),
  devices: wholeList<Device>('/v1/devices'),
  changeDevice: (device: string, body: Partial<DeviceChoices>) =>
    change<Device>('PATCH', `/v1/devices/${device}`, body),
  removeDevice: (device: string) => remove(`/v1/devices/${device}`),
  reach: (rig: string) => get<Reach>(`/v1/rigs/${rig}/reach`),

  sources: (hangar: string) => wholeList<Source>(`/v1/hangars/${hangar}/sources`),
  source: (source: string) => get<Source>(`/v1/sources/${source}`),
  addSource: (hangar: string, body: { name: string; rigs: string[]; keyInQuery?: boolean }) =>
    change<Source>('POST', `/v1/hangars/${hangar}/sources`, body),
  changeSource: (source: string, body: { name?: string; rigs?: string[]; keyInQuery?: boolean }) =>
    change<Source>('PATCH', `/v1/sources/${source}`, body),
  removeSource: (source: string) => remove(`/v1/sources/${source}`),
  setRecipe: (source: string, recipe: Recipe | null) =>
    change<Source>('PUT', `/v1/sources/${source}/recipe`, { recipe }),
  addKey: (source: string) => change<{ id: string; key: string }>('POST', `/v1/sources/${source}/keys`),
  revokeKey: (source: string, key: string) => remove(`/v1/sources/${source}/keys/${key}`),
  tryRecipe: (source: string, body: { recipe: Recipe; post: string }) =>
    change<Tried>('POST', `/v1/sources/${source}/recipe/try`, body),
  proposeRecipe: (source: string, post: string) =>
    change<Proposal>('POST', `/v1/sources/${source}/recipe/propose`, { post }),
  replayPost: (source: string, post: string) =>
    change<ReadingsAnswer>('POST', `/v1/sources/${source}/posts/${post}/replay`),
  posts: (source: string) => wholeList<Post>(`/v1/sources/${source}/posts`),
  newestPosts: (source: string) => get<Page<Post>>(`/v1/sources/${source}/posts?limit=5`),

  rigs: (hangar: string) => wholeList<Rig>(`/v1/hangars/${hangar}/rigs`),
  rig: (rig: string) => get<Rig>(`/v1/rigs/${rig}`),
  addRig: (hangar: string, body: { name: string; slug: string; settings: Settings }) =>
    change<Rig>('POST', `/v1/hangars/${hangar}/rigs`, body),
  changeRig: (rig: string, body: { name?: string; settings?: Settings }) =>
    change<Rig>('PATCH', `/v1/rigs/${rig}`, body),
  removeRig: (rig: string, name: string): Call<{ isDone: boolean }> => ({
    method: 'DELETE',
    path: `/v1/rigs/${rig}`,
    body: { name },
  }),
  now: (rig: string) => get<Now>(`/v1/rigs/${rig}/now`),
  trace: (rig: string, span: Window, points: number) =>
    kept(
      get<Trace>(`/v1/rigs/${rig}/trace?${window(span)}&points=${points}`),
      `/v1/rigs/${rig}/trace?points=${points}`,
    ),
  cycles: (rig: string) => get<Page<Cycle>>(`/v1/rigs/${rig}/cycles`),
  fills: (rig: string) => wholeList<Fill>(`/v1/rigs/${rig}/fills`),
  exposure: (rig: string, span: Window) =>
    kept(get<Exposure>(`/v1/rigs/${rig}/exposure?${window(span)}`), `/v1/rigs/${rig}/exposure`),
  logbook: (rig: string) => wholeList<LogEntry>(`/v1/rigs/${rig}/logbook`),
  addLog: (rig: string, body: { at: string; what: string; detail: Record<string, string> }) =>
    change<LogEntry>('POST', `/v1/rigs/${rig}/logbook`, body),
  changeLog: (rig: string, entry: string, body: Omit<LogEntry, 'id' | 'by' | 'madeAt'>) =>
    change<LogEntry>('PATCH', `/v1/rigs/${rig}/logbook/${entry}`, body),
  removeLog: (rig: string, entry: string) => remove(`/v1/rigs/${rig}/logbook/${entry}`),
  alerts: wholeList<Alert>('/v1/alerts'),
  alertsOf: (rig: string) => wholeList<Alert>(`/v1/rigs/${rig}/alerts`),
  seen: (alert: string) => change<Alert>('POST', `/v1/alerts/${alert}/seen`),
  beadKinds: get<Page<{ name: string; says: string }>>('/v1/bead-kinds'),
  sizing: (question: SizingQuestion) => change<Sizing>('POST', '/v1/sizing', question),
  exportCsv: (rig: string) => `/v1/rigs/${rig}/export.csv`,
}
