-- +goose Up

-- Who may use the log: '' is everybody.
ALTER TABLE community ADD COLUMN access TEXT NOT NULL DEFAULT '' CHECK (access IN ('', 'sharers', 'host'));

-- The release rules that a host made stricter. A community without has the
-- standard ones.
CREATE TABLE community_rule (
    community BLOB    NOT NULL REFERENCES community ON DELETE CASCADE,
    rule      TEXT    NOT NULL CHECK (length(rule) BETWEEN 1 AND 32),
    value     INTEGER NOT NULL CHECK (value > 0),
    PRIMARY KEY (community, rule)
) STRICT, WITHOUT ROWID;

-- Makers who said that they share a shop: the same hash of their code word.
CREATE TABLE shop (
    tag       BLOB NOT NULL PRIMARY KEY CHECK (length(tag) = 32),
    community BLOB NOT NULL REFERENCES community ON DELETE CASCADE,
    shop      BLOB NOT NULL CHECK (length(shop) = 32)
) STRICT, WITHOUT ROWID;

-- How many makers and sales there were at the newest release: the least count
-- of their band, which is all that a host is told.
CREATE TABLE headcount (
    community BLOB    NOT NULL PRIMARY KEY REFERENCES community ON DELETE CASCADE,
    day       INTEGER NOT NULL,
    makers    INTEGER NOT NULL CHECK (makers IN (0, 8, 15, 25, 50)),
    sales     INTEGER NOT NULL CHECK (sales IN (0, 8, 15, 25, 50))
) STRICT, WITHOUT ROWID;

-- A maker is found in a ledger by the ledger's key.
DROP INDEX ledger_maker;

-- The series of the same cut whose ledger a show has too, '' for one of its own:
-- most figures of a cut are of the same sales.
ALTER TABLE show ADD COLUMN like_series TEXT NOT NULL DEFAULT '';
