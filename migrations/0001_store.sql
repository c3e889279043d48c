-- What a hangar's rigs say and what was worked out from it. Every database of a deployment (a shard) carries all
-- tables; the people and hangars are used on the first one only, the tables below on the hangar's own.
-- Times are Unix seconds (..._s). Public ids are random text; the integer keys never leave the database.

CREATE TABLE rig (
  rig_id INTEGER PRIMARY KEY,
  public_id TEXT NOT NULL UNIQUE,
  hangar TEXT NOT NULL, -- public id of the hangar: its row lives in the directory, maybe in another database
  slug TEXT NOT NULL, -- the rig's name in posts; unique within the hangar
  name TEXT NOT NULL,
  made_s INTEGER NOT NULL,
  UNIQUE (hangar, slug)
) STRICT;

-- rig.json as it held from `from_s` on: settings are dated, so that a change never rewrites the past.
CREATE TABLE rig_settings (
  rig_id INTEGER NOT NULL REFERENCES rig (rig_id),
  from_s INTEGER NOT NULL,
  settings TEXT NOT NULL,
  PRIMARY KEY (rig_id, from_s)
) STRICT, WITHOUT ROWID;

CREATE TABLE source (
  source_id INTEGER PRIMARY KEY,
  public_id TEXT NOT NULL UNIQUE,
  hangar TEXT NOT NULL,
  name TEXT NOT NULL,
  is_key_in_query INTEGER NOT NULL DEFAULT 0, -- 1: ?key= is taken too, for hubs that cannot set a header
  recipe_version INTEGER NOT NULL DEFAULT 0, -- 0: no recipe, native names
  made_s INTEGER NOT NULL,
  post_seq INTEGER NOT NULL DEFAULT 0, -- posts kept so far: picks the slot in the rings of `post`
  good_kept_s INTEGER NOT NULL DEFAULT 0, -- when a good post was last kept
  watched_until_s INTEGER NOT NULL DEFAULT 0, -- somebody has the Hub page open: good posts are kept till then
  day_s INTEGER NOT NULL DEFAULT 0, -- the UTC day that `day_rows` counts
  day_rows INTEGER NOT NULL DEFAULT 0 -- readings stored that day, added up once a minute, never per post
) STRICT;
CREATE INDEX source_hangar ON source (hangar);

-- Every recipe ever saved; source.recipe_version says which one reads the posts.
CREATE TABLE recipe (
  source_id INTEGER NOT NULL REFERENCES source (source_id),
  version INTEGER NOT NULL,
  recipe TEXT NOT NULL,
  saved_s INTEGER NOT NULL,
  PRIMARY KEY (source_id, version)
) STRICT, WITHOUT ROWID;

-- Clustered by the hash, so that checking a key inside an insert reads exactly one row.
CREATE TABLE source_key (
  key_hash TEXT PRIMARY KEY, -- SHA-256 of the whole key, lower-case hex; the key itself is shown once
  source_id INTEGER NOT NULL REFERENCES source (source_id),
  public_id TEXT NOT NULL UNIQUE,
  made_s INTEGER NOT NULL,
  revoked_s INTEGER,
  config_version INTEGER NOT NULL DEFAULT 0 -- raised when recipe, rigs, band or off state change: ends cached copies
) STRICT, WITHOUT ROWID;
CREATE INDEX source_key_source ON source_key (source_id);

