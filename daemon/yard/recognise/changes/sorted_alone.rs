//! Columns of a log that were sorted or shifted without the rest: rows are there again with all their other cells, and these
//! cells say what those of other such rows said.

use std::collections::{HashMap, HashSet, VecDeque};
use std::ops::Range;

use super::matched_rows::in_both;
use super::moved::Moved;
use super::row_marks::RowMarks;
use super::values::SOME;
use super::{Change, ColumnRead, Lasts, Side, Terms, column_in_words};
use crate::problem::Problem;

/// Fewer cells may be slips that were put right. Our decision.
const LEAST_CELLS: usize = 3;

/// So many of the cells that stand elsewhere may have one among them that does not: it is shifted off the end, or comes
/// from a new row. Our decision.
const ONE_IN: usize = 4;

/// Looks for columns that were moved so: one by itself, else the fewest that stand beside each other. Of several the one
/// in which most cells are others.
pub(super) fn find(before: &Side<'_>, now: &Side<'_>, terms: &Terms<'_>) -> Option<Moved> {
    let rows = Unlike::of(before, now);
    let count = rows.columns.len();
    (1..count).find_map(|length| {
        let found = (0..=count - length).filter_map(|first| rows.moved(first..first + length, terms));
        let best = found.max_by_key(|(cells, _)| *cells);
        best.map(|(cells, columns)| rows.tell(cells, &columns, now, terms))
    })
}

/// A column that is in both exports, and how it is read in each where that is the same.
struct Both<'s> {
    was: usize,
    is: usize,
    read: Option<&'s ColumnRead>,
}

/// The rows of two exports that are not the same, cell by cell.
struct Unlike<'s> {
    columns: Vec<Both<'s>>,
    earlier: Vec<RowMarks>,
    later: Vec<RowMarks>,
    /// How many rows either export has at the least.
    all: usize,
}

impl<'s> Unlike<'s> {
    fn of(before: &Side<'_>, now: &'s Side<'_>) -> Unlike<'s> {
        let columns: Vec<Both<'s>> = before
            .headers
            .iter()
            .filter_map(|(index, _)| in_both(before, now, *index))
            .map(|(was, is)| {
                let field = before.column(was).map(|column| column.field);
                let read = now.column(is).filter(|column| field == Some(column.field));
                Both { was, is, read }
            })
            .collect();
        let marks = |side: &Side<'_>, place: fn(&Both<'_>) -> usize| -> Vec<RowMarks> {
            let rows = side.body().iter().map(|row| RowMarks::of(row, columns.iter().map(place)));
            rows.filter(|row| !row.is_blank()).collect()
        };
        let (mut earlier, mut later) = (marks(before, |both| both.was), marks(now, |both| both.is));
        let all = earlier.len().min(later.len());
        let mut had: HashMap<u64, usize> = HashMap::new();
        for row in &earlier {
            *had.entry(row.whole()).or_default() += 1;
        }
        let mut stayed: HashMap<u64, usize> = HashMap::new();
        later.retain(|row| {
            let has_stayed = take_one(&mut had, row.whole());
            if has_stayed {
                *stayed.entry(row.whole()).or_default() += 1;
            }
            !has_stayed
        });
        earlier.retain(|row| !take_one(&mut stayed, row.whole()));
        Unlike { columns, earlier, later, all }
    }

    /// The rows that are the same but for these columns, each of the earlier export with its like.
    fn pairs(&self, asked: &Range<usize>) -> Vec<(&RowMarks, &RowMarks)> {
        let mut alike: HashMap<u64, VecDeque<&RowMarks>> = HashMap::new();
        for row in &self.earlier {
            alike.entry(row.without(asked.clone())).or_default().push_back(row);
        }
        let like = |row: &RowMarks| alike.get_mut(&row.without(asked.clone())).and_then(VecDeque::pop_front);
        let found: Vec<Option<&RowMarks>> = self.later.iter().map(like).collect();
        found.into_iter().zip(&self.later).filter_map(|(like, row)| Some((like?, row))).collect()
    }

