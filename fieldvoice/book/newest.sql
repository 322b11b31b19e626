CREATE TABLE "_sqlite_migrations" (
   "id" INTEGER PRIMARY KEY,
   "migration_set" TEXT,
   "name" TEXT,
   "applied_at" TEXT
) STRICT;

CREATE UNIQUE INDEX "idx__sqlite_migrations_migration_set_name"
    ON "_sqlite_migrations" ("migration_set", "name");

CREATE TABLE utterances (
    id INTEGER PRIMARY KEY,
    at TEXT NOT NULL,
    source TEXT NOT NULL CHECK (source IN ('typed', 'memo', 'live', 'phone', 'import')),
    text TEXT NOT NULL,
    words TEXT NOT NULL CHECK (json_valid(words)),
    confidence REAL NOT NULL,
    fit REAL,
    recogniser TEXT NOT NULL,
    alternatives TEXT NOT NULL CHECK (json_valid(alternatives)),
    audio_file TEXT,
    audio_sha256 TEXT,
    audio_start_ms INTEGER,
    audio_end_ms INTEGER,
    outcome TEXT NOT NULL CHECK (outcome IN ('saved', 'answered', 'done', 'asked', 'kept')),
    meanings TEXT NOT NULL CHECK (json_valid(meanings)),
    reply TEXT NOT NULL,
    pending TEXT CHECK (pending IS NULL OR json_valid(pending)),
    focus TEXT NOT NULL CHECK (json_valid(focus)),
    resolves INTEGER REFERENCES utterances (id), findings TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(findings)), said_by TEXT, conversation TEXT, written TEXT CHECK (written IS NULL OR json_valid(written)), checksum TEXT NOT NULL DEFAULT '',
    CHECK ((audio_sha256 IS NULL) = (audio_start_ms IS NULL))
) STRICT;

CREATE UNIQUE INDEX one_utterance_a_memo_span
    ON utterances (audio_sha256, audio_start_ms) WHERE source = 'memo';

CREATE INDEX utterances_by_resolves ON utterances (resolves) WHERE resolves IS NOT NULL;

CREATE TRIGGER memo_span_taken_once BEFORE INSERT ON utterances
WHEN NEW.source = 'memo' AND EXISTS (
    SELECT 1 FROM utterances WHERE source = 'memo'
    AND audio_sha256 = NEW.audio_sha256 AND audio_start_ms = NEW.audio_start_ms
)
BEGIN SELECT RAISE(ABORT, 'memo span taken before'); END;

CREATE TABLE entries (
    id INTEGER PRIMARY KEY,
    utterance INTEGER NOT NULL REFERENCES utterances (id),
    at TEXT NOT NULL,
    act TEXT NOT NULL,
    fields TEXT NOT NULL CHECK (json_valid(fields))
, checksum TEXT NOT NULL DEFAULT '') STRICT;

CREATE INDEX entries_by_utterance ON entries (utterance);

CREATE TABLE voids (
    entry INTEGER PRIMARY KEY REFERENCES entries (id),
    utterance INTEGER NOT NULL REFERENCES utterances (id)
, checksum TEXT NOT NULL DEFAULT '') STRICT;

CREATE TABLE memos (
    sha256 TEXT NOT NULL PRIMARY KEY,
    name TEXT NOT NULL,
    at TEXT NOT NULL
, sound TEXT, shape TEXT, checksum TEXT NOT NULL DEFAULT '') STRICT;

CREATE VIEW live_entries AS
    SELECT entries.id, entries.at, entries.act, entries.fields, utterances.text AS heard
    FROM entries JOIN utterances ON utterances.id = entries.utterance
    WHERE entries.id NOT IN (SELECT entry FROM voids);

CREATE TABLE snapshots (
    key TEXT NOT NULL,
    entry INTEGER NOT NULL,
    utterance INTEGER NOT NULL,
    last_at TEXT NOT NULL,
    state BLOB NOT NULL, checksum TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (key, entry)
) STRICT;

CREATE INDEX voids_by_utterance ON voids (utterance);

CREATE INDEX entries_by_act ON entries (act, at);

CREATE INDEX entries_by_tree ON entries (json_extract(fields, '$.tree'))
    WHERE json_extract(fields, '$.tree') IS NOT NULL;

