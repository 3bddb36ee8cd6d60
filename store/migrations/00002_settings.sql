-- +goose Up

-- What a member set once, for themselves. NULL is not set. Percentages are in
-- billionths of a percent. Amounts keep the currency they were given in, whatever
-- becomes of the currency setting.
CREATE TABLE setting (
    member            BLOB    NOT NULL PRIMARY KEY CHECK (length(member) = 32),
    currency          TEXT    CHECK (currency GLOB '[A-Z][A-Z][A-Z]'),
    units             TEXT    CHECK (units IN ('imperial', 'metric')),
    tape              INTEGER CHECK (tape IN (8, 16, 32, 64)), -- of an inch
    tax               INTEGER CHECK (tax BETWEEN 0 AND 99999999999),
    tax_included      INTEGER CHECK (tax_included IN (0, 1)),
    haggle            INTEGER CHECK (haggle BETWEEN 0 AND 99999999999),
    delivery          INTEGER CHECK (delivery BETWEEN 0 AND 1000000000000), -- millionths of the major unit
    delivery_currency TEXT    CHECK (delivery_currency GLOB '[A-Z][A-Z][A-Z]'),
    delivery_per      TEXT    CHECK (delivery_per IN ('mile', 'km')),
    CHECK ((delivery IS NULL) = (delivery_currency IS NULL) AND (delivery IS NULL) = (delivery_per IS NULL))
) STRICT, WITHOUT ROWID;

CREATE TABLE setting_amount (
    member   BLOB    NOT NULL REFERENCES setting ON DELETE CASCADE,
    name     TEXT    NOT NULL CHECK (name IN ('rate', 'lowest_rate', 'overhead', 'step')),
    minor    INTEGER NOT NULL CHECK (minor BETWEEN 0 AND 10000000000000), -- minor units
    currency TEXT    NOT NULL CHECK (currency GLOB '[A-Z][A-Z][A-Z]'),
    PRIMARY KEY (member, name)
) STRICT, WITHOUT ROWID;

-- What selling at a place takes.
CREATE TABLE venue (
    member         BLOB    NOT NULL REFERENCES setting ON DELETE CASCADE,
    name           TEXT    NOT NULL CHECK (length(name) BETWEEN 1 AND 32),
    fee            INTEGER NOT NULL CHECK (fee BETWEEN 0 AND 99999999999),
    fee_on_tax     INTEGER NOT NULL CHECK (fee_on_tax IN (0, 1)),
    share          INTEGER NOT NULL CHECK (share BETWEEN 0 AND 99999999999),
    fixed          INTEGER CHECK (fixed BETWEEN 0 AND 10000000000000), -- minor units
    fixed_currency TEXT    CHECK (fixed_currency GLOB '[A-Z][A-Z][A-Z]'),
    PRIMARY KEY (member, name),
    CHECK ((fixed IS NULL) = (fixed_currency IS NULL))
) STRICT, WITHOUT ROWID;
