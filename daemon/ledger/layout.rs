//! The ledger's tables, how an older ledger becomes a newer one, and whether a file is a ledger at all.

use std::collections::BTreeSet;

use rusqlite::{Connection, TransactionBehavior};

use super::failure::Trouble;

/// What marks a file as a ledger: `TICK`, as SQLite's `application_id`.
const MARK: i64 = 0x5449_434B;

/// Each layout of the tables as the step from the one before; the first makes them. Never change one that shipped.
pub(super) const STEPS: [&str; 5] = [FIRST, OUTBOX, IN_FORCE, WITHDRAWN, WITNESS];

/// Layout 1: records, findings, rules, letters.
const FIRST: &str = "
    -- One row: what tells this ledger's letters from another's.
    CREATE TABLE store (
        only_one INTEGER PRIMARY KEY CHECK (only_one = 1),
        id TEXT NOT NULL
    ) STRICT;
    INSERT INTO store VALUES (1, lower(hex(randomblob(6))));

    -- The sheets that places below refer to as [sheet, row, column]: row from 1, column from 0.
    CREATE TABLE sheet (
        id INTEGER PRIMARY KEY,
        file TEXT NOT NULL,
        sheet TEXT
    ) STRICT;
    CREATE UNIQUE INDEX sheet_name ON sheet (file, ifnull(sheet, ''));

    -- Every reading, job, check, ride and fill ever seen, as it stood in its sheet on last_seen.
    CREATE TABLE record (
        id INTEGER PRIMARY KEY,
        content BLOB NOT NULL UNIQUE CHECK (length(content) = 32),
        first_seen TEXT NOT NULL,
        last_seen TEXT NOT NULL,
        kind TEXT NOT NULL CHECK (kind IN ('reading', 'job', 'check', 'ride', 'fill')),
        body TEXT NOT NULL
    ) STRICT;

    CREATE TABLE finding (
        rule TEXT NOT NULL,
        machine TEXT NOT NULL,
        key TEXT NOT NULL,
        state TEXT NOT NULL CHECK (state IN ('new', 'open', 'put off', 'settled')),
        since TEXT NOT NULL,
        as_of TEXT NOT NULL,
        section TEXT NOT NULL,
        text TEXT NOT NULL,
        due TEXT,
        body TEXT NOT NULL,
        PRIMARY KEY (rule, machine, key)
    ) STRICT;

    -- The rules as they were last accepted, so that a good version outlives a restart.
    CREATE TABLE rule (
        name TEXT PRIMARY KEY,
        source TEXT NOT NULL,
        -- The day of the first round that did not find it.
        gone TEXT
    ) STRICT;

    -- Every letter with its finished bytes. The keys are the last guard against telling a day twice.
    CREATE TABLE letter (
        day TEXT NOT NULL,
        edition INTEGER NOT NULL CHECK (edition >= 1),
        message_id TEXT NOT NULL UNIQUE,
        subject TEXT NOT NULL,
        text TEXT NOT NULL,
        html TEXT NOT NULL,
        full_list TEXT,
        eml BLOB NOT NULL,
        state TEXT NOT NULL CHECK (state IN ('waiting', 'delivered', 'superseded')),
        PRIMARY KEY (day, edition)
    ) STRICT;
";