CREATE INDEX entries_by_tree_name ON entries (act)
    WHERE typeof(json_extract(fields, '$.tree')) = 'text';

CREATE INDEX entries_by_vessel ON entries (json_extract(fields, '$.vessel'))
    WHERE json_extract(fields, '$.vessel') IS NOT NULL;

CREATE INDEX entries_of_trees ON entries (act) WHERE json_extract(fields, '$.trees') IS NOT NULL;

CREATE TABLE wordings (
    id INTEGER PRIMARY KEY,
    utterance INTEGER NOT NULL REFERENCES utterances (id),
    settled_by INTEGER NOT NULL REFERENCES utterances (id),
    masked TEXT NOT NULL,
    shape TEXT NOT NULL CHECK (json_valid(shape))
, checksum TEXT NOT NULL DEFAULT '') STRICT;

CREATE TABLE wording_uses (
    utterance INTEGER PRIMARY KEY REFERENCES utterances (id),
    wording INTEGER NOT NULL REFERENCES wordings (id)
, checksum TEXT NOT NULL DEFAULT '') STRICT;

CREATE INDEX wording_uses_by_wording ON wording_uses (wording);

CREATE TABLE forgotten_wordings (
    wording INTEGER PRIMARY KEY REFERENCES wordings (id),
    utterance INTEGER NOT NULL REFERENCES utterances (id)
, checksum TEXT NOT NULL DEFAULT '') STRICT;

CREATE TABLE identity (book TEXT NOT NULL PRIMARY KEY) STRICT;

CREATE TABLE tallies (name TEXT NOT NULL PRIMARY KEY, last INTEGER NOT NULL) STRICT;

CREATE TABLE origins (
    entry INTEGER PRIMARY KEY REFERENCES entries (id),
    note TEXT NOT NULL UNIQUE
, checksum TEXT NOT NULL DEFAULT '') STRICT;

CREATE INDEX memos_by_sound ON memos (sound) WHERE sound IS NOT NULL;

CREATE INDEX memos_by_length ON memos (length(shape)) WHERE shape IS NOT NULL;

CREATE INDEX utterances_by_conversation
    ON utterances (coalesce(conversation, 'default'), id);

