-- The book of a shop, version 1.
--
-- Keys are UUIDv7 texts (RFC 9562). Times are milliseconds UTC (*_ms) with the IANA zone in which they were said; days are
-- YYYY-MM-DD. Money is minor units with an ISO 4217 code. Masses are whole milligrams. `about` and `document` are JSON.
--
-- Logs only grow: the triggers below refuse every change of an entry, pot, pour, coat, price, stock move, shelf log, safety
-- sheet, invoice or accepted quote. The one exception is the erasure of a customer, which names itself in `erasing` for as long
-- as its transaction lasts.

-- Books that numbers come from. Exactly one is our own; the others came by import.
CREATE TABLE book (
    id TEXT NOT NULL PRIMARY KEY,
    own INTEGER NOT NULL CHECK (own IN (0, 1)),
    made_ms INTEGER NOT NULL,
    turn INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE UNIQUE INDEX book_one_own ON book (own) WHERE own = 1;

CREATE TABLE erasing (customer TEXT NOT NULL PRIMARY KEY) STRICT;

-- Customers who asked to be forgotten. Only the key is kept, so that no import and no old backup brings them back.
CREATE TABLE tombstone (
    id TEXT NOT NULL PRIMARY KEY,
    at_ms INTEGER NOT NULL
) STRICT;

CREATE TABLE setting (
    name TEXT NOT NULL PRIMARY KEY,
    document TEXT NOT NULL,
    changed_ms INTEGER NOT NULL
) STRICT;

-- What belongs to this machine alone and is in no export: "scrub" while an erasure has not been finished.
CREATE TABLE local (
    name TEXT NOT NULL PRIMARY KEY,
    value TEXT NOT NULL
) STRICT;

-- Photographs and safety data sheets, by the SHA-256 of their bytes; the bytes are files beside this one.
CREATE TABLE kept_file (
    sha256 TEXT NOT NULL PRIMARY KEY CHECK (length(sha256) = 64 AND sha256 NOT GLOB '*[^0-9a-f]*'),
    media TEXT NOT NULL,
    size INTEGER NOT NULL CHECK (size >= 0),
    added_ms INTEGER NOT NULL
) STRICT;

CREATE TABLE price_list (
    id TEXT NOT NULL PRIMARY KEY,
    name TEXT NOT NULL,
    currency TEXT NOT NULL CHECK (length(currency) = 3),
    words TEXT NOT NULL DEFAULT '',
    about TEXT NOT NULL DEFAULT '{}',
    created_ms INTEGER NOT NULL,
    changed_ms INTEGER NOT NULL
) STRICT;

CREATE TABLE price (
    id TEXT NOT NULL PRIMARY KEY,
    price_list TEXT NOT NULL REFERENCES price_list (id),
    item TEXT NOT NULL,
    unit TEXT NOT NULL DEFAULT '',
    minor INTEGER NOT NULL,
    from_day TEXT NOT NULL,
    words TEXT NOT NULL DEFAULT '',
    at_ms INTEGER NOT NULL
) STRICT;
CREATE INDEX price_of_list ON price (price_list, item, from_day);

CREATE TABLE customer (
    id TEXT NOT NULL PRIMARY KEY,
    name TEXT NOT NULL,
    telephone TEXT NOT NULL DEFAULT '',
    email TEXT NOT NULL DEFAULT '',
    address TEXT NOT NULL DEFAULT '',
    words TEXT NOT NULL DEFAULT '',
    trade INTEGER NOT NULL DEFAULT 0 CHECK (trade IN (0, 1)),
    price_list TEXT REFERENCES price_list (id),
    about TEXT NOT NULL DEFAULT '{}',
    created_ms INTEGER NOT NULL,
    changed_ms INTEGER NOT NULL,
    erased_ms INTEGER
) STRICT;

CREATE INDEX customer_by_name ON customer (name);

CREATE TABLE job (
    id TEXT NOT NULL PRIMARY KEY,
    origin TEXT NOT NULL REFERENCES book (id),
    number INTEGER NOT NULL CHECK (number > 0),
    customer TEXT REFERENCES customer (id),
    title TEXT NOT NULL,
    words TEXT NOT NULL DEFAULT '',
    place TEXT NOT NULL DEFAULT '',
    state TEXT NOT NULL DEFAULT 'open',
    due_day TEXT,
    return_of TEXT REFERENCES job (id),
    return_cause TEXT NOT NULL DEFAULT '',
    invented INTEGER NOT NULL DEFAULT 0 CHECK (invented IN (0, 1)),
    about TEXT NOT NULL DEFAULT '{}',
    zone TEXT NOT NULL,
    created_ms INTEGER NOT NULL,
    changed_ms INTEGER NOT NULL,
    UNIQUE (origin, number)
) STRICT;
CREATE INDEX job_by_number ON job (number);
CREATE INDEX job_of_customer ON job (customer);
CREATE INDEX job_by_time ON job (created_ms, id);
CREATE INDEX job_by_state ON job (state, due_day);
CREATE INDEX job_returned ON job (return_of);

CREATE TABLE piece (
    id TEXT NOT NULL PRIMARY KEY,
    job TEXT NOT NULL REFERENCES job (id),
    name TEXT NOT NULL,
    words TEXT NOT NULL DEFAULT '',
    about TEXT NOT NULL DEFAULT '{}',
    created_ms INTEGER NOT NULL,
    changed_ms INTEGER NOT NULL
) STRICT;
CREATE INDEX piece_of_job ON piece (job);

CREATE TABLE material (
    id TEXT NOT NULL PRIMARY KEY,
    piece TEXT NOT NULL REFERENCES piece (id),
    kind TEXT NOT NULL,
    words TEXT NOT NULL DEFAULT '',
    about TEXT NOT NULL DEFAULT '{}',
    created_ms INTEGER NOT NULL,
    changed_ms INTEGER NOT NULL
) STRICT;
CREATE INDEX material_of_piece ON material (piece);

-- A colour of a job (body, second tone, thread, piping ...); one batch may serve many pieces.
CREATE TABLE colour (
    id TEXT NOT NULL PRIMARY KEY,
    job TEXT NOT NULL REFERENCES job (id),
    name TEXT NOT NULL,
    role TEXT NOT NULL DEFAULT 'body',
    words TEXT NOT NULL DEFAULT '',
    about TEXT NOT NULL DEFAULT '{}',
    created_ms INTEGER NOT NULL,
    changed_ms INTEGER NOT NULL
) STRICT;
CREATE INDEX colour_of_job ON colour (job);
CREATE TABLE colour_piece (
    colour TEXT NOT NULL REFERENCES colour (id),
    piece TEXT NOT NULL REFERENCES piece (id),
    PRIMARY KEY (colour, piece)
) STRICT;
CREATE INDEX colour_piece_of_piece ON colour_piece (piece);

-- The memory of a job: readings, recipes, dabs, inspections, notes ... each as the JSON that a verb wrote.
CREATE TABLE entry (
    id TEXT NOT NULL PRIMARY KEY,
    job TEXT NOT NULL REFERENCES job (id),
    piece TEXT REFERENCES piece (id),
    colour TEXT REFERENCES colour (id),
    step TEXT NOT NULL CHECK (step IN ('look', 'quote', 'prepare', 'colour', 'recipe', 'pour', 'dabs', 'coats', 'grain',
                                       'sheen', 'check', 'handover')),
    kind TEXT NOT NULL,
    words TEXT NOT NULL DEFAULT '',
    document TEXT NOT NULL,
    replaces TEXT REFERENCES entry (id),
    at_ms INTEGER NOT NULL,
    zone TEXT NOT NULL
) STRICT;
CREATE INDEX entry_of_job ON entry (job, id);
CREATE INDEX entry_of_piece ON entry (piece);
CREATE INDEX entry_of_colour ON entry (colour);
CREATE INDEX entry_replaced ON entry (replaces);
CREATE INDEX entry_by_kind ON entry (kind, id);

CREATE TABLE entry_photograph (
    entry TEXT NOT NULL REFERENCES entry (id),
    position INTEGER NOT NULL CHECK (position >= 0),
    sha256 TEXT NOT NULL REFERENCES kept_file (sha256),
    words TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (entry, position)
) STRICT;
CREATE INDEX entry_photograph_by_file ON entry_photograph (sha256);

CREATE TABLE toner (
    id TEXT NOT NULL PRIMARY KEY CHECK (id <> '' AND id NOT GLOB '*[^a-z0-9-]*'),
    name TEXT NOT NULL,
    role TEXT NOT NULL CHECK (role IN ('binder', 'white', 'black', 'colour', 'other')),
    density_g_ml REAL CHECK (density_g_ml > 0),
    warn_mg INTEGER CHECK (warn_mg >= 0),
    words TEXT NOT NULL DEFAULT '',
    about TEXT NOT NULL DEFAULT '{}',
    created_ms INTEGER NOT NULL,
    changed_ms INTEGER NOT NULL
) STRICT;

CREATE TABLE lot (
    id TEXT NOT NULL PRIMARY KEY,
    toner TEXT NOT NULL REFERENCES toner (id),
    name TEXT NOT NULL,
    received_day TEXT,
    expires_day TEXT,
    price_minor_per_kg INTEGER CHECK (price_minor_per_kg >= 0),
    currency TEXT CHECK (length(currency) = 3),
    frost TEXT NOT NULL DEFAULT 'unknown' CHECK (frost IN ('no', 'yes', 'unknown')),
    used_up INTEGER NOT NULL DEFAULT 0 CHECK (used_up IN (0, 1)),
    words TEXT NOT NULL DEFAULT '',
    about TEXT NOT NULL DEFAULT '{}',
    created_ms INTEGER NOT NULL,
    changed_ms INTEGER NOT NULL
) STRICT;
CREATE INDEX lot_of_toner ON lot (toner);

CREATE TABLE safety_sheet (
    id TEXT NOT NULL PRIMARY KEY,
    toner TEXT NOT NULL REFERENCES toner (id),
    sha256 TEXT NOT NULL REFERENCES kept_file (sha256),
    name TEXT NOT NULL,
    issued_day TEXT,
    at_ms INTEGER NOT NULL
) STRICT;
CREATE INDEX safety_sheet_of_toner ON safety_sheet (toner);
CREATE INDEX safety_sheet_by_file ON safety_sheet (sha256);

-- The shelf's own log: drawdowns, fits, learnt strengths, each as a document (kind `toners` and the like).
CREATE TABLE shelf_log (
    id TEXT NOT NULL PRIMARY KEY,
    kind TEXT NOT NULL,
    words TEXT NOT NULL DEFAULT '',
    document TEXT NOT NULL,
    replaces TEXT REFERENCES shelf_log (id),
    at_ms INTEGER NOT NULL,
    zone TEXT NOT NULL
) STRICT;
CREATE INDEX shelf_log_by_kind ON shelf_log (kind, id);
CREATE INDEX shelf_log_replaced ON shelf_log (replaces);

CREATE TABLE pot (
    id TEXT NOT NULL PRIMARY KEY,
    job TEXT REFERENCES job (id),
    colour TEXT REFERENCES colour (id),
    entry TEXT REFERENCES entry (id),
    name TEXT NOT NULL DEFAULT '',
    document TEXT NOT NULL,
    at_ms INTEGER NOT NULL,
    zone TEXT NOT NULL
) STRICT;
CREATE INDEX pot_of_job ON pot (job);
CREATE INDEX pot_of_colour ON pot (colour);
CREATE INDEX pot_of_entry ON pot (entry);

-- What happened to a pot after it was made: `crosslinked` starts its clock and ends its life on the shelf for good.
CREATE TABLE pot_event (
    id TEXT NOT NULL PRIMARY KEY,
    pot TEXT NOT NULL REFERENCES pot (id),
    kind TEXT NOT NULL CHECK (kind IN ('crosslinked', 'taken', 'put-back', 'emptied', 'note')),
    mg INTEGER,
    life_min REAL,
    words TEXT NOT NULL DEFAULT '',
    at_ms INTEGER NOT NULL,
    zone TEXT NOT NULL
) STRICT;
CREATE INDEX pot_event_of_pot ON pot_event (pot, id);

-- What was weighed into a pot, in the order it went in.
CREATE TABLE pour (
    id TEXT NOT NULL PRIMARY KEY,
    pot TEXT NOT NULL REFERENCES pot (id),
    toner TEXT NOT NULL REFERENCES toner (id),
    lot TEXT REFERENCES lot (id),
    mg INTEGER NOT NULL CHECK (mg > 0),
    at_ms INTEGER NOT NULL,
    zone TEXT NOT NULL
) STRICT;
CREATE INDEX pour_of_pot ON pour (pot, id);
CREATE INDEX pour_of_lot ON pour (lot);
CREATE INDEX pour_of_toner ON pour (toner);

-- The stock of a lot is the sum of its moves.
CREATE TABLE stock_move (
    id TEXT NOT NULL PRIMARY KEY,
    lot TEXT NOT NULL REFERENCES lot (id),
    mg INTEGER NOT NULL,
    reason TEXT NOT NULL CHECK (reason IN ('received', 'poured', 'counted', 'spilt', 'thrown', 'other')),
    pour TEXT REFERENCES pour (id),
    words TEXT NOT NULL DEFAULT '',
    at_ms INTEGER NOT NULL,
    zone TEXT NOT NULL
) STRICT;
CREATE INDEX stock_move_of_lot ON stock_move (lot);
CREATE INDEX stock_move_of_pour ON stock_move (pour);

CREATE TABLE coat (
    id TEXT NOT NULL PRIMARY KEY,
    job TEXT NOT NULL REFERENCES job (id),
    piece TEXT REFERENCES piece (id),
    colour TEXT REFERENCES colour (id),
    pot TEXT REFERENCES pot (id),
    entry TEXT REFERENCES entry (id),
    wet_um REAL CHECK (wet_um >= 0),
    film_um REAL CHECK (film_um >= 0),
    document TEXT NOT NULL DEFAULT '{}',
    at_ms INTEGER NOT NULL,
    zone TEXT NOT NULL
) STRICT;
CREATE INDEX coat_of_job ON coat (job, id);
CREATE INDEX coat_of_piece ON coat (piece);
CREATE INDEX coat_of_colour ON coat (colour);
CREATE INDEX coat_of_pot ON coat (pot);
CREATE INDEX coat_of_entry ON coat (entry);

-- The book of finishes.
CREATE TABLE finish (
    id TEXT NOT NULL PRIMARY KEY,
    job TEXT REFERENCES job (id),
    entry TEXT REFERENCES entry (id),
    name TEXT NOT NULL,
    words TEXT NOT NULL DEFAULT '',
    lab_l REAL,
    lab_a REAL,
    lab_b REAL,
    reflectance TEXT,
    document TEXT NOT NULL,
    invented INTEGER NOT NULL DEFAULT 0 CHECK (invented IN (0, 1)),
    created_ms INTEGER NOT NULL,
    changed_ms INTEGER NOT NULL
) STRICT;
CREATE INDEX finish_by_name ON finish (name);
CREATE INDEX finish_of_job ON finish (job);
CREATE INDEX finish_of_entry ON finish (entry);

CREATE TABLE quote (
    id TEXT NOT NULL PRIMARY KEY,
    job TEXT NOT NULL REFERENCES job (id),
    origin TEXT NOT NULL REFERENCES book (id),
    series TEXT NOT NULL DEFAULT '',
    number INTEGER NOT NULL CHECK (number > 0),
    state TEXT NOT NULL DEFAULT 'open' CHECK (state IN ('open', 'accepted', 'declined', 'replaced')),
    currency TEXT NOT NULL CHECK (length(currency) = 3),
    total_minor INTEGER NOT NULL,
    document TEXT NOT NULL,
    replaces TEXT REFERENCES quote (id),
    made_ms INTEGER NOT NULL,
    accepted_ms INTEGER,
    changed_ms INTEGER NOT NULL,
    zone TEXT NOT NULL,
    UNIQUE (origin, series, number),
    CHECK ((state = 'accepted') = (accepted_ms IS NOT NULL))
) STRICT;
CREATE INDEX quote_of_job ON quote (job);
CREATE INDEX quote_replaced ON quote (replaces);

CREATE TABLE invoice (
    id TEXT NOT NULL PRIMARY KEY,
    job TEXT NOT NULL REFERENCES job (id),
    quote TEXT REFERENCES quote (id),
    origin TEXT NOT NULL REFERENCES book (id),
    series TEXT NOT NULL DEFAULT '',
    number INTEGER NOT NULL CHECK (number > 0),
    issued_day TEXT NOT NULL,
    currency TEXT NOT NULL CHECK (length(currency) = 3),
    total_minor INTEGER NOT NULL,
    document TEXT NOT NULL,
    cancels TEXT REFERENCES invoice (id),
    made_ms INTEGER NOT NULL,
    zone TEXT NOT NULL,
    UNIQUE (origin, series, number)
) STRICT;
CREATE INDEX invoice_of_job ON invoice (job);
CREATE INDEX invoice_of_quote ON invoice (quote);
CREATE INDEX invoice_cancelled ON invoice (cancels);

-- Phones and tablets that were paired. Only a hash of the secret is kept.
CREATE TABLE device (
    id TEXT NOT NULL PRIMARY KEY,
    name TEXT NOT NULL,
    secret_sha256 TEXT NOT NULL CHECK (length(secret_sha256) = 64),
    paired_ms INTEGER NOT NULL,
    seen_ms INTEGER,
    revoked_ms INTEGER
) STRICT;
CREATE UNIQUE INDEX device_by_secret ON device (secret_sha256);

-- Logs only grow.
CREATE TRIGGER entry_never_changed BEFORE UPDATE ON entry WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows entry'); END;
CREATE TRIGGER entry_never_deleted BEFORE DELETE ON entry WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows entry'); END;
CREATE TRIGGER entry_photograph_never_changed BEFORE UPDATE ON entry_photograph WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows entry_photograph'); END;
CREATE TRIGGER entry_photograph_never_deleted BEFORE DELETE ON entry_photograph WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows entry_photograph'); END;
CREATE TRIGGER price_never_changed BEFORE UPDATE ON price WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows price'); END;
CREATE TRIGGER price_never_deleted BEFORE DELETE ON price WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows price'); END;
CREATE TRIGGER shelf_log_never_changed BEFORE UPDATE ON shelf_log WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows shelf_log'); END;
CREATE TRIGGER shelf_log_never_deleted BEFORE DELETE ON shelf_log WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows shelf_log'); END;
CREATE TRIGGER safety_sheet_never_changed BEFORE UPDATE ON safety_sheet WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows safety_sheet'); END;
CREATE TRIGGER safety_sheet_never_deleted BEFORE DELETE ON safety_sheet WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows safety_sheet'); END;
CREATE TRIGGER pot_never_changed BEFORE UPDATE ON pot WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows pot'); END;
CREATE TRIGGER pot_never_deleted BEFORE DELETE ON pot WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows pot'); END;
CREATE TRIGGER pot_event_never_changed BEFORE UPDATE ON pot_event WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows pot_event'); END;
CREATE TRIGGER pot_event_never_deleted BEFORE DELETE ON pot_event WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows pot_event'); END;
CREATE TRIGGER pour_never_changed BEFORE UPDATE ON pour WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows pour'); END;
CREATE TRIGGER pour_never_deleted BEFORE DELETE ON pour WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows pour'); END;
CREATE TRIGGER stock_move_never_changed BEFORE UPDATE ON stock_move WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows stock_move'); END;
CREATE TRIGGER stock_move_never_deleted BEFORE DELETE ON stock_move WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows stock_move'); END;
CREATE TRIGGER coat_never_changed BEFORE UPDATE ON coat WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows coat'); END;
CREATE TRIGGER coat_never_deleted BEFORE DELETE ON coat WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows coat'); END;
CREATE TRIGGER invoice_never_changed BEFORE UPDATE ON invoice WHEN NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'log-grows invoice'); END;

