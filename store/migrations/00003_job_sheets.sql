-- +goose Up

-- A member's job sheets. owner is a keyed hash of its own: it leads neither to the
-- consent nor to a shared sale. next_* are the numbers given next; a number is not
-- given twice.
CREATE TABLE book (
    owner      BLOB    NOT NULL PRIMARY KEY CHECK (length(owner) = 32),
    next_entry INTEGER NOT NULL CHECK (next_entry > 0),
    next_piece INTEGER NOT NULL CHECK (next_piece > 0),
    next_lot   INTEGER NOT NULL CHECK (next_lot > 0)
) STRICT, WITHOUT ROWID;

-- The ledger. It lies sorted by piece, so that a sheet is read in one stretch.
CREATE TABLE entry (
    owner      BLOB    NOT NULL REFERENCES book ON DELETE CASCADE,
    piece      INTEGER NOT NULL CHECK (piece >= 0), -- 0: none
    number     INTEGER NOT NULL CHECK (number > 0),
    lot        INTEGER NOT NULL CHECK (lot >= 0),   -- 0: none
    kind       TEXT    NOT NULL CHECK (length(kind) BETWEEN 1 AND 16),
    at         INTEGER NOT NULL,                    -- unix seconds
    day        INTEGER NOT NULL,                    -- counted from 1970-01-01
    target     INTEGER NOT NULL CHECK (target >= 0 AND target < number),
    amount     INTEGER NOT NULL CHECK (amount BETWEEN 0 AND 10000000000000), -- minor units
    currency   TEXT    NOT NULL CHECK (currency = '' OR currency GLOB '[A-Z][A-Z][A-Z]'),
    seconds    INTEGER NOT NULL CHECK (seconds BETWEEN 0 AND 360000000),
    millionths INTEGER NOT NULL CHECK (millionths BETWEEN 0 AND 1000000000000),
    facts      TEXT    NOT NULL CHECK (json_valid(facts) AND length(facts) <= 16000),
    PRIMARY KEY (owner, piece, number),
    UNIQUE (owner, number),
    CHECK (amount = 0 OR currency <> '')
) STRICT, WITHOUT ROWID;

CREATE INDEX entry_lot ON entry (owner, lot, number) WHERE lot > 0;
CREATE INDEX entry_undo ON entry (owner, target) WHERE kind = 'undo';
CREATE INDEX entry_taken ON entry (owner, number) WHERE kind IN ('open', 'take', 'in', 'reopen');
CREATE INDEX entry_made_lot ON entry (owner, lot) WHERE kind = 'lot';
CREATE INDEX entry_limit ON entry (owner, number) WHERE kind = 'limit';

-- +goose StatementBegin
CREATE TRIGGER entry_stays BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'a ledger is only added to'); END;
-- +goose StatementEnd

-- What the entries of a piece add up to, as far as pieces are looked for by it. It
-- is made anew from the entries with every one that is added.
CREATE TABLE piece (
    owner    BLOB    NOT NULL REFERENCES book ON DELETE CASCADE,
    number   INTEGER NOT NULL CHECK (number > 0),
    name     TEXT    NOT NULL CHECK (length(name) BETWEEN 1 AND 60),
    category TEXT    NOT NULL CHECK (length(category) <= 40),
    status   TEXT    NOT NULL CHECK (status IN ('open', 'listed', 'sold', 'kept', 'given', 'scrapped')),
    PRIMARY KEY (owner, number)
) STRICT, WITHOUT ROWID;

CREATE INDEX piece_status ON piece (owner, status, number);
CREATE INDEX piece_name ON piece (owner, name COLLATE NOCASE);
CREATE INDEX piece_category ON piece (owner, category, number);

-- The clocks that run, likewise. Nobody has two.
CREATE TABLE clock (
    owner  BLOB    NOT NULL REFERENCES book ON DELETE CASCADE,
    person TEXT    NOT NULL COLLATE NOCASE CHECK (length(person) <= 40), -- '': the maker
    piece  INTEGER NOT NULL,
    number INTEGER NOT NULL,
    PRIMARY KEY (owner, person)
) STRICT, WITHOUT ROWID;
