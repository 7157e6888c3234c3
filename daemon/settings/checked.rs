//! Settings that have been checked: every value is one the house can work with.

use std::collections::BTreeMap;

use jiff::civil::{Date, Time, Weekday, time};

use crate::origin::SheetName;
use crate::problem::Place;
use crate::settings::TextForm;
use crate::units::{Distance, DistanceUnit};

/// Everything that `tickover.toml` settles.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// The shop's name, for the letter.
    pub shop: String,
    /// The time zone in which the shop's days begin, such as `Europe/London`.
    pub zone: String,
    /// The folders that exports are dropped in, and single files, as written: below the yard folder, or absolute.
    pub folders: Vec<String>,
    /// The unit of a clock of which nothing else tells the unit.
    pub clock_unit: DistanceUnit,
    /// How a date such as 03/04/2026 reads where its column does not settle it.
    pub date_order: DateOrder,
    /// The machines that have left for good, each by a name as the owner wrote it.
    pub gone: Vec<String>,
    /// What `setup` and the owner agreed of each sheet.
    pub sheets: Vec<AgreedSheet>,
    /// How this shop works.
    pub practice: Practice,
    /// The letter's sender, as an address.
    pub from: String,
    /// The receivers of the whole letter, as addresses.
    pub to: Vec<String>,
    /// The receivers of only some of its sections.
    pub in_part: Vec<PartReceiver>,
    /// On which days, and when, the letter goes out.
    pub days: ShopDays,
    /// The account that mails go out by; without one, letters only go to the folder.
    pub mail: Option<MailAccount>,
    /// Whether an account was meant and cannot be used as it is written: then there is none, but a letter that only
    /// lies in the folder has not reached those it is for.
    pub mail_in_doubt: bool,
    /// How long what is personal is kept.
    pub retention: Retention,
    /// The limits of everything that comes from outside.
    pub limits: Limits,
}

/// Which of day and month comes first in a date of figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DateOrder {
    /// 03/04/2026 is 3 April.
    DayFirst,
    /// 03/04/2026 is 4 March.
    MonthFirst,
}

impl DateOrder {
    /// The words for it in `tickover.toml`.
    pub fn written(self) -> &'static str {
        match self {
            DateOrder::DayFirst => "day first",
            DateOrder::MonthFirst => "month first",
        }
    }

    /// The other one.
    pub fn other(self) -> DateOrder {
        match self {
            DateOrder::DayFirst => DateOrder::MonthFirst,
            DateOrder::MonthFirst => DateOrder::DayFirst,
        }
    }
}

/// What a cell of a check means that holds a bare sign: x, TRUE, Y, 1 or a picture such as 👍. FALSE, N and 0 are not done, whatever it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ticks {
    /// Done, and nothing found.
    Done,
    /// Something was found.
    Failed,
    /// An x says that something was found, and every other sign that it is done.
    OnlyXFailed,
}

impl Ticks {
    /// The words for it in `tickover.toml`.
    pub fn written(self) -> &'static str {
        match self {
            Ticks::Done => "done",
            Ticks::Failed => "failed",
            Ticks::OnlyXFailed => "only x failed",
        }
    }
}

/// What was agreed of one sheet; the trade's words in it are checked where they live, in the yard.
#[derive(Debug, Clone, PartialEq)]
pub struct AgreedSheet {
    /// Where in `tickover.toml` it stands.
    pub place: Place,
    /// The file's name; `*` stands for any run of characters, so that `machines-*.csv` takes each day's.
    pub file: String,
    /// The worksheet; `None` for a text file, or for every worksheet of that shape.
    pub sheet: Option<String>,
    /// What its rows are: `machine`, `reading`, `job`, `check`, `ride`, `fill`, or `nothing` to leave it unread.
    pub rows: String,
    /// What each column is, by its header.
    pub columns: Vec<AgreedColumn>,
    /// How its dates of figures read; `None` where the column or the shop's setting decides.
    pub date_order: Option<DateOrder>,
    /// The unit of its distances; `None` where cell, header, machine or the shop's setting decides.
    pub distances: Option<DistanceUnit>,
    /// Down to how many machines or rows it is right, however many it had before; `None` where nobody has said.
    pub down_to: Option<usize>,
    /// What bare signs such as x mean in its checks; `None` where nobody has said it: then they are no results.
    pub ticks: Option<Ticks>,
    /// Whether checks count that stand in it without a day; `None` where nobody has said it: then they do not.
    pub undated_checks_count: Option<bool>,
    /// How its file is written, where it is a text file.
    pub text_form: TextForm,
}