CREATE TABLE source_rig (
  source_id INTEGER NOT NULL REFERENCES source (source_id),
  rig_id INTEGER NOT NULL REFERENCES rig (rig_id),
  PRIMARY KEY (source_id, rig_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX source_rig_rig ON source_rig (rig_id);

-- One instant at one place, as reported, never corrected. No other index: one row written per reading.
CREATE TABLE reading (
  rig_id INTEGER NOT NULL,
  place INTEGER NOT NULL, -- 0 return, 1 supply, 2 ambient, 3 engine
  at_s INTEGER NOT NULL,
  humidity_centi_pct INTEGER, -- hundredths of % RH
  temp_centi_c INTEGER, -- hundredths of a degC
  pump_on INTEGER, -- 1 run, 0 rest
  power_deci_w INTEGER, -- tenths of a watt
  PRIMARY KEY (rig_id, place, at_s)
) STRICT, WITHOUT ROWID;

CREATE TABLE logbook (
  rig_id INTEGER NOT NULL REFERENCES rig (rig_id),
  at_s INTEGER NOT NULL,
  entry_id TEXT NOT NULL, -- public id
  what TEXT NOT NULL,
  detail TEXT NOT NULL, -- JSON object of texts
  made_s INTEGER NOT NULL,
  made_by TEXT, -- public id of the person
  PRIMARY KEY (rig_id, at_s, entry_id)
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX logbook_entry ON logbook (entry_id);

-- What the analysis knows about a rig, bounded. Small columns first: they are read without touching the body.
CREATE TABLE memory (
  rig_id INTEGER PRIMARY KEY REFERENCES rig (rig_id),
  seq INTEGER NOT NULL DEFAULT 0, -- raised by each write: a step that started from an older one writes nothing
  token TEXT, -- random, of the step that wrote last: its followers join on it
  version INTEGER NOT NULL DEFAULT 0, -- of the body's form; another version is rebuilt from the readings
  grid_s INTEGER NOT NULL DEFAULT 0, -- inputs up to and including this time are in it
  reached_s INTEGER NOT NULL DEFAULT 0, -- furthest grid time ever: behind it a rewind is catching up
  rewind_from_s INTEGER, -- time of the oldest input that came after the memory had passed it
  set_back_until_s INTEGER, -- its data made the code throw: left alone till then
  failures INTEGER NOT NULL DEFAULT 0,
  failure TEXT, -- the last error, for the host
  body TEXT
) STRICT;
CREATE INDEX memory_set_back ON memory (set_back_until_s) WHERE set_back_until_s IS NOT NULL;

-- Copies of the memory to go back to: three days, four weeks, the fill's start.
CREATE TABLE checkpoint (
  rig_id INTEGER NOT NULL REFERENCES rig (rig_id),
  grid_s INTEGER NOT NULL,
  kind TEXT NOT NULL, -- day, week or fill
  version INTEGER NOT NULL,
  body TEXT NOT NULL,
  PRIMARY KEY (rig_id, grid_s)
) STRICT, WITHOUT ROWID;

CREATE TABLE cycle (
  rig_id INTEGER NOT NULL REFERENCES rig (rig_id),
  at_s INTEGER NOT NULL, -- when the next run starts
  body TEXT NOT NULL, -- the cycle's numbers, JSON
  PRIMARY KEY (rig_id, at_s)
) STRICT, WITHOUT ROWID;

CREATE TABLE fill (
  rig_id INTEGER NOT NULL REFERENCES rig (rig_id),
  from_s INTEGER NOT NULL,
  to_s INTEGER, -- NULL: the one in the column
  body TEXT NOT NULL,
  PRIMARY KEY (rig_id, from_s)
) STRICT, WITHOUT ROWID;

CREATE TABLE exposure_day (
  rig_id INTEGER NOT NULL REFERENCES rig (rig_id),
  from_s INTEGER NOT NULL, -- start of the UTC day
  body TEXT NOT NULL, -- hours by class, JSON
  PRIMARY KEY (rig_id, from_s)
) STRICT, WITHOUT ROWID;

-- An hour or a UTC day of one place: kept for ever, when the readings themselves are long gone.
CREATE TABLE rollup (
  rig_id INTEGER NOT NULL,
  place INTEGER NOT NULL,
  span_s INTEGER NOT NULL, -- 3600 or 86400
  from_s INTEGER NOT NULL,
  humidity_mean_centi_pct INTEGER,
  humidity_min_centi_pct INTEGER,
  humidity_max_centi_pct INTEGER,
  density_mean_milli_gm3 INTEGER,
  density_min_milli_gm3 INTEGER,
  density_max_milli_gm3 INTEGER,
  temp_mean_centi_c INTEGER,
  heard_s INTEGER NOT NULL,
  PRIMARY KEY (rig_id, place, span_s, from_s)
) STRICT, WITHOUT ROWID;

-- Projection of the memory: raised, changed and over come from there; only `seen` is written by people.
CREATE TABLE alert (
  alert_id INTEGER PRIMARY KEY,
  public_id TEXT NOT NULL UNIQUE,
  rig_id INTEGER NOT NULL REFERENCES rig (rig_id),
  rule TEXT NOT NULL,
  raised_at_s INTEGER NOT NULL,
  since_s INTEGER NOT NULL, -- first reading for which it held
  urgency TEXT NOT NULL, -- now, visit or note
  evidence TEXT NOT NULL, -- JSON, as of the last change
  over_at_s INTEGER,
  over_why TEXT, -- 'late-input': a late reading or entry showed that it never held
  seen_at_s INTEGER,
  seen_by TEXT,
  UNIQUE (rig_id, rule, raised_at_s)
) STRICT;
CREATE INDEX alert_open ON alert (rig_id) WHERE over_at_s IS NULL;

-- A change of an alert. Deterministic key: however often a step is run, an event is here once. Never deleted by a rewind.
CREATE TABLE alert_event (
  rig_id INTEGER NOT NULL REFERENCES rig (rig_id),
  rule TEXT NOT NULL,
  raised_at_s INTEGER NOT NULL,
  at_s INTEGER NOT NULL,
  event TEXT NOT NULL, -- raised, changed or over
  urgency TEXT NOT NULL,
  since_s INTEGER NOT NULL,
  evidence TEXT NOT NULL,
  is_past INTEGER NOT NULL DEFAULT 0, -- 1: found by a rewind behind what was already told: recorded, not pushed
  PRIMARY KEY (rig_id, rule, raised_at_s, at_s, event)
) STRICT, WITHOUT ROWID;

-- Posts as they came, secrets blanked. Two rings a source: those with something set aside, and the last good ones.
CREATE TABLE post (
  source_id INTEGER NOT NULL REFERENCES source (source_id),
  kind TEXT NOT NULL, -- 'set-aside' or 'good'
  slot INTEGER NOT NULL,
  public_id TEXT NOT NULL UNIQUE,
  at_s INTEGER NOT NULL, -- time of receipt: a replay reads the post as of then
  content_type TEXT, -- as sent
  body BLOB NOT NULL,
  is_zipped INTEGER NOT NULL,
  is_cut INTEGER NOT NULL, -- too long even zipped: only its start is here, it cannot be replayed
  read_as TEXT,
  recipe_version INTEGER NOT NULL,
  result TEXT NOT NULL, -- the answer's counts and reasons, JSON
  replayed_s INTEGER,
  replay_token TEXT, -- of the one replay that won
  PRIMARY KEY (source_id, kind, slot)
) STRICT, WITHOUT ROWID;

-- One row: when the schedule last ran to its end, and what it left.
CREATE TABLE schedule (
  one INTEGER PRIMARY KEY CHECK (one = 1),
  checked_s INTEGER NOT NULL,
  behind INTEGER NOT NULL DEFAULT 0, -- rigs that have more to catch up
  retention_rig_id INTEGER NOT NULL DEFAULT 0 -- where the clean-up of old rows goes on
) STRICT;
INSERT INTO schedule (one, checked_s) VALUES (1, 0);
