//! Settings made by chance: what is written reads back, and no slip of the keyboard breaks the reading.

use encoding_rs::{UTF_16LE, WINDOWS_1252};
use jiff::Span;
use jiff::civil::{Date, Weekday, date, time};

use super::tests::EVERY_KEY;
use super::*;
use crate::problem::Spot;
use crate::units::dice::Dice;
use crate::units::{Distance, DistanceUnit};

impl Dice {
    /// A text with everything in it that quoting could stumble over, trimmed and never empty.
    fn text(&mut self) -> String {
        let letters =
            ['a', 'Z', '"', '\\', '\'', '#', '=', '[', ']', '.', ' ', '£', 'ß', '日', '\u{a0}', '{', ','];
        let length = 1 + self.below(12);
        let text: String = (0..length).map(|_| letters[self.below(letters.len() as u64) as usize]).collect();
        let text = text.trim();
        if text.is_empty() { "x".to_owned() } else { text.to_owned() }
    }

    fn texts(&mut self, least: u64) -> Vec<String> {
        let count = least + self.below(3);
        (0..count).map(|count| format!("{}{count}", self.text())).collect()
    }

    fn address(&mut self) -> String {
        format!("desk{}@shop{}.example", self.below(1_000), self.below(1_000))
    }

    fn sheet(&mut self) -> AgreedSheet {
        let place = Place::file("");
        let (distances, date_order, right_since) = [
            (None, None, None),
            (Some(DistanceUnit::Kilometres), None, None),
            (None, None, Some(Date::constant(2026, 3, 2))),
            (None, Some(DateOrder::MonthFirst), Some(Date::constant(2026, 3, 2))),
            (None, Some(DateOrder::DayFirst), None),
        ][self.below(5) as usize];
        let column = |header: String, field| AgreedColumn {
            place: place.clone(),
            header,
            field,
            distances,
            date_order,
            right_since,
        };
        let sheet = (self.below(2) == 0).then(|| self.text());
        let text_form = TextForm {
            delimiter: [None, Some(b','), Some(b'\t'), Some(b'\\')][self.below(4) as usize],
            encoding: [None, Some(UTF_16LE), Some(WINDOWS_1252)][self.below(3) as usize],
        };
        AgreedSheet {
            place: place.clone(),
            file: format!("{}{}", self.text(), self.below(1 << 40)),
            // Only a text file, which has no sheets, has a form of its own.
            text_form: if sheet.is_none() { text_form } else { TextForm::default() },
            sheet,
            rows: self.text(),
            columns: self.texts(0).into_iter().map(|header| column(header, "mark".to_owned())).collect(),
            date_order: [None, Some(DateOrder::DayFirst), Some(DateOrder::MonthFirst)]
                [self.below(3) as usize],
            distances: [None, Some(DistanceUnit::Miles), Some(DistanceUnit::Kilometres)]
                [self.below(3) as usize],
            down_to: [None, Some(0), Some(12)][self.below(3) as usize],
            ticks: [None, Some(Ticks::Done), Some(Ticks::Failed), Some(Ticks::OnlyXFailed)]
                [self.below(4) as usize],
            undated_checks_count: [None, Some(false), Some(true)][self.below(3) as usize],
        }
    }

    fn part_receiver(&mut self, count: u64) -> PartReceiver {
        let address = format!("part{count}.{}", self.address());
        PartReceiver { place: Place::file(""), address, sections: self.texts(1) }
    }

    fn shop_days(&mut self) -> ShopDays {
        let all = ShopDays::default().open.into_iter().chain([Weekday::Sunday]);
        let mut open: Vec<Weekday> = all.filter(|_| self.below(3) > 0).collect();
        if open.is_empty() {
            open.push(Weekday::Thursday);
        }
        // Far apart and on end, in order; the two lists share no day.
        let mut dates = |year: i16| {
            let (mut day, mut dates) = (date(year, 1, 1), Vec::new());
            for _ in 0..self.below(12) {
                day = day.saturating_add(Span::new().days([1, 1, 30][self.below(3) as usize]));
                dates.push(day);
            }
            dates
        };
        let (closed_on, open_on) = (dates(2026), dates(2028));
        ShopDays {
            letter_at: time(self.below(24) as i8, self.below(60) as i8, 0, 0),
            open,
            bank_holidays: BankHolidays::None,
            closed_on,
            open_on,
            tell_at_once: self.below(2) == 0,
            stale_after: 1 + self.below(60) as u32,
        }
    }

    fn mail_account(&mut self) -> MailAccount {
        let insist_on_plain = self.below(2) == 0;
        let (security, port) = [
            (Security::Tls, 465),
            (Security::Tls, 2465),
            (Security::StartTls, 587),
            (Security::StartTls, 25),
            (Security::Plain, 25),
            (Security::Plain, 465),
        ][self.below(6) as usize];
        let is_here = security == Security::Plain && !insist_on_plain;
        let server = if is_here {
            ["localhost", "127.0.0.1", "::1"][self.below(3) as usize].to_owned()
        } else {
            format!("mail{}.shop.example", self.below(1_000))
        };
        let sign_in = match self.below(3) {
            0 => SignIn::None,
            1 => {
                let file = (self.below(2) == 0).then(|| self.text());
                SignIn::Password { user: self.text(), file }
            }
            _ => SignIn::Token { user: self.text(), command: self.texts(1) },
        };
        MailAccount {
            server,
            port,
            security,
            sign_in,
            hello_name: (self.below(2) == 0).then(|| "pc.shop.example".to_owned()),
            ca_file: (self.below(2) == 0).then(|| self.text()),
            insist_on_plain,
        }
    }

