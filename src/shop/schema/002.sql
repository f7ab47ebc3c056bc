-- The book of a shop, version 2.

-- Requests that were carried out, by the key that came with them: sent again after a lost answer, they make nothing
-- twice. Of what was made only key and number are kept. Of this machine: in no export; gone after thirty days.
CREATE TABLE asked (
    key TEXT NOT NULL PRIMARY KEY CHECK (length(key) BETWEEN 16 AND 64),
    made TEXT,
    number INTEGER,
    at_ms INTEGER NOT NULL
) STRICT;
CREATE INDEX asked_by_time ON asked (at_ms);

-- What lists need of long rows, side by side: the steps of a job, colours and days of finishes, what is left of a lot.
CREATE INDEX entry_steps_of_job ON entry (job, step, id);
CREATE INDEX finish_by_time ON finish (created_ms, id);
DROP INDEX stock_move_of_lot;
CREATE INDEX stock_move_of_lot ON stock_move (lot, mg);
CREATE INDEX finish_by_colour ON finish (lab_l, lab_a, lab_b) WHERE lab_l IS NOT NULL;