impl AgreedSheet {
    /// Whether a sheet is the one that was agreed: by its file's name, with or without its folder, and by its
    /// worksheet where one was named.
    pub fn is_for(&self, name: &SheetName) -> bool {
        let same_sheet = self.sheet.is_none() || self.sheet == name.sheet;
        same_sheet && (matches(&self.file, &name.file) || matches(&self.file, name.file_name()))
    }
}

/// Whether a name fits a pattern in which `*` stands for any run of characters.
fn matches(pattern: &str, name: &str) -> bool {
    let mut pieces = pattern.split('*');
    let Some(mut rest) = name.strip_prefix(pieces.next().unwrap_or_default()) else { return false };
    let Some(last) = pieces.next_back() else { return rest.is_empty() };
    for piece in pieces {
        let Some(start) = rest.find(piece) else { return false };
        rest = &rest[start + piece.len()..];
    }
    rest.ends_with(last)
}

/// What was agreed of one column.
#[derive(Debug, Clone, PartialEq)]
pub struct AgreedColumn {
    /// Where in `tickover.toml` it stands.
    pub place: Place,
    /// The header as it stands in the sheet.
    pub header: String,
    /// The field's name: `mark`, `frame number`, `day`.
    pub field: String,
    /// What its distances count in, whatever its header and the sheet say; `None` where nobody has said it.
    pub distances: Option<DistanceUnit>,
    /// Which of day and month comes first in it, whatever the sheet says; `None` where nobody has said it.
    pub date_order: Option<DateOrder>,
    /// The day on which its values were first seen to be others, where the owner has said that they are right.
    pub right_since: Option<Date>,
}

impl AgreedColumn {
    /// That a column is a field, and nothing more of it.
    pub fn plain(place: Place, header: &str, field: &str) -> AgreedColumn {
        let (header, field) = (header.to_owned(), field.to_owned());
        AgreedColumn { place, header, field, distances: None, date_order: None, right_since: None }
    }
}

/// Whose law the MOT follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Region {
    /// England, Scotland and Wales: first MOT three years after first registration.
    GreatBritain,
    /// Northern Ireland: four years.
    NorthernIreland,
}

/// How this shop works: what it checks before handover and how it words its jobs.
#[derive(Debug, Clone, PartialEq)]
pub struct Practice {
    /// Whether the shop hands machines over to their owners, so that a sheet should tell when; else all that it lists are
    /// its customers'.
    pub hands_over: bool,
    /// Whether any sheet holds checks. No key sets it: the sheets show it.
    pub keeps_checks: bool,
    /// Whether any sheet holds road tests, in the same way.
    pub keeps_road_tests: bool,
    /// Whether any sheet says when machines came into the shop, in the same way.
    pub keeps_arrivals: bool,
    /// The words by which a job's free text is known as a service item: item name, then its wordings.
    pub service_words: BTreeMap<String, Vec<String>>,
    /// The checks that must have passed before handover, such as `pre-delivery inspection`, `quality check`.
    pub checks_before_handover: Vec<String>,
    /// The check that another person must sign than the one who signed the first of the list.
    pub second_person_check: String,
    /// How many road tests before handover.
    pub rides_before_handover: usize,
    /// On how many different days.
    pub ride_days_before_handover: usize,
    /// How far in all.
    pub ride_distance_before_handover: Distance,
    /// Whose law the MOT follows.
    pub region: Region,
}

