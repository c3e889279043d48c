/** Every limit by area, each with its reason. Units last in the name. */

// --- The schedule ---

/** The grid of the analysis and the spacing of the cron trigger, s. */
export const GRID_S = 300
/** A check looks no further than this before its own time, so that only what arrives later still is late. */
export const SETTLING_S = 600
/** `/healthz` goes red when the schedule has not run to its end for this long: three ticks missed. */
export const SCHEDULE_STALE_S = 900
/** A rig whose data makes the code throw is left alone for this long, so that it cannot take the others' time. */
export const SET_BACK_S = 3600
/** Tries of a queue message after the first, as in wrangler.toml: then the platform moves it to the dead-letter queue. */
export const QUEUE_RETRIES = 3
/** Checkpoints kept: one a day for three days, one a week for four weeks, and that of the fill's start. */
export const CHECKPOINT_DAYS = 3
export const CHECKPOINT_WEEKS = 4
/** A memory that grows beyond this is a bug, not a bigger rig: the step is refused. */
export const MEMORY_MAX_BYTES = 32_768
/** A memory in which nothing but the clock moved is written every third tick only. */
export const IDLE_WRITE_EVERY_S = 3 * GRID_S
/** A span as short as this is read whole and for many rigs in one query: a hub reports at most once a second. */
export const SHORT_SPAN_S = 4 * GRID_S
/** Memories and checkpoints in one write: a bound value may have 2 MB. */
export const WRITE_MAX_BYTES = 1_500_000

// --- Ingest ---

/** Before 2000 no hub clock is right: most start at 1970 until they have found the network. */
export const AT_MIN_S = 946_684_800
/** How far a hub's clock may be ahead of ours. */
export const AHEAD_MAX_S = 300
/** Body after decompression. 5,000 readings as JSON are about 600 kB. */
export const BODY_MAX_BYTES = 1_048_576
/** Entries of a recipe's match: every device of a hangar, and some. */
export const RECIPE_MATCHES_MAX = 200
/** Entries of `setAside` in an answer; the total is always given. */
export const SET_ASIDE_SHOWN_MAX = 100
/** Longest text quoted back in a detail: enough to recognise it, too short to carry anything. */
export const QUOTE_MAX_CHARS = 60
/** Keys of one source that are live at a time: the old and the new one while a hub is being changed over. */
export const LIVE_KEYS_MAX = 2
/** Rigs one source can serve: what a post's key leads to is read in one go, and a hub has far fewer. */
export const SOURCE_RIGS_MAX = 100
/** How long an isolate trusts what it has read about a source. Its version is checked in each insert all the same. */
export const SOURCE_CACHE_S = 60
/**
 * Posts that one question to the limiter stands for: 24 handfuls a minute (wrangler.toml) are 120 posts. Small enough
 * that a hub which posts every three seconds passes even if each of its posts meets another isolate.
 */
export const BURST_HANDFUL = 5
/** Sources an isolate remembers. */
export const SOURCE_CACHE_MAX = 2000
/** Readings this close to now cannot be late: the memory is never nearer than the settling time, give or take clocks. */
export const SURELY_FRESH_S = SETTLING_S - 60

// --- Kept posts ---

/** Ring of posts with something set aside, a source. */
export const SET_ASIDE_POSTS_MAX = 100
/** Ring of good posts, a source: enough to see a day's pattern on the Hub page. */
export const GOOD_POSTS_MAX = 24
/** Bytes kept of a post, zipped when that is shorter. */
export const POST_KEPT_MAX_BYTES = 65_536
export const POST_KEPT_DAYS = 30
/** Bytes of a post's body that a list shows: a zipped one may hold a megabyte, and a list a hundred of them. */
export const POST_SHOWN_MAX_BYTES = 65_536
/** A good post is kept once in this time while nobody looks. */
export const GOOD_POST_EVERY_S = 3600
/** Asking for the last posts counts as having the Hub page open for this long. */
export const WATCHED_FOR_S = 120

// --- Traces and lists ---

/** Most points a series of one trace may have. */
export const TRACE_POINTS_MAX = 5000
/** Readings a trace reads raw; longer spans come from the hourly, then the daily rollups. */
export const TRACE_RAW_MAX = 9000
/** Spans beyond this are not even tried raw: 45 days at one reading in 7 minutes already fill the limit above. */
export const TRACE_RAW_SPAN_MAX_S = 45 * 86_400
/** Rows one trace reads in all, over places, runs and marks: a year of hours of one place (8,784) and its runs. */
export const TRACE_ROWS_MAX = 9900
/** Runs drawn in one trace: more cannot be told apart on a screen. */
export const TRACE_RUNS_MAX = 1000
/** Entries of a page. */
export const PAGE_MAX = 200
/** Raw readings are kept this long; rollups for ever. */
export const RAW_KEPT_DAYS = 400
/** An analysis that begins in the middle of a history knows the air and the pump of a rig after about a day. */
export const TELL_WARM_UP_S = 86_400
/** Rows read per page of an export: constant memory whatever the history. */
export const EXPORT_PAGE_ROWS = 2000

