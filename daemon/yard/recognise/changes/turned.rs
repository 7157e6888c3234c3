//! Days of the same rows that are what they were with day and month changed round, and what stands beside them.

use std::collections::HashSet;

use jiff::civil::Date;

use super::meanings::{Doubt, LEAST_MACHINES, LEAST_OF_FEW, Pair, Told};
use super::values::{MOST, NEARLY_ALL, SOME};
use super::{Change, ColumnRead, Lasts, MatchedRows, at_the_top, of_its_time};
use crate::problem::{Problem, counted};
use crate::settings::DateOrder;
use crate::sheets::Cell;
use crate::yard::cells;
use crate::yard::days::{self, ColumnOrder};

/// How many days of the same rows are what they were with day and month changed round.
#[derive(Default)]
struct Turns {
    /// Texts that are the same day with the other one first.
    of_texts: usize,
    /// Those of them in whose place stood a text that could be one day only.
    unfolded: usize,
    /// Real dates, and texts that can be one day only, that are the other day.
    of_dates: usize,
    /// Texts that are days in the order that they had, in no other one, and the days that they were.
    fixed: usize,
    /// Days that could have become another one so, and are what they were.
    stayed: usize,
    /// Days that have changed in another way.
    otherwise: usize,
}

impl Turns {
    /// Whether that is what has become of the column, and not a few slips that were put right.
    fn are_most(&self) -> bool {
        let turned = self.of_texts + self.of_dates;
        let are_all = turned >= LEAST_OF_FEW && self.otherwise + self.stayed == 0;
        (turned >= LEAST_MACHINES || are_all)
            && turned as f64 >= NEARLY_ALL * (turned + self.otherwise) as f64
            && turned as f64 >= MOST * (turned + self.stayed) as f64
    }

    /// Whether days were changed round in the writing that they had: others beside them are still so.
    fn are_in_the_old_order(&self) -> bool {
        self.of_dates > 0 || (self.of_texts > self.unfolded && self.fixed > 0)
    }

    /// Whether what a program had changed round was put back: all of it, in the order that the days beside it show.
    fn are_put_back(&self) -> bool {
        self.of_dates == 0 && self.of_texts > 0 && self.of_texts == self.unfolded && self.fixed > 0
    }

    /// Whether a column that was turned round has not been put back.
    fn are_some(&self) -> bool {
        let turned = self.of_texts + self.of_dates;
        turned as f64 >= SOME * (turned + self.stayed + self.otherwise) as f64
    }
}

/// What real dates that were changed round are known by, before their header; and what stands beside them.
const CHANGED_ROUND: &str = "changed round";
const BESIDE: &str = "beside changed round";