-- A number that was given stays given, also through an erasure.
CREATE TRIGGER invoice_kept BEFORE DELETE ON invoice
BEGIN SELECT RAISE(ABORT, 'log-grows invoice'); END;
CREATE TRIGGER quote_kept BEFORE DELETE ON quote
BEGIN SELECT RAISE(ABORT, 'log-grows quote'); END;
CREATE TRIGGER invoice_number_kept BEFORE UPDATE OF origin, series, number, total_minor, currency, issued_day ON invoice
BEGIN SELECT RAISE(ABORT, 'log-grows invoice'); END;

-- An accepted quote is frozen.
CREATE TRIGGER quote_frozen BEFORE UPDATE ON quote
WHEN OLD.accepted_ms IS NOT NULL AND NOT EXISTS (SELECT 1 FROM erasing)
BEGIN SELECT RAISE(ABORT, 'quote-frozen quote'); END;
CREATE TRIGGER quote_number_kept BEFORE UPDATE OF id, job, origin, series, number ON quote
BEGIN SELECT RAISE(ABORT, 'log-grows quote'); END;

-- Our own numbers have no gap: the next one is the last one and 1. Numbers of other books are kept as they came.
CREATE TRIGGER invoice_gapless BEFORE INSERT ON invoice
WHEN NEW.origin = (SELECT id FROM book WHERE own = 1)
 AND NOT EXISTS (SELECT 1 FROM invoice WHERE id = NEW.id)
 AND NEW.number <> 1 + (SELECT coalesce(max(number), 0) FROM invoice WHERE origin = NEW.origin AND series = NEW.series)
