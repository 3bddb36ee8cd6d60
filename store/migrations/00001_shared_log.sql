-- +goose Up

-- The database belongs to one key file.
CREATE TABLE house (
    one         INTEGER NOT NULL PRIMARY KEY CHECK (one = 1),
    fingerprint BLOB    NOT NULL CHECK (length(fingerprint) = 32)
) STRICT;

-- Every id below is a keyed hash. Tables with such a key have no row number, so
-- that the order in which rows were added is not kept either.
CREATE TABLE community (
    community BLOB    NOT NULL PRIMARY KEY CHECK (length(community) = 32),
    currency  TEXT    NOT NULL CHECK (currency GLOB '[A-Z][A-Z][A-Z]'),
    practice  INTEGER NOT NULL CHECK (practice IN (0, 1))
) STRICT, WITHOUT ROWID;

CREATE TABLE community_word (
    community BLOB    NOT NULL REFERENCES community ON DELETE CASCADE,
    kind      TEXT    NOT NULL CHECK (kind IN ('category', 'region')),
    place     INTEGER NOT NULL CHECK (place >= 0),
    word      TEXT    NOT NULL CHECK (length(word) BETWEEN 1 AND 64),
    PRIMARY KEY (community, kind, place),
    UNIQUE (community, kind, word)
) STRICT, WITHOUT ROWID;

-- A member's consent. Nothing here leads to a record below.
CREATE TABLE consent (
    member  BLOB    NOT NULL PRIMARY KEY CHECK (length(member) = 32),
    wording INTEGER NOT NULL CHECK (wording >= 0),
    given   INTEGER NOT NULL -- day, counted from 1970-01-01
) STRICT, WITHOUT ROWID;

-- A preview that has not been shared. Values are times 1,000,000.
CREATE TABLE draft (
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
    days_to_sell          INTEGER CHECK (days_to_sell BETWEEN 0 AND 1000000000000000000),
    PRIMARY KEY (member, code)
) STRICT, WITHOUT ROWID;

CREATE INDEX draft_expires ON draft (expires);

-- The next number of a member's own sales, under a hash of its own: beside the
-- consent the count would tell which records are the member's.
CREATE TABLE numbering (
    sharer BLOB    NOT NULL PRIMARY KEY CHECK (length(sharer) = 32),
    next   INTEGER NOT NULL CHECK (next > 0)
) STRICT, WITHOUT ROWID;

-- A maker of the pooled records. since is moved to the latest day that makes no
-- difference to a release on the 1st, so that it points at no one day.
CREATE TABLE contributor (
    tag       BLOB    NOT NULL PRIMARY KEY CHECK (length(tag) = 32),
    community BLOB    NOT NULL REFERENCES community ON DELETE CASCADE,
    since     INTEGER NOT NULL, -- day
    seeded    INTEGER NOT NULL CHECK (seeded IN (0, 1))
) STRICT, WITHOUT ROWID;

CREATE INDEX contributor_community ON contributor (community);

-- A pooled record. Its id is random: an id in order would be a time.
CREATE TABLE record (
    id                    INTEGER NOT NULL PRIMARY KEY CHECK (id > 0),
    tag                   BLOB    NOT NULL REFERENCES contributor ON DELETE CASCADE,
    number                INTEGER NOT NULL CHECK (number > 0),
    code_hash             BLOB    NOT NULL UNIQUE CHECK (length(code_hash) = 32),
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
    UNIQUE (tag, number)
) STRICT;

-- What a delivery did, so that the same delivery does it once.
CREATE TABLE receipt (
    receipt BLOB    NOT NULL PRIMARY KEY CHECK (length(receipt) = 32),
    number  INTEGER NOT NULL CHECK (number >= 0),
    expires INTEGER NOT NULL -- day
) STRICT, WITHOUT ROWID;

CREATE INDEX receipt_expires ON receipt (expires);