// --- Messages ---

/** Plain text of a message, bytes. Push services promise 4,096 encrypted (RFC 8030 section 7.2), that is 3,993 plain; some count headers too. */
export const PUSH_PAYLOAD_MAX_BYTES = 3_000
/** What is sent after a service calls a message too large. */
export const PUSH_PAYLOAD_SHORT_BYTES = 600
/** First wait after a failed attempt: shorter than a tick would have no effect. */
export const PUSH_BACK_OFF_BASE_S = 60
/** Longest wait of our own choice: a phone must not stay uninformed for half a day because a service was down at night. */
export const PUSH_BACK_OFF_MAX_S = 3_600
/** A longer `Retry-After` is taken as this: a service must not be able to silence a phone for good. */
export const PUSH_RETRY_AFTER_MAX_S = 86_400
/** After this long a message that never got through is given up; the alert itself stays on the first screen. */
export const PUSH_LIFETIME_S = 7 * 86_400
/** Attempts within that time; with the back-off above this is about five days. */
export const PUSH_ATTEMPTS_MAX = 120
/** One request to a push service; a slow one must not use up the invocation. */
export const PUSH_TIME_OUT_MS = 10_000
/** Requests at a time: the platform allows six open connections an invocation. */
export const PUSH_AT_ONCE = 6
/** How long a claimed message is left alone before another invocation may take it: time-out times the rounds, with room. */
export const PUSH_LEASE_S = 300
/** How long a push service keeps a message for a phone that is off, s, by urgency: `now` outlives a weekend away. */
export const PUSH_TTL_S = { now: 3 * 86_400, visit: 7 * 86_400, note: 86_400, over: 86_400 } as const
/** Several rigs on one hub fall silent within minutes of each other: wait this long to say it once. Silence itself takes two hours. */
export const PUSH_SILENT_HOLD_S = 900
/** An alert of a rig whose analysis is further behind than this is not said yet: it may be over already. */
export const PUSH_BEHIND_MAX_S = 3_600
/** An alert `now` that nobody has marked as seen is said again after this long, this many times. */
export const PUSH_REMINDER_AFTER_S = 6 * 3_600
export const PUSH_REMINDERS_MAX = 3
/** Life of a signed VAPID token: RFC 8292 allows 24 h. It is renewed an hour before its end. */
export const VAPID_TOKEN_LIFE_S = 12 * 3_600
export const VAPID_TOKEN_SPARE_S = 3_600
/** Tokens kept in an isolate, one a push service: there are four, and those the host adds. */
export const VAPID_TOKENS_MAX = 32
/** A person's devices. */
export const DEVICES_PER_PERSON_MAX = 20
/** Length of an endpoint URL; those of the browsers are under 700. */
export const PUSH_ENDPOINT_MAX_CHARS = 1_024
/** Rigs named in one message about silence; the rest is counted. */
export const PUSH_RIGS_NAMED_MAX = 6
/** A device may be sent a test message once in this time: enough to try again, too slow to annoy a push service. */
export const PUSH_TEST_EVERY_S = 10
/** A device that could not be reached for this long no longer counts as one that would be. */
export const PUSH_UNREACHED_AFTER_S = 86_400
/** A message row of an alert that never ended goes after this; the alert itself stays. */
export const DELIVERY_KEPT_DAYS = 400
/** Counts of what went wrong are kept this long, a row a day and kind. */
export const TALLY_KEPT_DAYS = 90
/** Invocations that one tick may follow up with by way of the queue, while messages are due. */
export const SWEEPS_PER_TICK_MAX = 60
/** Rigs that a device may be limited to by name; without a list it gets all. */
export const DEVICE_RIGS_MAX = 50

// --- Plans ---

/** What one invocation may do. The free plan's numbers follow from its 10 ms of CPU and 100,000 rows written a day. */
export type Budgets = {
  /** Records in one post. 5,000 cost about 10 ms of CPU in JSON and validation alone. */
  readonly postRecordsMax: number
  /** Readings one step of a check may feed to the analysis. */
  readonly stepReadingsMax: number
  /** Rigs with a long span to catch up that one step takes: they share the readings. */
  readonly behindRigsMax: number
  /** Rigs checked in one invocation. */
  readonly stepRigsMax: number
  /** Rigs above which a tick spreads batches over the queue instead of doing all itself. */
  readonly inlineRigsMax: number
  /** Steps one invocation goes on with for rigs that are behind. */
  readonly stepsMax: number
  /** Readings a source may store in a UTC day. */
  readonly sourceRowsPerDay: number
  /** Rows one invocation deletes for retention. */
  readonly retentionRowsMax: number
  /** Rigs whose old readings one tick looks at, two statements each: each rig is come to at least once a week. */
  readonly retentionRigsMax: number
  /** Messages sent in one invocation: each costs up to 1 ms of CPU and one of 50 requests to the outside. */
  readonly pushesMax: number
  /** Outbox rows looked at in one sweep: more than the messages, since rows are merged, held back and dropped too. */
  readonly outboxRowsMax: number
}

