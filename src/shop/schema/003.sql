-- The book of a shop, version 3.

-- Which entry a pour came with: what went into a pot together is told by it, not by the second it was logged in. NULL is of
-- a book from before, where nobody kept it.
ALTER TABLE pour ADD COLUMN entry TEXT REFERENCES entry (id);
CREATE INDEX pour_of_entry ON pour (entry);

-- Pours whose entry was put right before that gave the stock back: it returns now, as of the entry that put it right, unless
-- the lot was counted since (what was counted is what is there). The key is made from the pour's own, so that two books that
-- come from one backup make the same move, and an import joins them.
INSERT INTO stock_move (id, lot, mg, reason, pour, words, at_ms, zone)
SELECT substr(o.id, 1, 15) || substr('89abcdef01234567', instr('0123456789abcdef', substr(o.id, 16, 1)), 1) || substr(o.id, 17),
    m.lot, -sum(m.mg), 'poured', o.id, 'taken back: the pour was put right', r.at_ms, r.zone
FROM pour o
JOIN stock_move m ON m.pour = o.id
JOIN pot p ON p.id = o.pot
JOIN entry r ON r.id = (SELECT min(x.id) FROM entry x WHERE x.replaces = p.entry)
WHERE NOT EXISTS (SELECT 1 FROM stock_move c WHERE c.lot = m.lot AND c.reason = 'counted' AND c.at_ms >= r.at_ms)
GROUP BY o.id, m.lot
HAVING sum(m.mg) < 0;