/// A receiver of only some sections of the letter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PartReceiver {
    /// Where in `tickover.toml` it stands.
    pub place: Place,
    /// The address.
    pub address: String,
    /// The sections' names as the letter heads them; checked where they live, in the findings.
    pub sections: Vec<String>,
}

/// On which days the shop is open, and when its letter goes out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShopDays {
    /// When the letter goes out, in the shop's zone.
    pub letter_at: Time,
    /// The days of the week on which the shop is open, Monday first.
    pub open: Vec<Weekday>,
    /// Whose bank holidays it keeps.
    pub bank_holidays: BankHolidays,
    /// Further days on which it is closed.
    pub closed_on: Vec<Date>,
    /// Days on which it is open all the same.
    pub open_on: Vec<Date>,
    /// Whether what must not leave the yard today is told at once when it first appears, and not only next morning.
    pub tell_at_once: bool,
    /// After how many open days without a fresh export the letter says so at its top.
    pub stale_after: u32,
}

/// Whose bank holidays a shop keeps.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BankHolidays {
    /// Those of England and Wales.
    EnglandAndWales,
    /// Those of Scotland.
    Scotland,
    /// Those of Northern Ireland.
    NorthernIreland,
    /// None; the owner's own list counts alone.
    None,
}

/// The account that mails go out by.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MailAccount {
    /// The server's name.
    pub server: String,
    /// Its port.
    pub port: u16,
    /// How the connection is kept from others' eyes.
    pub security: Security,
    /// How to sign in.
    pub sign_in: SignIn,
    /// What this PC calls itself to the server; the sender's domain where nothing is set.
    pub hello_name: Option<String>,
    /// A file with the certificate that signs the server's, in PEM, where the system does not know it: as written,
    /// below the yard folder or absolute.
    pub ca_file: Option<String>,
    /// Whether the owner insists on sending unencrypted to another PC than this.
    pub insist_on_plain: bool,
}

/// How the connection to the mail server is kept from others' eyes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Security {
    /// TLS from the first byte (RFC 8314); mostly port 465.
    Tls,
    /// TLS once greeted, or nothing is sent (RFC 3207); mostly port 587.
    StartTls,
    /// None: only to this PC, unless the owner insists.
    Plain,
}

/// How to sign in to the mail server. The secret itself never stands in the settings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SignIn {
    /// Not at all.
    None,
    /// With a password.
    Password {
        /// The user's name there.
        user: String,
        /// The file that holds the password, as written; without one, the environment or the service manager gives it.
        file: Option<String>,
    },
    /// With a short-lived OAuth token that a program prints (RFC 7628, XOAUTH2).
    Token {
        /// The user's name there.
        user: String,
        /// The program and its arguments.
        command: Vec<String>,
    },
}

/// How long what is personal is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Retention {
    /// After how many days without a word of a machine in any sheet everything personal about it is removed.
    pub unseen_days: u32,
}

/// The limits of everything that comes from outside, each with a safe default.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits {
    /// The largest file that is read, and the most text that its cells may hold, in bytes: a workbook can unpack to far
    /// more text than a sheet of a shop has.
    pub file_bytes: u64,
    /// The largest a workbook may unpack to, in bytes.
    pub unpacked_bytes: u64,
    /// The most rows of a sheet.
    pub rows: usize,
    /// The most columns of a sheet.
    pub columns: usize,
    /// The most cells of a file.
    pub cells: usize,
    /// The most characters of a cell.
    pub cell_characters: usize,
    /// The most memory of the process that reads a workbook, in bytes.
    pub reader_bytes: u64,
    /// The longest that a workbook may take to read, in seconds.
    pub reader_seconds: u64,
    /// The most files of a folder.
    pub files: usize,
    /// The most findings of one rule.
    pub findings_of_a_rule: usize,
}

