-- +goose Up

-- The records lie sorted by maker, so that a release reads them in one stretch.
-- Their order is that of hashes: it says nothing of when they were shared. An id
-- tells the records of one maker apart; it is no longer looked up.
CREATE TABLE record_in_order (
    id                    INTEGER NOT NULL CHECK (id > 0),
    tag                   BLOB    NOT NULL REFERENCES contributor ON DELETE CASCADE,
    number                INTEGER NOT NULL CHECK (number > 0),
    code_hash             BLOB    NOT NULL CHECK (length(code_hash) = 32),
    category              TEXT    NOT NULL CHECK (length(category) BETWEEN 1 AND 64),
    species_group         TEXT    NOT NULL CHECK (length(species_group) <= 64),
    region                TEXT    NOT NULL CHECK (length(region) <= 64),
    sold                  INTEGER NOT NULL CHECK (sold > 0),
    price_per_board_foot  INTEGER CHECK (price_per_board_foot BETWEEN 0 AND 1000000000000000000),
    price_per_square_foot INTEGER CHECK (price_per_square_foot BETWEEN 0 AND 1000000000000000000),
    price                 INTEGER NOT NULL CHECK (price BETWEEN 0 AND 1000000000000000000),
    realised_hourly       INTEGER CHECK (abs(realised_hourly) <= 1000000000000000000),
    sold_to_asked         INTEGER CHECK (sold_to_asked BETWEEN 0 AND 1000000000000000000),
    days_to_sell          INTEGER CHECK (days_to_sell BETWEEN 0 AND 1000000000000000000),
    PRIMARY KEY (tag, number)
) STRICT, WITHOUT ROWID;

INSERT INTO record_in_order (id, tag, number, code_hash, category, species_group, region, sold, price_per_board_foot,
    price_per_square_foot, price, realised_hourly, sold_to_asked, days_to_sell)
SELECT id, tag, number, code_hash, category, species_group, region, sold, price_per_board_foot,
    price_per_square_foot, price, realised_hourly, sold_to_asked, days_to_sell FROM record ORDER BY tag, number;

DROP TABLE record;
ALTER TABLE record_in_order RENAME TO record;
CREATE UNIQUE INDEX record_code ON record (code_hash);

-- Whose records a series showed: 64 bytes a maker, the tag and the mark, in order
-- of tag. A row a maker cost a release more than all its reckoning.
CREATE TABLE ledger_whole (
    community BLOB NOT NULL,
    cut       TEXT NOT NULL,
    series    TEXT NOT NULL,
    entries   BLOB NOT NULL CHECK (length(entries) % 64 = 0),
    PRIMARY KEY (community, cut, series),
    FOREIGN KEY (community, cut, series) REFERENCES show ON DELETE CASCADE
) STRICT, WITHOUT ROWID;

INSERT INTO ledger_whole (community, cut, series, entries)
SELECT community, cut, series, unhex(group_concat(hex(maker) || hex(records), '' ORDER BY maker))
FROM ledger GROUP BY community, cut, series;

DROP TABLE ledger;
ALTER TABLE ledger_whole RENAME TO ledger;
