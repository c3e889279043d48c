-- The ring of good posts has a count of its own: counted together, each kind left the slots of the other unused, and fewer
-- than a hundred posts with something set aside were kept.
ALTER TABLE source ADD COLUMN good_seq INTEGER NOT NULL DEFAULT 0; -- good posts kept so far; post_seq: those set aside
