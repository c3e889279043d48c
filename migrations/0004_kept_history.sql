-- How far back a rig's readings are still complete: nothing that was worked out before is told anew from what is left.
ALTER TABLE memory ADD COLUMN readings_from_s INTEGER NOT NULL DEFAULT 0; -- 0: none were ever removed

-- Rigs whose readings have been removed already are known by days told before their first reading that is left.
UPDATE memory SET readings_from_s =
  coalesce((SELECT r.at_s FROM reading r WHERE r.rig_id = memory.rig_id AND r.place = 0 ORDER BY r.at_s LIMIT 1), grid_s)
WHERE EXISTS (
  SELECT 1 FROM exposure_day e WHERE e.rig_id = memory.rig_id AND e.from_s + 86400 <=
    coalesce((SELECT r.at_s FROM reading r WHERE r.rig_id = memory.rig_id AND r.place = 0 ORDER BY r.at_s LIMIT 1), grid_s));
