-- +goose Up

-- A page more for each post to write is what these cost. What they were for is done
-- once a day, or by going back through a member's newest entries.
DROP INDEX receipt_expires;

-- receipts_until is the day until which a delivery of the member's entries may be in
-- receipt. next_entry is no longer counted on with each entry: the next number is it or
-- the one behind the newest entry, whichever is greater.
ALTER TABLE book ADD COLUMN receipts_until INTEGER NOT NULL DEFAULT 0;
UPDATE book SET receipts_until = coalesce((SELECT max(expires) FROM receipt), 0);

-- The entries lie by piece. From number first on they are of the piece, until the next
-- stretch begins: that is how an entry is found by its number alone, and the newest.
CREATE TABLE stretch (
    owner BLOB    NOT NULL REFERENCES book ON DELETE CASCADE,
    first INTEGER NOT NULL CHECK (first > 0),
    piece INTEGER NOT NULL CHECK (piece >= 0),
    PRIMARY KEY (owner, first)
) STRICT, WITHOUT ROWID;

INSERT INTO stretch (owner, first, piece)
SELECT owner, number, piece FROM
    (SELECT owner, number, piece, lag(piece, 1, -1) OVER (PARTITION BY owner ORDER BY number) AS before FROM entry)
WHERE piece <> before;

-- An entry is its own receipt: the keyed hash of the delivery that added it, '' where
-- none did (an import) or where it lies in receipt (before this). A delivery that comes
-- again is looked for among the newest entries of its member.
--
-- running are the clocks that ran once the entry was there, as the numbers of the
-- entries that started them: those of the newest entry run now. NULL where they were
-- not noted: they are then added up.
CREATE TABLE entry_of_delivery (
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
    receipt    BLOB    NOT NULL DEFAULT x'' CHECK (length(receipt) IN (0, 16)),
    running    TEXT    CHECK (running NOT GLOB '*[^0-9,]*' AND length(running) <= 400),
    PRIMARY KEY (owner, piece, number),
    CHECK (amount = 0 OR currency <> '')
) STRICT, WITHOUT ROWID;

INSERT INTO entry_of_delivery (owner, piece, number, lot, kind, at, day, target, amount, currency, seconds, millionths, facts, running)
SELECT owner, piece, number, lot, kind, at, day, target, amount, currency, seconds, millionths, facts,
    CASE WHEN number = (SELECT max(number) FROM entry newest WHERE newest.owner = entry.owner)
    THEN coalesce((SELECT group_concat(number) FROM clock WHERE clock.owner = entry.owner), '') END
FROM entry;

DROP TABLE clock;
DROP TABLE entry;
ALTER TABLE entry_of_delivery RENAME TO entry;

CREATE INDEX entry_lot ON entry (owner, lot, number) WHERE lot > 0;
CREATE INDEX entry_undo ON entry (owner, target) WHERE kind = 'undo';
CREATE INDEX entry_made_lot ON entry (owner, lot) WHERE kind = 'lot';
CREATE INDEX entry_limit ON entry (owner, number) WHERE kind = 'limit';

-- +goose StatementBegin
CREATE TRIGGER entry_stays BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'a ledger is only added to'); END;
-- +goose StatementEnd

-- A sale is its own receipt: the keyed hash of the delivery that shared it, '' where that
-- lies in receipt (before this) or nobody did (invented ones). When it is withdrawn it
-- goes to receipt as by, under a hash of the sale's code.
ALTER TABLE record ADD COLUMN receipt BLOB NOT NULL DEFAULT x'' CHECK (length(receipt) IN (0, 8));
ALTER TABLE receipt ADD COLUMN by BLOB NOT NULL DEFAULT x'' CHECK (length(by) IN (0, 8));

-- A withdrawal code says itself where its sale lies, and is looked for there. Those of
-- before this do not.
DROP INDEX record_code;
CREATE UNIQUE INDEX record_code ON record (code_hash) WHERE receipt = x'';

-- The next number of a member's sales is the one behind their newest, or next, whichever
-- is greater. numbering is written when a sale goes, under a hash of the tag; the rows of
-- before this hang on one of the member.

-- The drafts lie in order of time, which expires tells anyway: those that are shared at
-- the same time mostly were made at the same time, and then lie on the same pages. A few
-- bytes of the member's hash find them, so that what does so lies on few pages, too.
CREATE TABLE draft_in_order (
    id                    INTEGER NOT NULL PRIMARY KEY,
    member                BLOB    NOT NULL CHECK (length(member) = 32),
    code                  TEXT    NOT NULL CHECK (length(code) = 6),
    community             BLOB    NOT NULL REFERENCES community ON DELETE CASCADE,
    expires               INTEGER NOT NULL, -- unix seconds
    category              TEXT    NOT NULL CHECK (length(category) BETWEEN 1 AND 64),
    species_group         TEXT    NOT NULL CHECK (length(species_group) <= 64),
    region                TEXT    NOT NULL CHECK (length(region) <= 64),
    sold                  INTEGER NOT NULL CHECK (sold > 0), -- year * 12 + month - 1
    price_per_board_foot  INTEGER CHECK (price_per_board_foot BETWEEN 0 AND 1000000000000000000),
    price_per_square_foot INTEGER CHECK (price_per_square_foot BETWEEN 0 AND 1000000000000000000),
    price                 INTEGER NOT NULL CHECK (price BETWEEN 0 AND 1000000000000000000),
    realised_hourly       INTEGER CHECK (abs(realised_hourly) <= 1000000000000000000),
    sold_to_asked         INTEGER CHECK (sold_to_asked BETWEEN 0 AND 1000000000000000000),
    days_to_sell          INTEGER CHECK (days_to_sell BETWEEN 0 AND 1000000000000000000)
) STRICT;

INSERT INTO draft_in_order (member, code, community, expires, category, species_group, region, sold,
    price_per_board_foot, price_per_square_foot, price, realised_hourly, sold_to_asked, days_to_sell)
SELECT member, code, community, expires, category, species_group, region, sold,
    price_per_board_foot, price_per_square_foot, price, realised_hourly, sold_to_asked, days_to_sell FROM draft ORDER BY expires;

DROP TABLE draft;
ALTER TABLE draft_in_order RENAME TO draft;
CREATE UNIQUE INDEX draft_member ON draft (substr(member, 1, 3), code);
