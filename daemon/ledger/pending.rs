//! What sheets said once and do not say today, and what is to be noted of it with the next round that is kept.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use rusqlite::Connection;

use super::failure::Trouble;
use super::records::{self, Content, contents};
use super::witnesses::Witnesses;
use crate::yard::{Identity, Record, Records, Witness};

/// What is noted with the next round that is kept.
#[derive(Debug, Default)]
pub(super) struct Pending {
    /// What sheets have taken back.
    pub(super) withdrawing: HashSet<Content>,
    /// What they need not say any more.
    pub(super) letting_go: HashSet<Content>,
    /// By which columns today's records are told.
    pub(super) witnesses: HashMap<Content, Arc<Witness>>,
}

/// What a sheet said once, counts still, and is not said today.
#[derive(Debug)]
pub struct Unsaid {
    /// What it is known by.
    pub content: Content,
    /// What it is, with the cells in which it stood last.
    pub said: (Identity, Record),
    /// By which columns it was told.
    pub witness: Witness,
    /// The day of the last round that saw it, as text.
    pub last_seen: String,
    /// Whether its row need not be there any more.
    pub is_let_go: bool,
}

/// When what is said today was seen last, as text; nothing of what did not count then.
pub type SeenLast = HashMap<Content, Option<String>>;

/// All that is not said today and counts, and of what is said today all that is known.
pub(super) fn unsaid(connection: &Connection, current: &Records) -> Result<(Vec<Unsaid>, SeenLast), Trouble> {
    let said_today: HashSet<Content> = contents(current).map(|(content, _)| content).collect();
    let (known, unsaid) = records::known_and_unsaid(connection, &said_today.iter().collect(), "")?;
    let witnesses = Witnesses::read(connection)?;
    let counting = unsaid.into_iter().filter(|kept| !kept.is_withdrawn);
    let unsaid = counting.map(|kept| Unsaid {
        content: kept.content,
        witness: witnesses.of(kept.witness),
        said: kept.said,
        last_seen: kept.last_seen,
        is_let_go: kept.is_let_go,
    });
    let seen = known.into_iter().map(|(content, known)| {
        let counts = !known.is_withdrawn && !known.is_let_go;
        (content, counts.then_some(known.last_seen))
    });
    Ok((unsaid.collect(), seen.collect()))
}
