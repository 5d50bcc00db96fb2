//! The register of quotes: one SQLite file that several processes may use at once. What was told is kept as it was told, with
//! the texts that it was reckoned from, so that a quote can be shown, compared and made again years later.

mod schema;

pub use schema::VERSION;

use rusqlite::{Connection, OpenFlags, OptionalExtension, Row, TransactionBehavior, params};
use sha2::{Digest, Sha256};
use std::fmt::Write;
use std::path::Path;
use std::time::Duration;

/// How long a process waits for another one that is writing.
const PATIENCE: Duration = Duration::from_secs(10);

/// What can go wrong with a register.
#[derive(Debug, thiserror::Error)]
pub enum RegisterError {
    #[error("it is an SQLite file of something else; name another file")]
    NoRegister,
    #[error("it was written by a newer program: version {found}, this one knows up to {known}; use the newer program")]
    Newer { found: usize, known: usize },
    #[error(
        "it is of an older version, {found} of {known}, and cannot be brought up to date where nothing can be written; make room, or copy it to another folder"
    )]
    Older { found: usize, known: usize },
    #[error("no quote begins with `{0}`; `quotes list` shows them all")]
    Unknown(String),
    #[error("`{0}` begins several quotes: write more letters of it")]
    Ambiguous(String),
    #[error("{0}")]
    Sqlite(#[from] rusqlite::Error),
}

/// A quote on its way into the register, and out of it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Entry {
    pub identity: String,
    /// When it was saved, in universal time, as `2026-11-25T10:31:00Z`.
    pub saved: String,
    pub issued: Option<String>,
    pub customer: Option<String>,
    pub reference: Option<String>,
    pub currency: String,
    /// At the quantities asked for, as `2320.00`.
    pub total: String,
    /// The names of its parts with the quantity of each: `1000 x valve-spool`.
    pub parts: String,
    /// The answer as JSON.
    pub answer: String,
    /// The answer as it was printed for the shop.
    pub printed: String,
    /// Files by name with their text.
    pub texts: Vec<(String, String)>,
}

/// An open register.
#[derive(Debug)]
pub struct Register {
    db: Connection,
}

impl Register {
    /// Opens a register, or begins one; an older one is brought up to date.
    ///
    /// # Errors
    /// [`RegisterError`] where the file is none, is newer than this program, or cannot be read or written.
    pub fn open(path: &Path) -> Result<Register, RegisterError> {
        let mut db = Connection::open(path)?;
        db.busy_timeout(PATIENCE)?;
        db.pragma_update(None, "journal_mode", "WAL")?;
        // A saved quote is on the disk before the command ends.
        db.pragma_update(None, "synchronous", "FULL")?;
        db.pragma_update(None, "foreign_keys", true)?;
        schema::migrate(&mut db)?;
        Ok(Register { db })
    }

    /// Opens a register to read from it where nothing can be written, on a full disk or in a folder of somebody else's: what
    /// the file itself holds, without the log that a writer may have left beside it.
    ///
    /// # Errors
    /// As [`Register::open`]; [`RegisterError::Older`] where it would have to be brought up to date first.
    pub fn as_it_stands(path: &Path) -> Result<Register, RegisterError> {
        let plain = path.display().to_string().replace('%', "%25").replace('?', "%3f").replace('#', "%23");
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI;
        let db = Connection::open_with_flags(format!("file:{plain}?immutable=1"), flags)?;
        schema::is_current(&db)?;
        Ok(Register { db })
    }

    /// Saves a quote; one of the same identity is the same quote and stays as it is. Gives whether it is new.
    ///
    /// # Errors
    /// [`RegisterError::Sqlite`] where it cannot be written; then nothing of it is.
    pub fn save(&mut self, e: &Entry) -> Result<bool, RegisterError> {
        let transaction = self.db.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let added = transaction.execute(
            "INSERT INTO quote VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10) ON CONFLICT DO NOTHING",
            params![
                e.identity,
                e.saved,
                e.issued,
                e.customer,
                e.reference,
                e.currency,
                e.total,
                e.parts,
                e.answer,
                e.printed
            ],
        )?;
        if added > 0 {
            for (name, text) in &e.texts {
                let hash = hash(text);
                transaction.execute("INSERT INTO text VALUES (?1, ?2) ON CONFLICT DO NOTHING", params![hash, text])?;
                transaction.execute(
                    "INSERT INTO quote_text VALUES (?1, ?2, ?3) ON CONFLICT DO NOTHING",
                    params![e.identity, name, hash],
                )?;
            }
        }
        transaction.commit()?;
        Ok(added > 0)
    }

    /// All quotes without their texts, the newest first.
    ///
    /// # Errors
    /// [`RegisterError::Sqlite`].
    pub fn list(&self) -> Result<Vec<Entry>, RegisterError> {
        let mut statement = self.db.prepare("SELECT * FROM quote ORDER BY saved DESC, identity")?;
        let found = statement.query_map([], entry)?.collect::<Result<Vec<_>, _>>()?;
        Ok(found)
    }

    /// The quote whose identity begins so.
    ///
    /// # Errors
    /// [`RegisterError`] where there is none, or more than one.
    pub fn find(&self, begin: &str) -> Result<Entry, RegisterError> {
        let mut statement =
            self.db.prepare("SELECT * FROM quote WHERE substr(identity, 1, length(?1)) = ?1 LIMIT 2")?;
        let mut found = statement.query_map([begin], entry)?.collect::<Result<Vec<_>, _>>()?;
        match (found.pop(), found.pop()) {
            (Some(one), None) => Ok(Entry { texts: self.texts(&one.identity)?, ..one }),
            (None, _) => Err(RegisterError::Unknown(begin.to_owned())),
            (Some(_), Some(_)) => Err(RegisterError::Ambiguous(begin.to_owned())),
        }
    }

    fn texts(&self, identity: &str) -> Result<Vec<(String, String)>, RegisterError> {
        let mut statement = self
            .db
            .prepare("SELECT name, content FROM quote_text JOIN text USING (hash) WHERE identity = ?1 ORDER BY name")?;
        let found = statement.query_map([identity], |row| Ok((row.get(0)?, row.get(1)?)))?;
        Ok(found.collect::<Result<Vec<_>, _>>()?)
    }

    /// Whether every page of the file is sound.
    ///
    /// # Errors
    /// [`RegisterError::Sqlite`].
    pub fn is_sound(&self) -> Result<bool, RegisterError> {
        let told: Option<String> = self.db.query_row("PRAGMA integrity_check", [], |row| row.get(0)).optional()?;
        Ok(told.as_deref() == Some("ok"))
    }
}

fn entry(row: &Row) -> rusqlite::Result<Entry> {
    Ok(Entry {
        identity: row.get("identity")?,
        saved: row.get("saved")?,
        issued: row.get("issued")?,
        customer: row.get("customer")?,
        reference: row.get("reference")?,
        currency: row.get("currency")?,
        total: row.get("total")?,
        parts: row.get("parts")?,
        answer: row.get("answer")?,
        printed: row.get("printed")?,
        texts: Vec::new(),
    })
}

fn hash(text: &str) -> String {
    let mut out = String::new();
    for byte in Sha256::digest(text.as_bytes()) {
        let _ = write!(out, "{byte:02x}");
    }
    out
}
