//! Columns that were renamed, are gone, stand twice or are new.

use super::absent;
use super::losses::without;
use super::new_checks;
use super::values;
use super::{
    Amendments, Change, ColumnRead, Header, Lasts, MatchedRows, Side, Terms, at_the_top, column_in_words,
    line,
};
use crate::problem::{Problem, nearest};
use crate::sheets::Row;
use crate::yard::recognise::Certainty;
use crate::yard::recognise::shape::{LEAST_SHARE, SURE_SHARE, Sample};
use crate::yard::{CheckResult, Field, cell_words};

/// What was found, and what follows for how the sheet is read.
#[derive(Default)]
pub(super) struct Found {
    pub(super) changes: Vec<Change>,
    pub(super) amendments: Amendments,
    /// The columns of which is told here.
    pub(super) told_columns: Vec<usize>,
    /// Where the last values of a column stand, its places before and now.
    pub(super) held: Vec<(usize, usize)>,
    /// The columns that are gone and whose last values stand behind the sheet.
    pub(super) kept: Vec<usize>,
}

/// Looks for every column that was read before.
pub(super) fn find(before: &Side<'_>, now: &Side<'_>, terms: &Terms<'_>) -> Found {
    let mut search = Search { before, now, terms, found: Found::default() };
    for column in &before.read_as.columns {
        search.look_for(column);
    }
    search.refuse_new_checks();
    search.note_new_columns();
    search.found
}

struct Search<'s> {
    before: &'s Side<'s>,
    now: &'s Side<'s>,
    terms: &'s Terms<'s>,
    found: Found,
}

