-- Words that handlers objected in go when the rules have kept them long enough. The row stays,
-- so that they are not taken in again.
ALTER TABLE objections ADD COLUMN erased_ms INTEGER;  -- by the office's clock