impl Default for Limits {
    fn default() -> Limits {
        Limits {
            file_bytes: 64 * 1024 * 1024,
            unpacked_bytes: 512 * 1024 * 1024,
            rows: 400_000,
            columns: 512,
            cells: 10_000_000,
            cell_characters: 32_767,
            reader_bytes: 1024 * 1024 * 1024,
            reader_seconds: 60,
            files: 500,
            findings_of_a_rule: 2_000,
        }
    }
}

impl Default for Practice {
    fn default() -> Practice {
        let words = |item: &str, wordings: &[&str]| {
            (item.to_owned(), wordings.iter().map(|wording| (*wording).to_owned()).collect())
        };
        Practice {
            hands_over: true,
            keeps_checks: true,
            keeps_road_tests: true,
            keeps_arrivals: true,
            service_words: BTreeMap::from([
                words(
                    "first service",
                    &[
                        "first service",
                        "1st service",
                        "first svc",
                        "1st svc",
                        "first serv",
                        "initial service",
                        "running-in service",
                        "run-in service",
                        "500 mile service",
                        "500 miles service",
                        "500m service",
                        "600 mile service",
                        "600 miles service",
                        "1000 km service",
                        "first 500 mile service",
                        "first 600 mile service",
                    ],
                ),
                words(
                    "annual service",
                    &[
                        "annual service",
                        "annual",
                        "service annual",
                        "yearly service",
                        "12 month service",
                        "12 months service",
                        "full service",
                        "major service",
                    ],
                ),
                words(
                    "brake fluid",
                    &["brake fluid", "brake fluid change", "fluid change brakes", "b/fluid"],
                ),
            ]),
            checks_before_handover: vec!["pre-delivery inspection".to_owned(), "quality check".to_owned()],
            second_person_check: "quality check".to_owned(),
            rides_before_handover: 2,
            ride_days_before_handover: 2,
            ride_distance_before_handover: Distance::of(10, DistanceUnit::Miles),
            region: Region::GreatBritain,
        }
    }
}

impl Default for ShopDays {
    fn default() -> ShopDays {
        ShopDays {
            letter_at: time(7, 30, 0, 0),
            open: vec![
                Weekday::Monday,
                Weekday::Tuesday,
                Weekday::Wednesday,
                Weekday::Thursday,
                Weekday::Friday,
                Weekday::Saturday,
            ],
            bank_holidays: BankHolidays::EnglandAndWales,
            closed_on: Vec::new(),
            open_on: Vec::new(),
            tell_at_once: false,
            stale_after: 3,
        }
    }
}

impl Default for Retention {
    fn default() -> Retention {
        Retention { unseen_days: 3 * 365 }
    }
}

impl Default for Settings {
    fn default() -> Settings {
        Settings {
            shop: String::new(),
            zone: "Europe/London".to_owned(),
            folders: vec!["sheets".to_owned()],
            clock_unit: DistanceUnit::Miles,
            date_order: DateOrder::DayFirst,
            gone: Vec::new(),
            sheets: Vec::new(),
            practice: Practice::default(),
            from: "tickover@shop.example".to_owned(),
            to: vec!["workshop@shop.example".to_owned()],
            in_part: Vec::new(),
            days: ShopDays::default(),
            mail: None,
            mail_in_doubt: false,
            retention: Retention::default(),
            limits: Limits::default(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::matches;

    #[test]
    fn a_star_stands_for_any_run_of_characters() {
        let cases = [
            ("machines.csv", "machines.csv", true),
            ("machines.csv", "machines.csv.bak", false),
            ("machines-*.csv", "machines-2026-03-02.csv", true),
            ("machines-*.csv", "machines-.csv", true),
            ("*", "anything", true),
            ("*stock*2026*", "old stock of 2026.xlsx", true),
            ("*stock*2026*", "2026 stock.xlsx", false),
            ("ab*ba", "aba", false),
        ];
        for (pattern, name, expected) in cases {
            assert_eq!(matches(pattern, name), expected, "{pattern} {name}");
        }
    }
}
