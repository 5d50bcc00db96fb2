//! The tables of a register and how an older one becomes a newer one.

use super::RegisterError;
use rusqlite::{Connection, TransactionBehavior};

/// Tells a register from other SQLite files: the letters `TWRT`.
const APPLICATION: i64 = 0x5457_5254;

/// One step from each version to the next; a register of no version is empty.
const STEPS: &[&str] = &[
    // 1: quotes as they were told.
    "CREATE TABLE quote (
         identity  TEXT PRIMARY KEY,
         saved     TEXT NOT NULL,
         issued    TEXT,
         customer  TEXT,
         reference TEXT,
         currency  TEXT NOT NULL,
         total     TEXT NOT NULL,
         parts     TEXT NOT NULL,
         answer    TEXT NOT NULL,
         printed   TEXT NOT NULL
     ) STRICT;
     CREATE INDEX quote_by_time ON quote (saved, identity);",
    // 2: the texts that a quote was reckoned from, each kept once.
    "CREATE TABLE text (hash TEXT PRIMARY KEY, content TEXT NOT NULL) STRICT;
     CREATE TABLE quote_text (
         identity TEXT NOT NULL REFERENCES quote (identity),
         name     TEXT NOT NULL,
         hash     TEXT NOT NULL REFERENCES text (hash),
         PRIMARY KEY (identity, name)
     ) STRICT;",
];

/// The version that this program writes.
pub const VERSION: usize = STEPS.len();

/// Brings a register up to [`VERSION`], all in one transaction: a crash leaves the old one.
pub(super) fn migrate(db: &mut Connection) -> Result<(), RegisterError> {
    let transaction = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let version = version(&transaction)?;
    if version > VERSION {
        return Err(RegisterError::Newer { found: version, known: VERSION });
    }
    for step in &STEPS[version..] {
        transaction.execute_batch(step)?;
    }
    transaction.execute_batch(&format!("PRAGMA application_id = {APPLICATION}; PRAGMA user_version = {VERSION};"))?;
    transaction.commit()?;
    Ok(())
}

/// Whether it is a register of this program's own version.
pub(super) fn is_current(db: &Connection) -> Result<(), RegisterError> {
    match version(db)? {
        VERSION => Ok(()),
        found if found > VERSION => Err(RegisterError::Newer { found, known: VERSION }),
        found => Err(RegisterError::Older { found, known: VERSION }),
    }
}

/// The version of a register, nought where it is empty.
fn version(db: &Connection) -> Result<usize, RegisterError> {
    let number = |name: &str| db.query_row(&format!("PRAGMA {name}"), [], |row| row.get::<_, i64>(0));
    let (application, version) = (number("application_id")?, number("user_version")?);
    let tables: i64 = db.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    if application != APPLICATION && (application != 0 || tables > 0) {
        return Err(RegisterError::NoRegister);
    }
    usize::try_from(version).map_err(|_| RegisterError::NoRegister)
}
