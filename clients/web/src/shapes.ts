/** What the server answers: the types of the very schemas it answers by. Types only: no schema reaches the browser. */
import type { z } from 'zod'
import type { Place } from '../../../src/core/fold/inputs.ts'
import type { Urgency } from '../../../src/core/fold/outputs.ts'
import type * as alerts from '../../../src/adapters/http/schemas/alerts.ts'
import type * as devices from '../../../src/adapters/http/schemas/devices.ts'
import type * as healths from '../../../src/adapters/http/schemas/health.ts'
import type * as logbook from '../../../src/adapters/http/schemas/logbook.ts'
import type * as people from '../../../src/adapters/http/schemas/people.ts'
import type * as readings from '../../../src/adapters/http/schemas/readings.ts'
import type * as rigs from '../../../src/adapters/http/schemas/rigs.ts'
import type * as sizes from '../../../src/adapters/http/schemas/sizing.ts'
import type * as sources from '../../../src/adapters/http/schemas/sources.ts'

export type { Place, Urgency }

export type Page<T> = { items: T[]; next: string | null }

export type Me = z.infer<typeof people.me>
export type Person = NonNullable<Me['person']>
export type HangarRef = Me['hangars'][number]
export type Role = HangarRef['role']
export type TemperatureUnit = Person['unit']
export type Member = z.infer<typeof people.member>
export type Invite = z.infer<typeof people.invite>
export type Link = z.infer<typeof people.link>
export type Session = z.infer<typeof people.session>
export type Passkey = z.infer<typeof people.passkey>

export type Settings = z.infer<typeof rigs.rigFile>
export type Rig = z.infer<typeof rigs.rig>
export type Interval = z.infer<typeof rigs.interval>
export type Forecast = z.infer<typeof rigs.forecast>
export type Fill = z.infer<typeof rigs.fill>
export type Cycle = z.infer<typeof rigs.cycle>
export type Exposure = z.infer<typeof rigs.rigOperations.readExposure.answer>
export type ExposureHours = z.infer<typeof rigs.exposure>
export type Now = z.infer<typeof rigs.now>
export type Trace = z.infer<typeof rigs.trace>
export type TracePoint = Trace['series'][number]['points'][number]
export type Run = Trace['runs'][number]

export type Alert = z.infer<typeof alerts.alert>
export type Evidence = Alert['evidence']

export type LogEntry = z.infer<typeof logbook.logEntry>
/** As much of an entry as the chart and the tables read. */
export type Mark = Pick<LogEntry, 'at' | 'what' | 'detail'>

export type Source = z.infer<typeof sources.source>
export type Post = z.infer<typeof sources.post>
export type Recipe = z.infer<typeof sources.recipe>

export type Health = z.infer<typeof healths.health>

export type Device = z.infer<typeof devices.device>
export type DeviceChoices = Pick<Device, 'name' | 'rigs' | 'urgencies' | 'quietHours'>
export type Reach = z.infer<typeof devices.deviceOperations.readReach.answer>

export type ReadingsAnswer = z.infer<typeof readings.readingsAnswer>
/** A recipe for a post, with its reasons. */
export type Proposal = z.infer<typeof sources.proposal>
/** What a recipe makes of a post, with nothing stored. */
export type Tried = z.infer<typeof sources.tried>
export type Token = z.infer<typeof people.token>
export type SizingQuestion = z.input<typeof sizes.sizingQuestion>
export type Sizing = z.infer<typeof sizes.sizingAnswer>
export type OpenInterval = Sizing['runMin']