-- What each series last showed, and of whom: never told to anybody.
CREATE TABLE show (
    community BLOB    NOT NULL REFERENCES community ON DELETE CASCADE,
    cut       TEXT    NOT NULL,
    series    TEXT    NOT NULL,
    as_of     INTEGER NOT NULL,
    makers    INTEGER NOT NULL,
    low       INTEGER NOT NULL,
    high      INTEGER NOT NULL CHECK (high >= low),
    PRIMARY KEY (community, cut, series)
) STRICT, WITHOUT ROWID;

CREATE TABLE ledger (
    community BLOB NOT NULL,
    cut       TEXT NOT NULL,
    series    TEXT NOT NULL,
    maker     BLOB NOT NULL CHECK (length(maker) = 32),
    records   BLOB NOT NULL CHECK (length(records) = 32),
    PRIMARY KEY (community, cut, series, maker),
    FOREIGN KEY (community, cut, series) REFERENCES show ON DELETE CASCADE
) STRICT, WITHOUT ROWID;

CREATE INDEX ledger_maker ON ledger (maker);

-- The log anybody may read. It is only ever added to.
CREATE TABLE release (
    community BLOB    NOT NULL REFERENCES community,
    day       INTEGER NOT NULL,
    PRIMARY KEY (community, day)
) STRICT, WITHOUT ROWID;

CREATE TABLE published_line (
    community BLOB    NOT NULL,
    day       INTEGER NOT NULL,
    cut       TEXT    NOT NULL,
    shown     INTEGER NOT NULL CHECK (shown IN (0, 1)),
    reason    TEXT    NOT NULL,
    as_of     INTEGER NOT NULL,
    makers    INTEGER NOT NULL,
    PRIMARY KEY (community, day, cut),
    FOREIGN KEY (community, day) REFERENCES release,
    CHECK (shown = 1 AND reason = '' OR shown = 0 AND reason <> '')
) STRICT, WITHOUT ROWID;

CREATE TABLE published_figure (
    community    BLOB    NOT NULL,
    day          INTEGER NOT NULL,
    cut          TEXT    NOT NULL,
    figure       TEXT    NOT NULL CHECK (figure IN ('price_per_board_foot', 'price_per_square_foot',
                     'price', 'realised_hourly', 'sold_to_asked', 'days_to_sell')),
    shown        INTEGER NOT NULL CHECK (shown IN (0, 1)),
    reason       TEXT    NOT NULL,
    as_of        INTEGER NOT NULL,
    makers       INTEGER NOT NULL,
    value        INTEGER NOT NULL,
    middle_low   INTEGER,
    middle_high  INTEGER CHECK (middle_high >= middle_low),
    middle_as_of INTEGER,
    PRIMARY KEY (community, day, cut, figure),
    FOREIGN KEY (community, day, cut) REFERENCES published_line,
    CHECK (shown = 1 AND reason = '' OR shown = 0 AND reason <> ''),
    CHECK ((middle_low IS NULL) = (middle_high IS NULL) AND (middle_low IS NULL) = (middle_as_of IS NULL))
) STRICT, WITHOUT ROWID;

-- +goose StatementBegin
CREATE TRIGGER release_stays BEFORE UPDATE ON release
BEGIN SELECT RAISE(ABORT, 'the log is only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER release_is_kept BEFORE DELETE ON release
BEGIN SELECT RAISE(ABORT, 'the log is only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER published_line_stays BEFORE UPDATE ON published_line
BEGIN SELECT RAISE(ABORT, 'the log is only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER published_line_is_kept BEFORE DELETE ON published_line
BEGIN SELECT RAISE(ABORT, 'the log is only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER published_figure_stays BEFORE UPDATE ON published_figure
BEGIN SELECT RAISE(ABORT, 'the log is only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER published_figure_is_kept BEFORE DELETE ON published_figure
BEGIN SELECT RAISE(ABORT, 'the log is only added to'); END;
-- +goose StatementEnd
