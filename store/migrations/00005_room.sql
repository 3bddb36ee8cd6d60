-- +goose Up

-- What a member asked about a piece, to go on from after a correction or a restart.
-- told is an object of option names and texts.
CREATE TABLE question (
    member  BLOB    NOT NULL CHECK (length(member) = 32),
    code    TEXT    NOT NULL CHECK (length(code) = 6),
    expires INTEGER NOT NULL, -- unix seconds
    told    TEXT    NOT NULL CHECK (json_valid(told)),
    PRIMARY KEY (member, code)
) STRICT, WITHOUT ROWID;

CREATE INDEX question_expires ON question (expires);

-- A question put to the room. card is what everybody sees of the piece. The last
-- figures, times 1,000,000 and rounded, stand here once it is closed.
CREATE TABLE room (
    community BLOB    NOT NULL REFERENCES community ON DELETE CASCADE,
    code      TEXT    NOT NULL CHECK (length(code) = 6),
    asker     BLOB    NOT NULL CHECK (length(asker) = 32),
    currency  TEXT    NOT NULL CHECK (currency GLOB '[A-Z][A-Z][A-Z]'),
    card      TEXT    NOT NULL CHECK (json_valid(card)),
    closes    INTEGER NOT NULL, -- unix seconds
    closed    INTEGER NOT NULL CHECK (closed IN (0, 1)),
    answers   INTEGER NOT NULL CHECK (answers >= 0), -- once closed
    median    INTEGER,
    low       INTEGER,
    high      INTEGER CHECK (high >= low),
    PRIMARY KEY (community, code),
    CHECK ((median IS NULL) = (low IS NULL) AND (median IS NULL) = (high IS NULL)),
    CHECK (closed = 1 OR median IS NULL AND answers = 0)
) STRICT, WITHOUT ROWID;

CREATE INDEX room_closes ON room (closes);

-- One answer a member, under a hash that is another in every room. It is deleted
-- when the room closes.
CREATE TABLE room_answer (
    community BLOB    NOT NULL,
    code      TEXT    NOT NULL,
    who       BLOB    NOT NULL CHECK (length(who) = 32),
    price     INTEGER NOT NULL CHECK (price BETWEEN 1 AND 1000000000000000), -- times 1,000,000
    changes   INTEGER NOT NULL CHECK (changes >= 0),
    PRIMARY KEY (community, code, who),
    FOREIGN KEY (community, code) REFERENCES room ON DELETE CASCADE
) STRICT, WITHOUT ROWID;
