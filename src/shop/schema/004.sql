-- The book of a shop, version 4.

-- A finish is filed by the cell of its colour (colour/nearest.c, which reckons the same number): .125 of L*, .25 of a* and b*,
-- the bits of a*, b*, L* in turn. What is near to a colour is found in that order by halving boxes.
DROP INDEX finish_by_colour;
ALTER TABLE finish ADD COLUMN cell INTEGER GENERATED ALWAYS AS (
    (((((CAST(max(0, min(1023, 4 * (lab_a - -128))) AS INTEGER) * 65537 & 4278190335) * 257 & 251719695) * 17 & 3272356035) * 5 & 1227133513) << 2)
    | (((((CAST(max(0, min(1023, 4 * (lab_b - -128))) AS INTEGER) * 65537 & 4278190335) * 257 & 251719695) * 17 & 3272356035) * 5 & 1227133513) << 1)
    | ((((CAST(max(0, min(1023, 8 * lab_l)) AS INTEGER) * 65537 & 4278190335) * 257 & 251719695) * 17 & 3272356035) * 5 & 1227133513)
) VIRTUAL;
CREATE INDEX finish_by_cell ON finish (cell, lab_l, lab_a, lab_b) WHERE cell IS NOT NULL;
