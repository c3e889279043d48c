-- Who may see what. Lives in the first database only, whatever shard a hangar's rigs are on.
-- Secrets are never stored: a `hash` is the SHA-256 of 32 random bytes, so that reading this table signs nobody in.

CREATE TABLE hangar (
  id TEXT PRIMARY KEY,
  name TEXT NOT NULL,
  shard INTEGER NOT NULL DEFAULT 0,     -- which database holds its rigs; chosen when it is made
  made_at_s INTEGER NOT NULL,
  deleting_at_s INTEGER                 -- set: nobody sees it any more, its rows go in steps
) STRICT, WITHOUT ROWID;

CREATE TABLE person (
  id TEXT PRIMARY KEY,
  name TEXT NOT NULL,
  zone TEXT NOT NULL DEFAULT 'UTC',     -- IANA name: times in sentences and quiet hours
  unit TEXT NOT NULL DEFAULT 'degC' CHECK (unit IN ('degC', 'degF')),
  made_at_s INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE member (
  hangar TEXT NOT NULL REFERENCES hangar (id) ON DELETE CASCADE,
  person TEXT NOT NULL REFERENCES person (id) ON DELETE CASCADE,
  role TEXT NOT NULL CHECK (role IN ('keeper', 'watcher')),
  since_s INTEGER NOT NULL,
  PRIMARY KEY (hangar, person)
) STRICT, WITHOUT ROWID;
CREATE INDEX member_by_person ON member (person, hangar);

-- A link that works once: into hangars as a new or a known person, or onto another device of one's own.
CREATE TABLE invite (
  hash BLOB PRIMARY KEY,
  id TEXT NOT NULL UNIQUE,              -- names it in lists; of no use for getting in
  person TEXT REFERENCES person (id) ON DELETE CASCADE, -- set: signs this person in on another device
  hangar TEXT REFERENCES hangar (id) ON DELETE CASCADE, -- the hangar whose list shows it
  grants TEXT NOT NULL,                 -- JSON: [{"hangar", "role"}]
  name TEXT,                            -- the name proposed for a new person
  made_at_s INTEGER NOT NULL,
  expires_at_s INTEGER NOT NULL,
  used_at_s INTEGER,
  used_by TEXT                          -- the person it became, and the mark that its one use is ours
) STRICT, WITHOUT ROWID;
CREATE INDEX invite_by_hangar ON invite (hangar) WHERE hangar IS NOT NULL;

CREATE TABLE session (
  hash BLOB PRIMARY KEY,
  id TEXT NOT NULL UNIQUE,
  person TEXT NOT NULL REFERENCES person (id) ON DELETE CASCADE,
  label TEXT NOT NULL,                  -- kind of browser and system, to tell one's devices apart
  made_at_s INTEGER NOT NULL,           -- the absolute time-out counts from here
  seen_at_s INTEGER NOT NULL            -- the idle time-out counts from here; written at most once an hour
) STRICT, WITHOUT ROWID;
CREATE INDEX session_by_person ON session (person);

CREATE TABLE passkey (
  id TEXT PRIMARY KEY,                  -- credential id, base64url
  person TEXT NOT NULL REFERENCES person (id) ON DELETE CASCADE,
  public_key BLOB NOT NULL,             -- COSE
  counter INTEGER NOT NULL,             -- signature counter as last seen; 0 for synced passkeys
  transports TEXT NOT NULL,             -- JSON array, hints for the browser
  name TEXT NOT NULL,
  made_at_s INTEGER NOT NULL,
  used_at_s INTEGER
) STRICT, WITHOUT ROWID;
CREATE INDEX passkey_by_person ON passkey (person);

-- What a passkey has to sign; taken out when it comes back, so that no answer counts twice.
CREATE TABLE challenge (
  hash BLOB PRIMARY KEY,
  person TEXT REFERENCES person (id) ON DELETE CASCADE, -- set for registration, null for sign-in
  expires_at_s INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE personal_token (
  hash BLOB PRIMARY KEY,
  id TEXT NOT NULL UNIQUE,
  person TEXT NOT NULL REFERENCES person (id) ON DELETE CASCADE,
  name TEXT NOT NULL,
  may TEXT NOT NULL CHECK (may IN ('read', 'write')),
  made_at_s INTEGER NOT NULL,
  expires_at_s INTEGER NOT NULL,
  used_at_s INTEGER                     -- written at most once an hour
) STRICT, WITHOUT ROWID;
CREATE INDEX personal_token_by_person ON personal_token (person);
