/** Every bound the code relies on, by area, each with its reason. Units are the last word of a name. */

// People and security ----------------------------------------------------------------------------------------

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
/** Things a person or a hangar may have: generous for people, small for a script gone wrong. */
export const TOKENS_PER_PERSON_MAX = 50
export const PASSKEYS_PER_PERSON_MAX = 20
export const SESSIONS_PER_PERSON_MAX = 50
export const INVITES_PER_HANGAR_MAX = 100
export const RIGS_PER_HANGAR_MAX = 500
export const SOURCES_PER_HANGAR_MAX = 500
/** Body of a call that is not readings: the largest is a recipe with its matches. */
export const CALL_BODY_MAX_BYTES = 128 * 1024
/** Rows removed in one step of a deletion: stays within one invocation of the free plan. */
export const DELETE_ROWS_PER_STEP = 5_000
/** Names of hangars, rigs, persons, sources: fit on a phone. */
export const NAME_MAX_CHARS = 80
/** A note in the logbook. */
export const NOTE_MAX_CHARS = 2_000
/** Entries a page of a list. */
export const PAGE_DEFAULT = 50
export const PAGE_MAX = 200
/** `/healthz` turns red when the schedule has not run for this long: three ticks. */
export const SCHEDULE_LATE_S = 15 * 60
export const HEALTH_CACHE_S = 30
