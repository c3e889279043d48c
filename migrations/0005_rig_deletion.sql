-- A rig that is being deleted: nobody sees it any more and nothing comes in for it, while its rows go in steps.
ALTER TABLE rig ADD COLUMN deleting_at_s INTEGER;
CREATE INDEX rig_deleting ON rig (deleting_at_s) WHERE deleting_at_s IS NOT NULL;
