//! Marks that were handed on in a list, as a private plate is: what was done under one before may be of either machine.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::known_as::{Row, agreed, rows};
use super::{MachineId, Records, SameRest};

/// A mark that another machine has now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HandedOn {
    /// The mark.
    pub mark: MachineId,
    /// Whose it was, by a name that stays where there is one, else by the mark that it has now.
    pub from: MachineId,
    /// The number of the machine that has it now; `None` where its row gives none.
    pub to: Option<MachineId>,
    /// The mark that this machine had before.
    pub instead_of: Option<MachineId>,
    /// The first day on which the list says so.
    pub on: Date,
    /// Whether that is still to be told.
    pub is_news: bool,
}

impl HandedOn {
    /// Whether that is the same thing, seen once more on its day.
    pub fn is_same_move(&self, other: &HandedOn) -> bool {
        (&self.from, &self.instead_of, self.on) == (&other.from, &other.instead_of, other.on)
    }

    /// Whether the mark has gone back to the machine whose it was.
    pub fn is_back(&self, now: &HandedOn) -> bool {
        let goes_to = [&now.to, &now.instead_of];
        self.mark == now.mark && goes_to.into_iter().flatten().any(|name| *name == self.from)
    }
}

/// The marks of a list that another machine has now, where the rows show that it is another one: the machine that had it is
/// found in another row under another mark, or its frame number is another, or its stock number and what it is.
pub fn handed_on(
    before: &Records,
    now: &Records,
    same_rest: impl Fn() -> SameRest,
    today: Date,
) -> Vec<HandedOn> {
    let (were, are): (Vec<Row<'_>>, Vec<Row<'_>>) = (rows(before).collect(), rows(now).collect());
    let (marks_before, marks_now) = (by_name(&were, mark), by_name(&are, mark));
    let rests = |(name, place): (&MachineId, &Option<usize>)| {
        let was = marks_before.get(name).copied().flatten();
        place.zip(was).filter(|(place, was)| !is_as_it_was(were[*was], are[*place]))
    };
    if !marks_now.iter().any(|one| rests(one).is_some()) {
        return Vec::new();
    }
    let again = Again::of(&were, &are, &same_rest());
    let mut found = Vec::new();
    for (name, place) in &marks_now {
        let Some((place, was)) = rests((name, place)) else { continue };
        let from = match again.now.get(&was) {
            Some(there) if *there == place => continue,
            Some(there) if mark(are[*there]).as_ref() != Some(name) => {
                MachineId::each(are[*there].0).max_by_key(|name| !name.as_str().starts_with("mark "))
            }
            _ if is_another(were[was], are[place]) => lasting(were[was]),
            _ => None,
        };
        let instead_of = again.before.get(&place).and_then(|before| mark(were[*before]));
        found.extend(from.map(|from| HandedOn {
            mark: name.clone(),
            from,
            to: lasting(are[place]),
            instead_of,
            on: today,
            is_news: true,
        }));
    }
    found
}

/// Which rows are about the machines of which rows before.
struct Again {
    now: BTreeMap<usize, usize>,
    before: BTreeMap<usize, usize>,
}

impl Again {
    fn of(were: &[Row<'_>], are: &[Row<'_>], same_rest: &SameRest) -> Again {
        let lasting_before = by_name(were, lasting);
        let row = |row: &Row<'_>| row.0.cell().map(|cell| cell.row);
        let by_row: BTreeMap<u32, usize> =
            were.iter().enumerate().filter_map(|(place, was)| Some((row(was)?, place))).collect();
        let mut again = Again { now: BTreeMap::new(), before: BTreeMap::new() };
        for (place, is) in are.iter().enumerate() {
            let by_number = lasting(*is).and_then(|name| *lasting_before.get(&name)?);
            let by_number = by_number.filter(|was| is_one_by_number(were[*was], *is));
            let by_rest = || {
                row(is).and_then(|row| same_rest.before(row)).and_then(|(was, _)| by_row.get(&was).copied())
            };
            // Two stock numbers or frame numbers are two machines, however alike their rows.
            let is_not_against =
                |was: &usize| lasting(were[*was]).zip(lasting(*is)).is_none_or(|(was, is)| was == is);
            if let Some(was) = by_number.or_else(|| by_rest().filter(is_not_against)) {
                again.now.insert(was, place);
                again.before.insert(place, was);
            }
        }
        again
    }
}

/// The rows by a name of theirs; `None` under one that several have.
fn by_name(
    rows: &[Row<'_>],
    name: impl Fn(Row<'_>) -> Option<MachineId>,
) -> BTreeMap<MachineId, Option<usize>> {
    let mut places = BTreeMap::new();
    for (place, row) in rows.iter().enumerate() {
        if let Some(name) = name(*row) {
            places.entry(name).and_modify(|there| *there = None).or_insert(Some(place));
        }
    }
    places
}

fn mark((identity, _): Row<'_>) -> Option<MachineId> {
    MachineId::each(identity).find(|name| name.as_str().starts_with("mark "))
}

/// The frame number, else the stock number.
fn lasting((identity, _): Row<'_>) -> Option<MachineId> {
    MachineId::each(identity).find(|name| !name.as_str().starts_with("mark "))
}

/// Whether two rows with one mark say nothing else of which machine it is.
fn is_as_it_was(was: Row<'_>, is: Row<'_>) -> bool {
    lasting(was) == lasting(is) && !agreed(was.1, is.1).contains(&Some(false))
}

/// Whether rows with one frame number or stock number are about one machine: a stock number is given to the next one.
fn is_one_by_number(was: Row<'_>, is: Row<'_>) -> bool {
    let agreed = agreed(was.1, is.1);
    let [.., customer, registered, handover] = agreed;
    let has_frame = was.0.frame_no.is_some() && is.0.frame_no.is_some();
    let is_its_own = [customer, registered, handover].contains(&Some(true)) || was.1 == is.1;
    has_frame || (is_its_own && !agreed.contains(&Some(false)))
}

/// Whether a mark stands beside another frame number, or beside another stock number and another make, model or day of
/// registration.
fn is_another(was: Row<'_>, is: Row<'_>) -> bool {
    let [[_, frame_was, stock_was], [_, frame_is, stock_is]] = [was.0.names(), is.0.names()];
    let differ = |was: Option<&str>, is: Option<&str>| was.zip(is).is_some_and(|(was, is)| was != is);
    let [make, model, _, registered, _] = agreed(was.1, is.1);
    differ(frame_was, frame_is)
        || (differ(stock_was, stock_is) && [make, model, registered].contains(&Some(false)))
}

/// The marks that were handed on, by what a list says.
pub(super) fn marks(handed_on: &[HandedOn]) -> BTreeSet<&MachineId> {
    handed_on.iter().map(|one| &one.mark).collect()
}