    /// Those of these columns that were moved, and in how many rows; `None` unless all that have changed were.
    fn moved(&self, asked: Range<usize>, terms: &Terms<'_>) -> Option<(usize, Vec<usize>)> {
        if asked.clone().all(|place| self.columns[place].read.is_none()) {
            return None;
        }
        let pairs = self.pairs(&asked);
        if pairs.is_empty() || !self.tells_rows_apart(&asked, &pairs) {
            return None;
        }
        let others = |place: usize| -> Vec<(u64, u64)> {
            let cells = pairs.iter().map(|(earlier, later)| (earlier.cells[place], later.cells[place]));
            cells.filter(|(said, says)| said != says).collect()
        };
        let changed: Vec<(usize, Vec<(u64, u64)>)> =
            asked.map(|place| (place, others(place))).filter(|(_, others)| !others.is_empty()).collect();
        let columns: Vec<usize> = changed.iter().map(|(place, _)| *place).collect();
        let cells = changed.iter().map(|(_, others)| others.len()).max()?;
        let is_known = terms.is_known(&self.key(&columns)) && cells as f64 >= SOME * self.all as f64;
        // Where most rows are others, new ones took part in it.
        let came = if 2 * cells > self.all { self.later.len() - pairs.len() } else { 0 };
        let but_for = |others: usize| (others / ONE_IN).max(came.min(others / 2));
        let is_so =
            is_known || changed.iter().all(|(_, others)| stand_elsewhere(others, but_for(others.len())));
        is_so.then_some((cells, columns))
    }

    /// Whether the rest of a row is more than one thing that tells rows apart: else that one may have been moved as well.
    fn tells_rows_apart(&self, asked: &Range<usize>, pairs: &[(&RowMarks, &RowMarks)]) -> bool {
        let differs =
            |place: &usize| pairs.iter().any(|(row, _)| row.cells[*place] != pairs[0].0.cells[*place]);
        (0..self.columns.len()).filter(|place| !asked.contains(place)).filter(differs).count() > 1
    }

    fn read(&self, places: &[usize]) -> Vec<(&Both<'s>, &'s ColumnRead)> {
        let read = places.iter().map(|place| &self.columns[*place]);
        read.filter_map(|both| Some((both, both.read?))).collect()
    }

    fn key(&self, places: &[usize]) -> String {
        let headers: Vec<&str> = self.read(places).iter().map(|(_, column)| column.header.as_str()).collect();
        format!("alone {}", headers.join(" / "))
    }

    fn tell(&self, cells: usize, places: &[usize], now: &Side<'_>, terms: &Terms<'_>) -> Moved {
        let read = self.read(places);
        let columns: Vec<&ColumnRead> = read.iter().map(|(_, column)| *column).collect();
        let headers: Vec<String> = columns
            .iter()
            .map(|column| format!("{} `{}`", column_in_words(column.index), column.header))
            .collect();
        let verb = if let [_] = headers[..] { "says" } else { "say" };
        let what = format!(
            "in {cells} of {} rows {} {verb} what other rows said before, and the rest of the row is the same, as after a \
             sort without the rest; what the same rows said before stands",
            self.all,
            headers.join(", ")
        );
        let key = self.key(places);
        let problem = Problem::error(now.table.whole(), what, terms.look_at(&key, &columns));
        Moved {
            change: Change { key, lasts: Lasts::Held, problem },
            columns: read.iter().map(|(both, _)| (both.was, both.is)).collect(),
            named: columns.iter().map(|column| column.header.clone()).collect(),
        }
    }
}

/// Whether one more of these is left to be taken.
fn take_one(left: &mut HashMap<u64, usize>, mark: u64) -> bool {
    let count = left.get_mut(&mark).filter(|count| **count > 0);
    count.map(|count| *count -= 1).is_some()
}

/// Whether cells that have changed say each what another one of them said, but for so many. With but two things to say, one
/// more cell must show it: what was written the wrong way round in two rows is put right by hand.
pub(super) fn stand_elsewhere(others: &[(u64, u64)], but_for: usize) -> bool {
    let mut left: HashMap<u64, usize> = HashMap::new();
    for (said, _) in others {
        *left.entry(*said).or_default() += 1;
    }
    let there: Vec<u64> =
        others.iter().map(|(_, says)| *says).filter(|says| take_one(&mut left, *says)).collect();
    let over = others.len() - there.len();
    let distinct = |cells: &mut dyn Iterator<Item = u64>| cells.collect::<HashSet<_>>().len();
    let had = distinct(&mut others.iter().map(|(said, _)| *said));
    // Where all of them were filled, a blank one is what was left behind by those that moved.
    let is_moved_on = others.iter().any(|(_, says)| *says == 0) && others.iter().all(|(said, _)| *said != 0);
    distinct(&mut there.into_iter()) > 1
        && others.len() >= LEAST_CELLS + usize::from(had == 2)
        && over <= but_for + usize::from(is_moved_on)
}