CREATE TRIGGER utterances_no_update BEFORE UPDATE ON utterances
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER utterances_no_delete BEFORE DELETE ON utterances
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER utterances_no_replace BEFORE INSERT ON utterances
WHEN EXISTS (SELECT 1 FROM utterances WHERE utterances.id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER utterances_tally AFTER INSERT ON utterances
BEGIN UPDATE tallies SET last = max(last, NEW.rowid) WHERE name = 'utterances'; END;

CREATE TRIGGER entries_no_update BEFORE UPDATE ON entries
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER entries_no_delete BEFORE DELETE ON entries
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER entries_no_replace BEFORE INSERT ON entries
WHEN EXISTS (SELECT 1 FROM entries WHERE entries.id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER entries_tally AFTER INSERT ON entries
BEGIN UPDATE tallies SET last = max(last, NEW.rowid) WHERE name = 'entries'; END;

CREATE TRIGGER voids_no_update BEFORE UPDATE ON voids
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER voids_no_delete BEFORE DELETE ON voids
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER voids_no_replace BEFORE INSERT ON voids
WHEN EXISTS (SELECT 1 FROM voids WHERE voids.entry = NEW.entry)
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER voids_tally AFTER INSERT ON voids
BEGIN UPDATE tallies SET last = max(last, NEW.rowid) WHERE name = 'voids'; END;

CREATE TRIGGER memos_no_update BEFORE UPDATE ON memos
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER memos_no_delete BEFORE DELETE ON memos
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER memos_no_replace BEFORE INSERT ON memos
WHEN EXISTS (SELECT 1 FROM memos WHERE memos.sha256 = NEW.sha256)
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER memos_tally AFTER INSERT ON memos
BEGIN UPDATE tallies SET last = max(last, NEW.rowid) WHERE name = 'memos'; END;

CREATE TRIGGER wordings_no_update BEFORE UPDATE ON wordings
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER wordings_no_delete BEFORE DELETE ON wordings
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER wordings_no_replace BEFORE INSERT ON wordings
WHEN EXISTS (SELECT 1 FROM wordings WHERE wordings.id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER wordings_tally AFTER INSERT ON wordings
BEGIN UPDATE tallies SET last = max(last, NEW.rowid) WHERE name = 'wordings'; END;

CREATE TRIGGER wording_uses_no_update BEFORE UPDATE ON wording_uses
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER wording_uses_no_delete BEFORE DELETE ON wording_uses
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER wording_uses_no_replace BEFORE INSERT ON wording_uses
WHEN EXISTS (SELECT 1 FROM wording_uses WHERE wording_uses.utterance = NEW.utterance)
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER wording_uses_tally AFTER INSERT ON wording_uses
BEGIN UPDATE tallies SET last = max(last, NEW.rowid) WHERE name = 'wording_uses'; END;

CREATE TRIGGER forgotten_wordings_no_update BEFORE UPDATE ON forgotten_wordings
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER forgotten_wordings_no_delete BEFORE DELETE ON forgotten_wordings
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER forgotten_wordings_no_replace BEFORE INSERT ON forgotten_wordings
WHEN EXISTS (SELECT 1 FROM forgotten_wordings WHERE forgotten_wordings.wording = NEW.wording)
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER forgotten_wordings_tally AFTER INSERT ON forgotten_wordings
BEGIN UPDATE tallies SET last = max(last, NEW.rowid) WHERE name = 'forgotten_wordings'; END;

CREATE TRIGGER origins_no_update BEFORE UPDATE ON origins
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER origins_no_delete BEFORE DELETE ON origins
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER origins_no_replace BEFORE INSERT ON origins
WHEN EXISTS (SELECT 1 FROM origins WHERE origins.entry = NEW.entry)
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER origins_tally AFTER INSERT ON origins
BEGIN UPDATE tallies SET last = max(last, NEW.rowid) WHERE name = 'origins'; END;

CREATE TABLE deliveries (
    utterance INTEGER PRIMARY KEY REFERENCES utterances (id),
    name TEXT NOT NULL UNIQUE,
    checksum TEXT NOT NULL DEFAULT ''
) STRICT;

CREATE TRIGGER deliveries_no_update BEFORE UPDATE ON deliveries
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER deliveries_no_delete BEFORE DELETE ON deliveries
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER deliveries_no_replace BEFORE INSERT ON deliveries
WHEN EXISTS (SELECT 1 FROM deliveries WHERE deliveries.utterance = NEW.utterance)
BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END;

CREATE TRIGGER deliveries_tally AFTER INSERT ON deliveries
BEGIN UPDATE tallies SET last = max(last, NEW.rowid) WHERE name = 'deliveries'; END;

INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('fieldvoice.book', 'm001_journal_entries_voids_memos', strftime('%Y-%m-%d %H:%M:%f000+00:00', 'now'));

INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('fieldvoice.book', 'm002_findings_of_utterances', strftime('%Y-%m-%d %H:%M:%f000+00:00', 'now'));

INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('fieldvoice.book', 'm003_snapshots_and_the_ways_to_notes', strftime('%Y-%m-%d %H:%M:%f000+00:00', 'now'));

INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('fieldvoice.book', 'm004_who_said_it_and_where', strftime('%Y-%m-%d %H:%M:%f000+00:00', 'now'));

INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('fieldvoice.book', 'm005_wordings', strftime('%Y-%m-%d %H:%M:%f000+00:00', 'now'));

INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('fieldvoice.book', 'm006_checksums_and_where_notes_are_from', strftime('%Y-%m-%d %H:%M:%f000+00:00', 'now'));

INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('fieldvoice.book', 'm007_deliveries', strftime('%Y-%m-%d %H:%M:%f000+00:00', 'now'));

INSERT INTO tallies VALUES ('utterances', 0);

INSERT INTO tallies VALUES ('entries', 0);

INSERT INTO tallies VALUES ('voids', 0);

INSERT INTO tallies VALUES ('memos', 0);

INSERT INTO tallies VALUES ('wordings', 0);

INSERT INTO tallies VALUES ('wording_uses', 0);

INSERT INTO tallies VALUES ('forgotten_wordings', 0);

INSERT INTO tallies VALUES ('origins', 0);

INSERT INTO tallies VALUES ('deliveries', 0);

INSERT INTO identity VALUES (lower(hex(randomblob(6))));

PRAGMA application_id = 1719034475;

PRAGMA user_version = 7;