/// Has the other days of a sheet share what became of one of its columns, since a program writes all of them in one order:
/// texts are read in that order, and real dates that may be two days do not count.
pub(super) fn with_neighbours(found: &mut [(Pair<'_>, Option<Told>)]) {
    let said = |key: &str| found.iter().any(|(pair, told)| is_of(pair, told.as_ref(), key));
    let are_dates_turned = said(CHANGED_ROUND);
    let texts = found.iter().find_map(|(pair, told)| pair.texts_turned(told.as_ref()?));
    for (pair, told) in found.iter_mut().filter(|(pair, told)| pair.is_open(told.as_ref())) {
        let beside = are_dates_turned.then(|| pair.beside_turned_dates()).flatten();
        let beside = beside.or_else(|| pair.beside_turned_texts(texts?));
        *told = beside.or(told.take());
    }
    for (pair, told) in
        found.iter_mut().filter(|(pair, told)| are_dates_turned && pair.is_unheld(told.as_ref()))
    {
        *told = pair.changed_round_too().or(told.take());
    }
}

/// What a column whose days are turned round is known by from day to day.
pub(super) fn turned_key(now: DateOrder, column: &ColumnRead) -> String {
    format!("turned {} {}", now.written(), column.header)
}

fn is_of(pair: &Pair<'_>, told: Option<&Told>, what: &str) -> bool {
    told.is_some_and(|(change, _)| change.key == pair.key(what))
}

impl Pair<'_> {
    /// Whether the days of the same rows are what they were with day and month changed round, whatever the column proves
    /// by itself.
    pub(super) fn turned_round(&self) -> Option<Told> {
        let (ColumnOrder::Settled(was) | ColumnOrder::Expected(was)) = self.was.meaning.order else {
            return None;
        };
        let now = was.other();
        let is_proven = self.column.proven_order == Some(ColumnOrder::Settled(now));
        let turns = self.turns(now);
        let is_in_place = turns.are_in_the_old_order();
        let is_known = is_in_place && self.terms.is_known(&self.key(CHANGED_ROUND));
        let are_turned = turns.are_most() || (is_known && turns.are_some());
        if is_proven || self.is_order_agreed_now() || !are_turned || turns.are_put_back() {
            return None;
        }
        let place = self.now.table.whole();
        if is_in_place {
            return Some(self.dates_changed_round());
        }
        let what = format!(
            "the dates in {} had the {} and have the {} now; the same rows show it, and they are read so",
            self.subject(),
            was.written(),
            now.written()
        );
        let problem = at_the_top(Problem::note(place, what, self.agree_order(now)));
        let change = Change { key: turned_key(now, self.column), lasts: Lasts::UntilAgreed, problem };
        Some((change, Some(Doubt::Order(ColumnOrder::Settled(now)))))
    }

    /// Whether the owner has said of the days since they were turned round which way they are.
    pub(super) fn is_order_agreed_now(&self) -> bool {
        let agreed = self.terms.order_said_of(self.column);
        let noted = of_its_time::noted_order(self.column, self.terms);
        agreed.is_some_and(|agreed| {
            noted == Some(agreed.other()) || self.terms.is_known(&turned_key(agreed, self.column))
        })
    }

    /// The same of a column that shows it less, beside one that does.
    fn changed_round_too(&self) -> Option<Told> {
        let (ColumnOrder::Settled(was) | ColumnOrder::Expected(was)) = self.was.meaning.order else {
            return None;
        };
        let turns = self.turns(was.other());
        let is_so = turns.are_in_the_old_order() && turns.stayed == 0 && !self.is_order_agreed_now();
        is_so.then(|| self.dates_changed_round())
    }

    /// Whether a column of days is not held as it is.
    fn is_unheld(&self, told: Option<&Told>) -> bool {
        self.column.holds_days() && told.is_none_or(|(change, _)| change.lasts != Lasts::Held)
    }

    /// A spreadsheet program that expects the other order has made dates of the texts that fit.
    fn dates_changed_round(&self) -> Told {
        let what = format!(
            "the dates in {} are what they were with day and month changed round, as a spreadsheet program does that \
             expects the other order; what the same rows said before stands",
            self.subject()
        );
        (self.held(CHANGED_ROUND, what), Some(Doubt::Held))
    }

    /// How the days of the same rows have changed, where the texts now may have the other order.
    fn turns(&self, now: DateOrder) -> Turns {
        let mut turns = Turns::default();
        for (earlier, later) in self.rows.pairs() {
            let (earlier, later) = (earlier.cell(self.was.index), later.cell(self.column.index));
            let Ok(Some(was)) = cells::day(earlier, &self.was.meaning) else { continue };
            if later.is_blank() {
                continue;
            }
            let is_same = matches!(cells::day(later, &self.column.meaning), Ok(Some(day)) if day == was);
            let turned = Date::new(was.year(), was.day(), was.month()).ok().filter(|day| *day != was);
            let read = |cell: Cell<'_>| match cell {
                Cell::Text(text) => days::readings(text),
                _ => days::DayReadings::default(),
            };
            let is_one_day = |readings: days::DayReadings| {
                readings.day_first.is_some() && readings.day_first == readings.month_first
            };
            match later {
                // A day above the twelfth cannot be another day, and shows only which order its own writing has.
                _ if is_same => {
                    turns.stayed += usize::from(turned.is_some());
                    turns.fixed += usize::from(read(later).proves() == Some(now.other()));
                }
                Cell::Text(_)
                    if turned.is_some() && is_one_day(read(later)) && read(later).day_first == turned =>
                {
                    turns.of_dates += 1;
                }
                Cell::Text(_) if read(later).in_order(now) == Some(was) => {
                    turns.of_texts += 1;
                    turns.unfolded += usize::from(is_one_day(read(earlier)));
                }
                Cell::Day(day) if Some(day.date()) == turned => turns.of_dates += 1,
                _ => turns.otherwise += 1,
            }
        }
        turns
    }

    /// Another column of the same two exports.
    pub(super) fn beside<'o>(&'o self, was: &'o ColumnRead, column: &'o ColumnRead) -> Pair<'o> {
        let rows = MatchedRows::of(self.before, self.now, &[was.index]);
        Pair::of((self.before, self.now), (was, column), self.terms, rows)
    }

    /// Whether days of the same rows that could have become another one by this order are what they were.
    pub(super) fn stays_as_it_was(&self, order: DateOrder) -> bool {
        self.turns(order).stayed > 0
    }

    /// Whether a column of days shows nothing by itself.
    fn is_open(&self, told: Option<&Told>) -> bool {
        let is_undecided =
            |(change, _): &Told| change.key == self.key("order") && change.lasts != Lasts::Held;
        self.column.holds_days() && self.column.proven_order.is_none() && told.is_none_or(is_undecided)
    }

    /// The order in which the texts of this column stand now, where the same rows show that they were turned.
    fn texts_turned(&self, (change, doubt): &Told) -> Option<DateOrder> {
        match doubt {
            Some(Doubt::Order(ColumnOrder::Settled(order)))
                if change.key == turned_key(*order, self.column) =>
            {
                Some(*order)
            }
            _ => None,
        }
    }

    /// The real dates that are new beside a column whose dates were changed round, and may be two days.
    fn beside_turned_dates(&self) -> Option<Told> {
        let stayed: HashSet<u32> = self
            .rows
            .pairs()
            .filter(|(earlier, later)| {
                let cells = (earlier.cell(self.was.index), later.cell(self.column.index));
                let day = |cell, meaning| cells::day(cell, meaning).ok().flatten();
                day(cells.0, &self.was.meaning) == day(cells.1, &self.column.meaning)
            })
            .map(|(_, later)| later.number)
            .collect();
        let may_be_two = |cell: Cell<'_>| match cell {
            Cell::Day(day) => day.day() <= 12 && day.day() != day.month(),
            _ => false,
        };
        let body = self.now.body();
        let doubtful = body
            .iter()
            .filter(|row| may_be_two(row.cell(self.column.index)) && !stayed.contains(&row.number))
            .count();
        if doubtful == 0 {
            return None;
        }
        let what = format!(
            "{} stands beside dates that were changed round, and has {} that may be two days; what the same rows said before \
             stands",
            self.subject(),
            counted(doubtful, "new date")
        );
        Some((self.held(BESIDE, what), Some(Doubt::Held)))
    }

    /// That texts which may be two days are read in the order of the texts beside them.
    fn beside_turned_texts(&self, order: DateOrder) -> Option<Told> {
        let turns = self.turns(order);
        let is_the_same = self.column.meaning.order == ColumnOrder::Settled(order);
        if self.is_order_agreed_now() || is_the_same || turns.stayed > 0 {
            return None;
        }
        let what = format!(
            "the dates in {} are read {}, as those beside them that the same rows show to be so",
            self.subject(),
            order.written()
        );
        let problem = at_the_top(Problem::note(self.now.table.whole(), what, self.agree_order(order)));
        let change = Change { key: turned_key(order, self.column), lasts: Lasts::UntilAgreed, problem };
        Some((change, Some(Doubt::Order(ColumnOrder::Settled(order)))))
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;
    use std::sync::Arc;

    use jiff::civil::{Date, date};

    use crate::origin::SheetName;
    use crate::settings::DateOrder;
    use crate::sheets::{Cell, Table};
    use crate::units::DistanceUnit;
    use crate::yard::{Compared, Record, Terms, compare, records};

    /// The days of six machines' handovers, with day and month, and of their last services: one of these may be two days.
    const HANDOVERS: [(i8, i8); 6] = [(9, 1), (8, 2), (11, 1), (10, 2), (12, 2), (7, 2)];
    const SERVICES: [(i8, i8); 6] = [(8, 4), (21, 4), (30, 4), (17, 5), (26, 5), (19, 6)];

    fn sheet<'c>(handover: impl Fn(i8, i8) -> Cell<'c>, service: impl Fn(i8, i8) -> Cell<'c>) -> Table {
        let marks = ["AB12 CDE", "AB13 CDE", "AB14 CDE", "AB15 CDE", "AB16 CDE", "AB17 CDE"];
        let headers = ["Reg", "Model", "Handover", "Last service date"].map(Cell::Text).to_vec();
        let rows = marks.iter().zip(HANDOVERS).zip(SERVICES).map(|((mark, first), second)| {
            let mark = Cell::Text(mark);
            vec![mark, Cell::Text("Burdock 400"), handover(first.0, first.1), service(second.0, second.1)]
        });
        let name = SheetName { file: "bikes.xlsx".to_owned(), sheet: Some("Bikes".to_owned()) };
        Table::new(Arc::new(name), false, (1..).zip(std::iter::once(headers).chain(rows)))
    }

    fn compared(before: &Table, now: &Table) -> Compared {
        let terms = Terms {
            agreed: None,
            shop_order: DateOrder::DayFirst,
            clock_unit: DistanceUnit::Miles,
            known: &BTreeMap::new(),
            before: date(2026, 3, 2),
            today: date(2026, 3, 3),
            heeds_right: true,
            is_kept: false,
        };
        compare(before, now, &terms)
    }

    /// The handovers and the days of the services, as they are read.
    fn read(compared: &Compared, now: &Table) -> (Vec<Date>, Vec<Date>) {
        let table = compared.stand_in.as_ref().unwrap_or(now);
        let (said, _) = records(table, &compared.read_as, date(2026, 3, 3));
        let (mut handovers, mut services) = (Vec::new(), Vec::new());
        for (_, record) in &said.records {
            match record {
                Record::Machine(row) => handovers.extend(row.handover.as_ref().map(|day| day.value)),
                Record::Job(job) => services.extend(job.day.as_ref().map(|day| day.value)),
                _ => {}
            }
        }
        (handovers, services)
    }

    fn as_they_are() -> (Vec<Date>, Vec<Date>) {
        let days = |year: i16, days: [(i8, i8); 6]| -> Vec<Date> {
            days.iter().map(|(day, month)| date(year, *month, *day)).collect()
        };
        (days(2026, HANDOVERS), days(2025, SERVICES))
    }

    #[test]
    fn beside_dates_that_were_changed_round_a_date_that_may_be_two_days_stands_as_it_was() {
        let day = |year: i16| move |day: i8, month: i8| Cell::Day(date(year, month, day).at(0, 0, 0, 0));
        let turned = |year: i16| {
            move |day: i8, month: i8| {
                let (day, month) = if day <= 12 { (month, day) } else { (day, month) };
                Cell::Day(date(year, month, day).at(0, 0, 0, 0))
            }
        };
        let (before, now) = (sheet(day(2026), day(2025)), sheet(turned(2026), turned(2025)));
        let compared = compared(&before, &now);
        let said: Vec<&str> = compared.changes.iter().map(|change| change.problem.what.as_str()).collect();
        assert!(
            said.iter().any(|said| said.contains("`Handover` are what they were with day and month")),
            "{said:?}"
        );
        let beside = "`Last service date` stands beside dates that were changed round, and has 1 new date";
        assert!(said.iter().any(|said| said.contains(beside)), "{said:?}");
        assert_eq!(read(&compared, &now), as_they_are());
    }

    #[test]
    fn beside_texts_that_were_turned_round_the_others_are_read_in_that_order_too() {
        let written: Vec<String> = (1..=12)
            .flat_map(|one| (1..=12).flat_map(move |other| [(one, other, 2025), (one, other, 2026)]))
            .map(|(one, other, year)| format!("{one:02}/{other:02}/{year}"))
            .collect();
        let text = |one: i8, other: i8, year: i16| {
            let wanted = format!("{one:02}/{other:02}/{year}");
            Cell::Text(written.iter().find(|text| **text == wanted).unwrap())
        };
        // One service alone, which shows nothing by itself.
        let alone = |day: i8, month: i8, is_turned: bool| match (day, is_turned) {
            (8, false) => text(day, month, 2025),
            (8, true) => text(month, day, 2025),
            _ => Cell::Blank,
        };
        let before = sheet(|day, month| text(day, month, 2026), |day, month| alone(day, month, false));
        let now = sheet(|day, month| text(month, day, 2026), |day, month| alone(day, month, true));
        let (handovers, services) = as_they_are();
        assert_eq!(read(&compared(&before, &now), &now), (handovers, services[..1].to_vec()));
    }
}