BEGIN SELECT RAISE(ABORT, 'number-gap invoice'); END;
CREATE TRIGGER quote_gapless BEFORE INSERT ON quote
WHEN NEW.origin = (SELECT id FROM book WHERE own = 1)
 AND NOT EXISTS (SELECT 1 FROM quote WHERE id = NEW.id)
 AND NEW.number <> 1 + (SELECT coalesce(max(number), 0) FROM quote WHERE origin = NEW.origin AND series = NEW.series)
BEGIN SELECT RAISE(ABORT, 'number-gap quote'); END;

-- What was crosslinked never goes back on the shelf.
CREATE TRIGGER pot_never_back BEFORE INSERT ON pot_event
WHEN NEW.kind = 'put-back'
 AND NOT EXISTS (SELECT 1 FROM pot_event WHERE id = NEW.id)
 AND EXISTS (SELECT 1 FROM pot_event WHERE pot = NEW.pot AND kind = 'crosslinked')
BEGIN SELECT RAISE(ABORT, 'pot-crosslinked pot'); END;
-- Rows that others may have copied by now are not deleted; an erasure empties them.
CREATE TRIGGER customer_stays BEFORE DELETE ON customer
BEGIN SELECT RAISE(ABORT, 'row-stays customer'); END;
CREATE TRIGGER job_stays BEFORE DELETE ON job
BEGIN SELECT RAISE(ABORT, 'row-stays job'); END;
CREATE TRIGGER piece_stays BEFORE DELETE ON piece
BEGIN SELECT RAISE(ABORT, 'row-stays piece'); END;
CREATE TRIGGER toner_stays BEFORE DELETE ON toner
BEGIN SELECT RAISE(ABORT, 'row-stays toner'); END;
CREATE TRIGGER lot_stays BEFORE DELETE ON lot
BEGIN SELECT RAISE(ABORT, 'row-stays lot'); END;
CREATE TRIGGER finish_stays BEFORE DELETE ON finish
BEGIN SELECT RAISE(ABORT, 'row-stays finish'); END;
CREATE TRIGGER price_list_stays BEFORE DELETE ON price_list
BEGIN SELECT RAISE(ABORT, 'row-stays price_list'); END;
CREATE TRIGGER book_stays BEFORE DELETE ON book
BEGIN SELECT RAISE(ABORT, 'row-stays book'); END;
CREATE TRIGGER tombstone_stays BEFORE DELETE ON tombstone
BEGIN SELECT RAISE(ABORT, 'row-stays tombstone'); END;
