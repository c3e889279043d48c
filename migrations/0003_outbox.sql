-- Messages to phones. Devices and their messages live with the people, in the first database; the events they tell
-- of live with the rigs, maybe on another shard, and wait there until they have been handed over.

CREATE TABLE device (
  id TEXT PRIMARY KEY,
  person TEXT NOT NULL REFERENCES person (id) ON DELETE CASCADE,
  name TEXT NOT NULL,                   -- as the owner calls it
  origin TEXT NOT NULL,                 -- the app's address as this device uses it: a tap opens it there
  endpoint TEXT UNIQUE,                 -- NULL: the subscription has ended, the choices stay
  p256dh TEXT,                          -- the browser's public key, base64url
  auth TEXT,                            -- the secret shared with the browser, base64url
  rigs TEXT,                            -- JSON array of public ids; NULL: all rigs its owner may see
  wants_now INTEGER NOT NULL DEFAULT 1,
  wants_visit INTEGER NOT NULL DEFAULT 1,
  wants_note INTEGER NOT NULL DEFAULT 0,
  quiet_from_min INTEGER,               -- minutes after midnight in the owner's zone; NULL: no quiet hours
  quiet_to_min INTEGER,
  is_quiet_for_now INTEGER NOT NULL DEFAULT 0,
  made_at_s INTEGER NOT NULL,
  reached_at_s INTEGER,                 -- its push service last took a message
  tested_at_s INTEGER,
  ended_at_s INTEGER,                   -- its push service said that the subscription is no more
  failed_at_s INTEGER,                  -- first failure since it was reached; NULL after a success
  failure TEXT                          -- a stable word
) STRICT, WITHOUT ROWID;
CREATE INDEX device_by_person ON device (person);

-- One row a message and device: the outbox. The key is made from the event, so that handing one over twice adds nothing.
-- `due_at_s` is also the lock: whoever moves it from the value they read has the row; a claim moves it ahead by a lease.
CREATE TABLE delivery (
  alert TEXT NOT NULL,                  -- public id
  device TEXT NOT NULL,
  at_s INTEGER NOT NULL,                -- time of the event; of a reminder, when it is due
  kind TEXT NOT NULL CHECK (kind IN ('raised', 'changed', 'over', 'reminder')),
  hangar TEXT NOT NULL,
  rig TEXT NOT NULL,
  rule TEXT NOT NULL,
  urgency TEXT NOT NULL CHECK (urgency IN ('now', 'visit', 'note')),
  rank INTEGER NOT NULL,                -- 0 goes first: now, then visit, then the rest
  state TEXT NOT NULL CHECK (state IN ('waiting', 'sent', 'dropped')),
  due_at_s INTEGER NOT NULL,
  attempts INTEGER NOT NULL DEFAULT 0,  -- counted when an attempt begins: more than none may have been seen
  is_short INTEGER NOT NULL DEFAULT 0,  -- its push service called the whole one too large
  why TEXT,                             -- of the last failure, or of the drop
  made_at_s INTEGER NOT NULL,
  PRIMARY KEY (alert, device, at_s, kind)
) STRICT, WITHOUT ROWID;
CREATE INDEX delivery_due ON delivery (rank, due_at_s) WHERE state = 'waiting';

-- An event is written by the check's own batch with 0 here: it cannot be stored and not be told.
ALTER TABLE alert_event ADD COLUMN is_told INTEGER NOT NULL DEFAULT 0;
CREATE INDEX alert_event_untold ON alert_event (at_s) WHERE is_told = 0 AND is_past = 0;

-- How often something went wrong, by UTC day: what a host looks at first.
CREATE TABLE tally (
  day_s INTEGER NOT NULL,
  what TEXT NOT NULL,
  times INTEGER NOT NULL,
  PRIMARY KEY (day_s, what)
) STRICT, WITHOUT ROWID;