/// Layout 2: the mails of each letter, which letter that was accepted told of what, and when a sheet last named each
/// machine. Moments are UTC to the second, as `2026-03-02T07:30:00Z`.
const OUTBOX: &str = "
    -- The days of the first accepted letters that told of it as open, and that it is settled.
    ALTER TABLE finding ADD COLUMN told TEXT;
    ALTER TABLE finding ADD COLUMN told_settled TEXT;
    UPDATE finding SET told =
        (SELECT min(day) FROM letter WHERE letter.state = 'delivered' AND day >= finding.since);
    UPDATE finding SET told_settled =
        (SELECT min(day) FROM letter WHERE letter.state = 'delivered' AND day >= finding.as_of)
        WHERE state = 'settled';

    -- Every letter with its finished bytes. The keys are the last guard against telling a day twice.
    ALTER TABLE letter RENAME TO letter_of_layout_1;
    CREATE TABLE letter (
        id INTEGER PRIMARY KEY,
        day TEXT NOT NULL,
        kind TEXT NOT NULL CHECK (kind IN ('morning', 'at once')),
        edition INTEGER NOT NULL CHECK (edition >= 1),
        message_id TEXT NOT NULL UNIQUE,
        made TEXT NOT NULL,
        subject TEXT NOT NULL,
        text TEXT NOT NULL,
        html TEXT NOT NULL,
        full_list TEXT,
        eml BLOB NOT NULL,
        -- Of its copy in the folder.
        state TEXT NOT NULL CHECK (state IN ('waiting', 'delivered', 'superseded')),
        -- When it reached somebody; only then has it told of anything.
        accepted TEXT,
        UNIQUE (day, kind, edition)
    ) STRICT;
    -- Layout 1 knew no moments; a letter's day begins at this one, nearly enough.
    INSERT INTO letter (day, kind, edition, message_id, made, subject, text, html, full_list, eml, state, accepted)
        SELECT day, 'morning', edition, message_id, day || 'T00:00:00Z', subject, text, html, full_list, eml, state,
            CASE state WHEN 'delivered' THEN day || 'T00:00:00Z' END
        FROM letter_of_layout_1 ORDER BY day, edition;
    DROP TABLE letter_of_layout_1;

    -- What a letter that is not accepted yet will have told of.
    CREATE TABLE telling (
        letter INTEGER NOT NULL REFERENCES letter ON DELETE CASCADE,
        rule TEXT NOT NULL,
        machine TEXT NOT NULL,
        key TEXT NOT NULL,
        as_settled INTEGER NOT NULL CHECK (as_settled IN (0, 1)),
        PRIMARY KEY (letter, rule, machine, key)
    ) STRICT, WITHOUT ROWID;

    -- The mails of a letter: one for each set of sections that receivers get; sections NULL is the whole letter.
    CREATE TABLE mail (
        id INTEGER PRIMARY KEY,
        letter INTEGER NOT NULL REFERENCES letter ON DELETE CASCADE,
        number INTEGER NOT NULL CHECK (number >= 1),
        message_id TEXT NOT NULL UNIQUE,
        sections TEXT,
        eml BLOB NOT NULL,
        UNIQUE (letter, number)
    ) STRICT;
    CREATE TABLE receiver (
        mail INTEGER NOT NULL REFERENCES mail ON DELETE CASCADE,
        address TEXT NOT NULL,
        state TEXT NOT NULL CHECK
            (state IN ('waiting', 'sending', 'sent', 'refused', 'perhaps sent', 'given up')),
        -- How often it was begun, and how often nobody knew afterwards whether the server had taken it.
        tries INTEGER NOT NULL CHECK (tries >= 0),
        doubts INTEGER NOT NULL CHECK (doubts >= 0),
        -- NULL: there is nothing more to try.
        next_try TEXT,
        -- What the server, or whatever kept us from it, said last.
        words TEXT NOT NULL,
        changed TEXT NOT NULL,
        PRIMARY KEY (mail, address)
    ) STRICT, WITHOUT ROWID;
    CREATE INDEX receiver_to_try ON receiver (next_try) WHERE next_try IS NOT NULL;

    -- When a sheet last named a machine, so that one that none names for long can be forgotten: its names as lasting
    -- names have them, `mark AB12CDE`, `frame ...`, `stock ...`. What layout 1 knew of it at the latest begins it.
    CREATE TABLE named (
        name TEXT PRIMARY KEY,
        last_seen TEXT NOT NULL
    ) STRICT;
    INSERT INTO named SELECT machine, max(as_of) FROM finding GROUP BY machine;
";

/// Layout 3: since when each rule is in force as it stands, and which rules each letter rests on. Of letters from before
/// nobody knows.
const IN_FORCE: &str = "
    -- The day of the first round that judged by this text; NULL: before anybody noted it.
    ALTER TABLE rule ADD COLUMN since TEXT;

    -- The texts of rules, each once, known by the BLAKE3 hash of their bytes.
    CREATE TABLE rule_text (
        id INTEGER PRIMARY KEY,
        hash TEXT NOT NULL UNIQUE CHECK (length(hash) = 64),
        source TEXT NOT NULL
    ) STRICT;

    -- Which rules were in force for a letter, and with which text.
    CREATE TABLE in_force (
        letter INTEGER NOT NULL REFERENCES letter ON DELETE CASCADE,
        rule TEXT NOT NULL,
        text INTEGER NOT NULL REFERENCES rule_text,
        PRIMARY KEY (letter, rule)
    ) STRICT, WITHOUT ROWID;
    CREATE INDEX in_force_text ON in_force (text);