    fn settings(&mut self) -> Settings {
        let unit = [DistanceUnit::Miles, DistanceUnit::Kilometres][self.below(2) as usize];
        let checks = self.texts(1);
        Settings {
            shop: self.text(),
            zone: ["Europe/London", "Europe/Dublin", "UTC"][self.below(3) as usize].to_owned(),
            folders: self.texts(1),
            clock_unit: unit,
            date_order: [DateOrder::DayFirst, DateOrder::MonthFirst][self.below(2) as usize],
            gone: self.texts(0),
            sheets: (0..self.below(4)).map(|_| self.sheet()).collect(),
            practice: Practice {
                hands_over: self.below(2) == 0,
                keeps_checks: true,
                keeps_road_tests: true,
                keeps_arrivals: true,
                service_words: self.texts(0).into_iter().map(|item| (item, self.texts(0))).collect(),
                second_person_check: checks.iter().skip(1).last().cloned().unwrap_or_default(),
                checks_before_handover: checks,
                rides_before_handover: 5 + self.below(16) as usize,
                ride_days_before_handover: self.below(6) as usize,
                ride_distance_before_handover: Distance::of_tenths(self.below(9_999) as i64, unit),
                region: [Region::GreatBritain, Region::NorthernIreland][self.below(2) as usize],
            },
            from: self.address(),
            to: vec![format!("first.{}", self.address()), self.address()],
            in_part: (0..self.below(3)).map(|count| self.part_receiver(count)).collect(),
            days: self.shop_days(),
            mail: (self.below(3) > 0).then(|| self.mail_account()),
            mail_in_doubt: false,
            retention: Retention { unseen_days: 30 + self.below(29 * 365) as u32 },
            limits: Limits {
                file_bytes: 1024 + self.below(4 << 20),
                unpacked_bytes: 1 << (10 + self.below(24)),
                rows: 1 + self.below(10_000_000) as usize,
                columns: 1 + self.below(16_000) as usize,
                cells: 1 + self.below(10_000_000) as usize,
                cell_characters: 1 + self.below(1_000_000) as usize,
                reader_bytes: (64 << 20) + self.below(1 << 30),
                reader_seconds: 1 + self.below(3_600),
                files: 1 + self.below(100_000) as usize,
                findings_of_a_rule: 1 + self.below(1_000_000) as usize,
            },
        }
    }
}

#[test]
fn what_is_written_reads_back_as_it_was() {
    let mut dice = Dice::of(2026);
    let mut all: Vec<Settings> = (0..400).map(|_| dice.settings()).collect();
    all.push(Settings::default());
    for settings in all {
        let text = render(&settings);
        let (read, problems) = parse(&text, "tickover.toml");
        assert_eq!(problems, [], "{text}");
        let mut read = read.expect("what was written is TOML");
        // The lines are the one thing that settings made in memory do not have.
        read.in_part.iter_mut().for_each(|receiver| receiver.place = Place::file(""));
        for sheet in &mut read.sheets {
            sheet.place = Place::file("");
            sheet.columns.iter_mut().for_each(|column| column.place = Place::file(""));
        }
        assert_eq!(read, settings, "{text}");
    }
}

#[test]
fn no_slip_of_the_keyboard_breaks_the_reading() {
    let mut dice = Dice::of(5);
    let letters: Vec<char> = "[]{}\"'=#\\\n.,1a é".chars().collect();
    let (mut stopped, mut told) = (0, 0);
    for _ in 0..2_000 {
        let mut text: Vec<char> = EVERY_KEY.chars().collect();
        for _ in 0..=dice.below(4) {
            let place = dice.below(text.len() as u64) as usize;
            let letter = letters[dice.below(letters.len() as u64) as usize];
            match dice.below(3) {
                0 => text[place] = letter,
                1 => text.insert(place, letter),
                _ => drop(text.remove(place)),
            }
        }
        let text: String = text.into_iter().collect();
        let (settings, problems) = parse(&text, "tickover.toml");
        stopped += usize::from(settings.is_none());
        told += usize::from(!problems.is_empty());
        assert!(settings.is_some() || !problems.is_empty(), "stopped without a word: {text}");
        for problem in problems {
            match problem.place.spot {
                Spot::Text { line, column, .. } => {
                    assert!(line <= text.lines().count() + 1 && column >= 1, "{problem}");
                }
                _ => assert!(problem.what.ends_with("besides these"), "{problem}"),
            }
        }
    }
    assert!(stopped > 500 && told > stopped, "the slips must matter: {stopped} {told}");
}