impl Search<'_> {
    fn look_for(&mut self, was: &ColumnRead) {
        let places = self.now.places(&was.header);
        match places[..] {
            [] => self.look_for_renamed(was),
            [place] if self.is_asked_still(was, place) => {
                let header = self.gone_since_long(was.field).unwrap_or_default().to_owned();
                self.still_in_doubt(was, place, &header);
            }
            [place] if self.reads(place, was.field) => self.watch_values(was, place),
            [place] => self.note_unread(was, place),
            _ if self.before.places(&was.header).len() > 1 => {}
            _ => self.choose(was, &places),
        }
    }

    /// Whether nobody has said yet that a column is the one which is gone, though the export from before it is kept no
    /// more.
    fn is_asked_still(&self, was: &ColumnRead, place: usize) -> bool {
        let is_guessed = self
            .now
            .column(place)
            .is_some_and(|now| now.certainty != Certainty::Agreed && now.field == was.field);
        is_guessed && self.gone_since_long(was.field).is_some()
    }

    /// The header of a field's column that was gone before the last export.
    fn gone_since_long(&self, field: Field) -> Option<&str> {
        let headers = self.terms.known.keys().filter_map(|key| {
            // `clock` begins the names of other fields, too.
            let fields = Field::ALL.iter().filter(|field| key.starts_with(&gone_key(**field, "")));
            let named = fields.max_by_key(|field| field.name().len())?;
            key.strip_prefix(&gone_key(field, "")).filter(|_| *named == field)
        });
        headers.into_iter().find(|header| !self.before.has(&Header::new(header)))
    }

    fn still_in_doubt(&mut self, was: &ColumnRead, place: usize, header: &str) {
        self.found.amendments.refused.push(place);
        self.found.amendments.told.push(header.to_owned());
        self.found.told_columns.push(place);
        let what = format!(
            "the column `{header}` is gone. `{}` in {} may be it, and is not read until you say so: {}",
            was.header,
            column_in_words(place),
            without(was.field)
        );
        let help = self.which_it_is(&was.header, was.field, header);
        let problem = Problem::error(self.now.table.whole(), what, help);
        self.note(gone_key(was.field, header), Lasts::UntilAgreed, problem);
    }

    fn reads(&self, place: usize, field: Field) -> bool {
        self.now.column(place).is_some_and(|column| column.field == field)
    }

    /// The column is read on, and its values are gone, or none that can be read any more.
    fn watch_values(&mut self, was: &ColumnRead, place: usize) {
        let (shape, lacking) = (was.field.shape(), without(was.field));
        let mut before = Sample::of(self.before.table, self.before.header_row, was.index);
        let mut now = Sample::of(self.now.table, self.now.header_row, place);
        if before.is_short() || before.share(shape) < SURE_SHARE || self.has_few_rows() {
            return;
        }
        let what = if now.is_blank() {
            "is empty now"
        } else if now.share(shape) < LEAST_SHARE {
            "has mostly other values now"
        } else {
            return;
        };
        let what =
            format!("{} `{}` ({}) {what}: {lacking}", column_in_words(place), was.header, was.field.name());
        let help =
            "Export it again with its values. If it is right, do nothing: it is said on two open days.";
        let problem = Problem::error(self.now.table.whole(), what, help);
        self.note(values_key(&was.header), Lasts::ForDays, problem);
    }

    /// Whether there are too few rows now to say anything of their values.
    fn has_few_rows(&self) -> bool {
        /// With fewer rows an empty column is no wonder.
        const LEAST_ROWS: usize = 5;
        self.now.table.rows().part(self.now.header_row + 1..).len() < LEAST_ROWS
    }

    /// The header is there, and what stands below it is not read as what it was.
    fn note_unread(&mut self, was: &ColumnRead, place: usize) {
        let is_agreed_otherwise =
            self.now.column(place).is_some_and(|now| now.certainty == Certainty::Agreed)
                || self.is_refused(&was.header);
        let is_read = self.now.read_as.columns.iter().any(|column| column.field == was.field);
        if is_agreed_otherwise || is_read {
            return;
        }
        self.found.told_columns.push(place);
        let left_out = self.now.read_as.left_out.iter().find(|column| column.index == place);
        let why = left_out
            .map_or_else(|| "it looks like something else now".to_owned(), |column| column.why.clone());
        let what = format!(
            "{} `{}` was the {}, and is not read any more ({why}): {}",
            column_in_words(place),
            was.header,
            was.field.name(),
            without(was.field)
        );
        let help =
            format!("If it still is that, write {} in tickover.toml.", line(&was.header, was.field.name()));
        self.note(
            format!("unread {}", was.field.name()),
            Lasts::ForDays,
            Problem::error(self.now.table.whole(), what, help),
        );
    }

    /// Whether the owner leaves a header out.
    fn is_refused(&self, header: &str) -> bool {
        let Some(agreed) = self.terms.agreed else { return false };
        let nothing = crate::yard::recognise::agreement::NOTHING;
        agreed.columns.iter().any(|column| {
            column.field.trim().eq_ignore_ascii_case(nothing)
                && self.now.places(&column.header) == self.now.places(header)
        })
    }

    /// One header stands above several columns.
    fn choose(&mut self, was: &ColumnRead, places: &[usize]) {
        let rows = MatchedRows::of(self.before, self.now, &[was.index]);
        let same: Vec<usize> =
            places.iter().copied().filter(|place| rows.says_the_same(was.index, *place)).collect();
        let letters: Vec<String> = places.iter().map(|place| column_in_words(*place)).collect();
        let letters = letters.join(" and ");
        let help = "Give the other column a name of its own, or leave it out of the export.";
        let key = format!("twice {} {}", was.field.name(), was.header);
        self.found.amendments.told.push(was.header.clone());
        match same[..] {
            [place] => {
                self.place(was, place);
                self.found.amendments.refused.extend(places.iter().filter(|other| **other != place));
                let what = format!(
                    "the header `{}` stands twice now, in {letters}; {} says what it said, and is read",
                    was.header,
                    column_in_words(place)
                );
                self.note(key, Lasts::UntilAgreed, Problem::note(self.now.table.whole(), what, help));
            }
            _ => {
                self.found.amendments.refused.extend(places);
                let what = format!(
                    "the header `{}` stands twice now, in {letters}, and neither is read: {}",
                    was.header,
                    without(was.field)
                );
                self.note(key, Lasts::UntilAgreed, Problem::error(self.now.table.whole(), what, help));
            }
        }
    }

    /// The header is gone.
    fn look_for_renamed(&mut self, was: &ColumnRead) {
        let rows = MatchedRows::of(self.before, self.now, &[was.index]);
        let field = was.field;
        let of_field = || self.now.read_as.columns.iter().filter(|column| column.field == field);
        let says_the_same = |column: &&ColumnRead| rows.says_the_same(was.index, column.index);
        let reads_it = if field.may_have_many_columns() {
            // Each check is one of its own; a telephone or a work that nobody knew before may be this one under another name.
            let is_in_its_place = |column: &&ColumnRead| {
                field != Field::CheckItem && !self.before.has(&Header::new(&column.header))
            };
            of_field().find(says_the_same).or_else(|| of_field().find(is_in_its_place))
        } else {
            of_field().next()
        };
        if let Some(now) = reads_it {
            let is_new =
                !self.before.headers.iter().any(|(index, _)| self.before.header(*index) == now.header);
            // What the owner has agreed since is no change any more.
            if now.certainty == Certainty::Agreed {
                return;
            }
            if self.is_another(was, now) {
                self.gone(was, Some((now.index, now.header.clone())));
                return;
            }
            if (is_new && now.certainty == Certainty::Sure) || rows.says_the_same(was.index, now.index) {
                self.renamed(was, now.index, &now.header, "by its name it is");
                return;
            }
            self.found.amendments.refused.push(now.index);
        }
        let fresh = self.fresh_columns();
        let known = |index: &&usize| {
            let key = renamed_key(field, self.now.header(**index));
            self.terms.is_known(&key) || rows.says_the_same(was.index, **index)
        };
        let certain: Vec<usize> = fresh.iter().filter(known).copied().collect();
        if let [place] = certain[..] {
            let header = self.now.header(place).to_owned();
            self.place(was, place);
            self.renamed(was, place, &header, "its rows say the same, so it is read on as");
            return;
        }
        let guess = self.likely(was, &fresh).map(|place| (place, self.now.header(place).to_owned()));
        self.gone(was, guess);
    }

    /// Whether the same rows say other things, whatever the name of the column.
    fn is_another(&self, was: &ColumnRead, now: &ColumnRead) -> bool {
        // A header that says another unit now is believed or not by its figures.
        let says_unit = now.meaning.distance_unit != was.meaning.distance_unit;
        let differing = values::differing((self.before, was), (self.now, now), self.terms);
        // A check is settled by no name alone.
        let is_guess = differing.rows == 0 && new_checks::settles(was.field);
        is_guess || (!says_unit && differing.speak_against())
    }

    /// The columns that are left out and whose headers the last export did not have.
    fn fresh_columns(&self) -> Vec<usize> {
        let placed: Vec<usize> = self.found.amendments.placed.iter().map(|(index, _)| *index).collect();
        let left_out = self.now.headers.iter().filter(|(index, header)| {
            !self.before.has(header)
                && !placed.contains(index)
                && self.now.column(*index).is_none_or(|column| column.certainty == Certainty::Likely)
                && !self.is_refused(&header.shown)
        });
        left_out.map(|(index, _)| *index).collect()
    }

    /// The new column that may be the one that is gone: by a near name, or by its place and the look of its values.
    fn likely(&self, was: &ColumnRead, fresh: &[usize]) -> Option<usize> {
        let near = nearest(&was.header, fresh.iter().map(|index| self.now.header(*index)));
        let by_name = near.and_then(|near| fresh.iter().find(|index| self.now.header(**index) == near));
        let fits = |index: &&usize| {
            let mut sample = Sample::of(self.now.table, self.now.header_row, **index);
            !sample.is_blank() && sample.share(was.field.shape()) >= SURE_SHARE
        };
        let in_place = fresh.iter().find(|index| **index == was.index).filter(fits);
        let fitting: Vec<&usize> = fresh.iter().filter(fits).collect();
        let alone = if let [one] = fitting[..] { Some(one) } else { None };
        by_name.or(in_place).or(alone).copied()
    }

    fn place(&mut self, was: &ColumnRead, place: usize) {
        self.found.amendments.refused.retain(|refused| *refused != place);
        self.found.amendments.placed.push((place, was.field));
    }

    fn renamed(&mut self, was: &ColumnRead, place: usize, header: &str, why: &str) {
        let field = was.field.name();
        let what = format!(
            "{} was `{}` and is now `{header}`: {why} the {field}",
            column_in_words(place),
            was.header
        );
        let is_agreed = self.is_agreed(&was.header);
        let help = if is_agreed {
            format!(
                "Write {} in tickover.toml in place of {}.",
                line(header, field),
                line(&was.header, field)
            )
        } else {
            format!("If it is something else, write {} in tickover.toml.", line(header, "nothing"))
        };
        let is_placed = self.found.amendments.placed.iter().any(|(index, _)| *index == place);
        let lasts = if is_agreed || is_placed { Lasts::UntilAgreed } else { Lasts::Once };
        self.found.amendments.told.push(was.header.clone());
        let problem = at_the_top(Problem::note(self.now.table.whole(), what, help));
        self.note(renamed_key(was.field, header), lasts, problem);
    }

    fn gone(&mut self, was: &ColumnRead, guess: Option<(usize, String)>) {
        let is_agreed = self.is_agreed(&was.header);
        let is_kept = absent::are_kept(self.before, self.now, was);
        let lasts = match guess {
            _ if is_kept => Lasts::Held,
            Some(_) => Lasts::UntilAgreed,
            None if is_agreed => Lasts::UntilAgreed,
            None => Lasts::ForDays,
        };
        self.found.kept.extend(is_kept.then_some(was.index));
        let (what, help) = match guess {
            Some((place, header)) => self.in_doubt(was, place, &header),
            None => self.without_any(was),
        };
        self.found.amendments.told.push(was.header.clone());
        let problem = Problem::error(self.now.table.whole(), what, help);
        self.note(gone_key(was.field, &was.header), lasts, problem);
    }

    /// What to say of a column that is gone while another may be it: that one is not read, and where the row alone tells
    /// what the column told, its last values stand in that one's place.
    fn in_doubt(&mut self, was: &ColumnRead, place: usize, header: &str) -> (String, String) {
        self.found.told_columns.push(place);
        let meanwhile = if values::is_told_by_the_row_alone(was.field) {
            self.place(was, place);
            self.found.held.push((was.index, place));
            "what the same rows said before stands"
        } else {
            self.found.amendments.refused.push(place);
            if self.found.kept.contains(&was.index) {
                absent::meanwhile(was.field)
            } else {
                without(was.field)
            }
        };
        let what = format!(
            "the column `{}` is gone. `{header}` in {} may be it, and is not read until you say so: {meanwhile}",
            was.header,
            column_in_words(place)
        );
        let help = self.which_it_is(header, was.field, &was.header);
        (what, help)
    }

    /// The lines that say of a column whether it is the one that is gone.
    fn which_it_is(&self, header: &str, field: Field, gone: &str) -> String {
        let in_place = if self.is_agreed(gone) {
            format!(" in place of {}", line(gone, field.name()))
        } else {
            String::new()
        };
        format!(
            "If it is, write {} in tickover.toml{in_place}; if not, {}.",
            line(header, field.name()),
            line(header, "nothing")
        )
    }

    /// What to say of a column that is gone, and no other one may be it.
    fn without_any(&self, was: &ColumnRead) -> (String, String) {
        let field = was.field.name();
        if self.found.kept.contains(&was.index) {
            let meanwhile = absent::meanwhile(was.field);
            let what = format!("the column `{}` ({field}) is gone: {meanwhile}", was.header);
            let help = format!("Export it again with this column. {}", absent::for_good(was, self.terms));
            return (what, help);
        }
        let what = format!("the column `{}` ({field}) is gone: {}", was.header, without(was.field));
        let help = if self.is_agreed(&was.header) {
            format!(
                "Export it again with this column. If it is gone for good, take {} out of tickover.toml.",
                line(&was.header, field)
            )
        } else {
            "Export it again with this column. If it is gone for good, do nothing: it is said on two open days."
                .to_owned()
        };
        (what, help)
    }

    /// Whether a line of the settings names that header.
    fn is_agreed(&self, header: &str) -> bool {
        let agreed = self.terms.agreed.map(|sheet| sheet.columns.as_slice()).unwrap_or_default();
        agreed.iter().any(|column| column.header == header)
    }

    /// Whether the last export has no such column, and nothing has been said of it yet.
    fn is_fresh(&self, index: usize, header: &str) -> bool {
        !self.before.has(&Header::new(header)) && !self.is_dealt_with(index)
    }

    /// Whether it is settled already how a column is read.
    fn is_dealt_with(&self, index: usize) -> bool {
        let amendments = &self.found.amendments;
        amendments.placed.iter().any(|(place, _)| *place == index)
            || amendments.refused.contains(&index)
            || self.found.told_columns.contains(&index)
    }

    /// Leaves new columns unread that would settle a check, until the owner has agreed it.
    fn refuse_new_checks(&mut self) {
        let is_asked_still = |header: &str| self.terms.is_known(&new_checks::key(header));
        let is_new = |column: &ColumnRead| {
            let header = Header::new(&column.header);
            let is_it = |was: &ColumnRead| {
                was.field == column.field
                    && (!column.field.may_have_many_columns() || Header::new(&was.header).is_same(&header))
            };
            !self.before.read_as.columns.iter().any(is_it) && !self.is_followed(column)
        };
        let read = self.now.read_as.columns.iter().filter(|column| {
            let is_guessed = column.certainty != Certainty::Agreed && !self.is_dealt_with(column.index);
            let is_new_check = new_checks::settles(column.field) && is_new(column);
            is_guessed && (is_new_check || is_asked_still(&column.header))
        });
        let read = read.map(|column| (column.index, column.header.clone(), column.field));
        let left_out = self.now.read_as.left_out.iter().filter(|column| {
            let is_fresh = self.is_fresh(column.index, &column.header);
            column.may_be_a_check && (is_fresh || is_asked_still(&column.header))
        });
        let left_out = left_out.map(|column| (column.index, column.header.clone(), Field::CheckItem));
        for (index, header, field) in read.chain(left_out).collect::<Vec<_>>() {
            self.found.amendments.refused.push(index);
            let says_failed =
                |row: &Row<'_>| cell_words::check_result(row.cell(index)) == Ok(CheckResult::Failed);
            let failed = self.now.body().iter().filter(says_failed).count();
            let is_agreed = self.terms.agreed.is_some();
            let (what, help) = new_checks::said((index, &header), field, failed, is_agreed);
            let problem = Problem::error(self.now.table.whole(), what, help);
            self.note(new_checks::key(&header), Lasts::UntilAgreed, problem);
        }
    }

    /// Whether it has been said that a column is one that was renamed.
    fn is_followed(&self, column: &ColumnRead) -> bool {
        let key = renamed_key(column.field, &column.header);
        self.found.changes.iter().any(|change| change.key == key)
    }

    /// Says of new columns that are read, or may well be something that is.
    fn note_new_columns(&mut self) {
        let mut notes = Vec::new();
        for column in &self.now.read_as.columns {
            if column.certainty == Certainty::Agreed
                || self.is_followed(column)
                || !self.is_fresh(column.index, &column.header)
            {
                continue;
            }
            let what = format!(
                "{} `{}` is new, and is read as the {}",
                column_in_words(column.index),
                column.header,
                column.field.name()
            );
            let help = format!("If it is not, write {} in tickover.toml.", line(&column.header, "nothing"));
            notes
                .push((column.header.clone(), at_the_top(Problem::note(self.now.table.whole(), what, help))));
        }
        let mut new_columns = Vec::new();
        for column in &self.now.read_as.left_out {
            if column.is_refused || !self.is_fresh(column.index, &column.header) {
                continue;
            }
            let is_new =
                format!("{} `{}` is new and is not read", column_in_words(column.index), column.header);
            let (what, help) = match column.may_be.first() {
                Some(may_be) => (
                    format!("{is_new}; it may be the {}", may_be.name()),
                    format!("If it is, write {} in tickover.toml.", line(&column.header, may_be.name())),
                ),
                None => (
                    format!("{is_new}: {}", column.why),
                    "If it matters to the workshop, agree in tickover.toml what it is.".to_owned(),
                ),
            };
            notes.push((column.header.clone(), Problem::note(self.now.table.whole(), what, help)));
            new_columns.push(column.index);
        }
        self.found.told_columns.extend(new_columns);
        for (header, problem) in notes {
            self.note(format!("new {header}"), Lasts::Once, problem);
        }
    }

    fn note(&mut self, key: String, lasts: Lasts, problem: Problem) {
        self.found.changes.push(Change { key, lasts, problem });
    }
}

/// What a column with other values is known by.
pub(super) fn values_key(header: &str) -> String {
    format!("values {header}")
}

/// What a renamed column is known by from day to day.
fn renamed_key(field: Field, header: &str) -> String {
    format!("renamed {} {header}", field.name())
}

/// What a column that is gone is known by.
pub(super) fn gone_key(field: Field, header: &str) -> String {
    format!("gone {} {header}", field.name())
}
