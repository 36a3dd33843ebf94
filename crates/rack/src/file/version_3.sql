-- Version 3 knows in which unit the rack is read by people: all sizes here stay mm.
ALTER TABLE rack ADD COLUMN units TEXT NOT NULL DEFAULT 'mm' CHECK (units IN ('mm', 'in'));