export const BUDGETS = {
  free: {
    postRecordsMax: 500,
    stepReadingsMax: 500,
    behindRigsMax: 1,
    stepRigsMax: 50,
    inlineRigsMax: 50,
    stepsMax: 2,
    sourceRowsPerDay: 40_000,
    retentionRowsMax: 1000,
    retentionRigsMax: 5,
    pushesMax: 5,
    outboxRowsMax: 40,
  },
  paid: {
    postRecordsMax: 5000,
    stepReadingsMax: 5000,
    behindRigsMax: 5,
    stepRigsMax: 100,
    inlineRigsMax: 100,
    stepsMax: 20,
    sourceRowsPerDay: 2_000_000,
    retentionRowsMax: 20_000,
    retentionRigsMax: 50,
    pushesMax: 200,
    outboxRowsMax: 600,
  },
} as const satisfies Record<string, Budgets>

export type Plan = keyof typeof BUDGETS

// --- People and security ---

/** A device that has not been used for this long has to sign in again: a season away from the hangar fits in it. */
export const SESSION_IDLE_S = 60 * 86_400
/** However often it is used, a session ends after this: a lost phone does not stay signed in for ever. */
export const SESSION_ABSOLUTE_S = 365 * 86_400
/** `seen` is written at most this often: a session in use must not cost a row with every request. */
export const SESSION_SEEN_EVERY_S = 3_600
/** An invite travels by message or over the hangar table: a week covers the next visit. */
export const INVITE_LIFE_S = 7 * 86_400
/** A link for one's own other device is used at once. */
export const DEVICE_LINK_LIFE_S = 15 * 60
/** Time to answer a passkey prompt, with a phone to be found first. */
export const CHALLENGE_LIFE_S = 5 * 60
/** Longest life of a personal token; shorter is the caller's choice. */
export const TOKEN_LIFE_MAX_S = 366 * 86_400
export const TOKEN_LIFE_DEFAULT_S = 90 * 86_400
/** Invites and tokens past their time are still listed for this long, so that their owner sees what became of them. */
export const EXPIRED_KEPT_S = 30 * 86_400
/** Things a person or a hangar may have: generous for people, small for a script gone wrong. */
export const TOKENS_PER_PERSON_MAX = 50
export const PASSKEYS_PER_PERSON_MAX = 20
export const SESSIONS_PER_PERSON_MAX = 50
export const INVITES_PER_HANGAR_MAX = 100
export const RIGS_PER_HANGAR_MAX = 500
/** A rig's first settings hold for all time before them too: a back-filled year is read by them. */
export const FIRST_SETTINGS_S = 0
/** Dated settings of a rig, read whole with the rig: a change a month for eight years. */
export const SETTINGS_PER_RIG_MAX = 100
/** One of them as JSON: all known keys are under 500 bytes; unknown ones are kept, but not without bound. */
export const SETTINGS_MAX_BYTES = 4_096
export const SOURCES_PER_HANGAR_MAX = 500
/** Body of a call that is not readings: the largest is a recipe with its matches. */
export const CALL_BODY_MAX_BYTES = 128 * 1024
/** Rows removed in one step of a deletion: stays within one invocation of the free plan. */
export const DELETE_ROWS_PER_STEP = 5_000
/** Names of hangars, rigs, persons, sources: fit on a phone. */
export const NAME_MAX_CHARS = 80
/** Dated settings lie from 2000-01-01 to a year ahead: a planned change, not a mistyped year. */
export const SETTINGS_AHEAD_MAX_S = 366 * 86_400
/** Entries say what has happened: from 2000-01-01, as readings do, to now, by a clock that may be as far off as a hub's. */
export const LOG_FROM_S = 946_684_800
export const LOG_AHEAD_MAX_S = 300
/** How far ahead their `until` may lie: a planned absence, not a mistyped year. */
export const LOG_UNTIL_AHEAD_MAX_S = 366 * 86_400
/** A note in the logbook. */
export const NOTE_MAX_CHARS = 2_000
/** Entries a page of a list, unless asked otherwise. */
export const PAGE_DEFAULT = 50
/** How long an answer of `/healthz` is remembered. */
export const HEALTH_CACHE_S = 30