";

/// Layout 4: what a sheet has taken back since it said it.
const WITHDRAWN: &str = "
    -- The day of the round that found it taken back; NULL: it counts.
    ALTER TABLE record ADD COLUMN withdrawn TEXT;
";

/// Layout 5: by which columns each record is told, and which need not be told any more.
const WITNESS: &str = "
    -- By which columns records are told, each set once.
    CREATE TABLE witness (
        id INTEGER PRIMARY KEY,
        columns TEXT NOT NULL UNIQUE
    ) STRICT;
    -- NULL: nobody noted it.
    ALTER TABLE record ADD COLUMN witness INTEGER REFERENCES witness;
    -- The day of the round that found that its sheet says it no more and need not, since it was overwritten or rolled off;
    -- NULL: it is asked after. Of what was gone before anybody asked nobody knows.
    ALTER TABLE record ADD COLUMN let_go TEXT;
    UPDATE record SET let_go = last_seen WHERE last_seen < (SELECT max(last_seen) FROM record);
";

/// The newest layout that this program knows.
pub(super) const NEWEST: i64 = STEPS.len() as i64;

/// Which layout a file has; 0 for an empty one, which is a ledger that is still to be begun.
pub(super) fn found(connection: &Connection) -> Result<i64, Trouble> {
    let pragma = |name| connection.pragma_query_value(None, name, |row| row.get::<_, i64>(0));
    let (mark, layout) = (pragma("application_id")?, pragma("user_version")?);
    let tables: i64 = connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    match (mark, layout, tables) {
        (0, 0, 0) => Ok(0),
        (MARK, 1.., 1..) => Ok(layout),
        _ => Err(Trouble::Damaged("it is another program's file")),
    }
}

/// Brings a ledger to the newest layout, all steps or none.
pub(super) fn bring_up(connection: &mut Connection) -> Result<(), Trouble> {
    let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    // Asked again inside, since another run may have done it meanwhile.
    let layout = found(&change)?;
    for (step, number) in STEPS.iter().zip(1..).skip(usize::try_from(layout).unwrap_or(0)) {
        change.execute_batch(step)?;
        change.pragma_update(None, "user_version", number as i64)?;
    }
    change.pragma_update(None, "application_id", MARK)?;
    change.commit()?;
    Ok(())
}

/// Whether the file's own structure is sound.
pub(super) fn sound(connection: &Connection) -> Result<(), Trouble> {
    checked(connection, "quick_check")
}

/// Whether every table and column of the newest layout is there. What else somebody has put beside them harms nobody.
pub(super) fn complete(connection: &Connection) -> Result<(), Trouble> {
    let mut model = Connection::open_in_memory()?;
    bring_up(&mut model)?;
    let there = columns(connection)?;
    if columns(&model)?.is_subset(&there) {
        Ok(())
    } else {
        Err(Trouble::Damaged("its tables are not a ledger's"))
    }
}

fn columns(connection: &Connection) -> Result<BTreeSet<(String, String)>, Trouble> {
    let mut statement = connection.prepare(
        "SELECT made.name, part.name FROM sqlite_schema AS made JOIN pragma_table_info(made.name) AS part \
         WHERE made.type = 'table'",
    )?;
    let columns = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(columns.collect::<Result<_, _>>()?)
}

/// Whether the file is sound and every index says what its table says.
pub(super) fn sound_throughout(connection: &Connection) -> Result<(), Trouble> {
    checked(connection, "integrity_check")
}

fn checked(connection: &Connection, check: &str) -> Result<(), Trouble> {
    let answer: String = connection.pragma_query_value(None, check, |row| row.get(0))?;
    if answer == "ok" { Ok(()) } else { Err(Trouble::Damaged("parts of it are missing or overwritten")) }
}
