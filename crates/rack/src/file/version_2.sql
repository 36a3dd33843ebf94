-- Version 2 knows the largest upright rectangle inside each glass, and finds glass by its area.
ALTER TABLE items ADD COLUMN clear_width REAL NOT NULL DEFAULT 0;
ALTER TABLE items ADD COLUMN clear_height REAL NOT NULL DEFAULT 0;
DROP INDEX items_on_rack;
CREATE INDEX items_on_rack ON items (glass, area) WHERE state = 'on the rack';
CREATE INDEX items_by_area ON items (area) WHERE state = 'on the rack';
