//! Whole settings files, right and wrong, and what is told of them.

use encoding_rs::WINDOWS_1252;
use jiff::civil::{Weekday, date, time};

use super::*;
use crate::units::{Distance, DistanceUnit};

/// What a file gives; everything that is told of it must read as expected, as the terminal shows it.
#[track_caller]
pub(super) fn check(text: &str, expected: &[&str]) -> Option<Settings> {
    let (settings, problems) = parse(text, "tickover.toml");
    let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
    assert_eq!(told.join("\n"), expected.join("\n"));
    settings
}

#[test]
fn an_empty_file_gives_the_usual_settings() {
    assert_eq!(check("", &[]), Some(Settings::default()));
}

/// A file with every key that there is.
pub(super) const EVERY_KEY: &str = r#"
folders = ["sheets", 'D:\exports']
[shop]
name = "Orchard Lane Motorcycles"
zone = "europe/london"
clock_unit = "km"
dates = "Month First"
hands_over = false
gone = ["AB12 CDE"]
[practice]
region = "Northern Ireland"
checks_before_handover = ["road check"]
second_person_check = ""
rides_before_handover = 3
ride_days_before_handover = 1
ride_distance_before_handover = "16.5 km"
service_words = { "first service" = ["FS", "first"] }
[letter]
from = "tickover@orchard.example"
to = ["a@orchard.example", "b@orchard.example"]
[letter.in_part]
"bench@orchard.example" = ["On the bench", "Book in"]
"desk@orchard.example" = ["Ring today"]
[days]
letter_at = "6:05"
open = ["sat", "Tues", "Wednesday", "thurs", "FRI"]
bank_holidays = "northern ireland"
closed_on = ["2026-12-24", 2026-08-13, "2026-08-14 to 2026-08-16"]
open_on = ["2026-03-17"]
tell_at_once = true
stale_after = 2
[mail]
server = "mail.orchard.example"
port = 2525
security = "StartTLS"
sign_in = "token"
user = "a@orchard.example"
token_command = ["/usr/local/bin/mail-token", "-v", "-v"]
hello_name = "pc.orchard.example"
ca_file = "ca.pem"
insist_on_plain = false
[kept]
forget_machines_after = "400 days"
[limits]
file_size = "2 MB"
unpacked_size = "1025 bytes"
rows = 1_000
columns = 20
cells = 20_000
cell_characters = 100
reader_memory = "512MB"
reader_seconds = 5
files = 7
findings_of_a_rule = 9
[[sheet]]
file = "machines-*.csv"
rows = "machine"
delimiter = "Tab"
encoding = "latin1"
dates = "day first"
distances = "km"
down_to = 12
ticks = "only x failed"
undated_checks_count = true
[sheet.columns]
"Reg." = "mark"
"Mileage" = "reading"
"#;

fn strings(texts: &[&str]) -> Vec<String> {
    texts.iter().map(|text| (*text).to_owned()).collect()
}

/// A receiver of that file, at the place where it was read.
fn part_receiver(settings: &Settings, place: usize, address: &str, sections: &[&str]) -> PartReceiver {
    let place = settings.in_part[place].place.clone();
    PartReceiver { place, address: address.to_owned(), sections: strings(sections) }
}

fn days_of_every_key() -> ShopDays {
    ShopDays {
        letter_at: time(6, 5, 0, 0),
        open: vec![
            Weekday::Tuesday,
            Weekday::Wednesday,
            Weekday::Thursday,
            Weekday::Friday,
            Weekday::Saturday,
        ],
        bank_holidays: BankHolidays::NorthernIreland,
        closed_on: vec![
            date(2026, 8, 13),
            date(2026, 8, 14),
            date(2026, 8, 15),
            date(2026, 8, 16),
            date(2026, 12, 24),
        ],
        open_on: vec![date(2026, 3, 17)],
        tell_at_once: true,
        stale_after: 2,
    }
}

fn account_of_every_key() -> MailAccount {
    MailAccount {
        server: "mail.orchard.example".to_owned(),
        port: 2525,
        security: Security::StartTls,
        sign_in: SignIn::Token {
            user: "a@orchard.example".to_owned(),
            command: strings(&["/usr/local/bin/mail-token", "-v", "-v"]),
        },
        hello_name: Some("pc.orchard.example".to_owned()),
        ca_file: Some("ca.pem".to_owned()),
        insist_on_plain: false,
    }
}

#[test]
fn every_key_can_be_set() {
    let settings = check(EVERY_KEY, &[]).expect("the file is right");
    let sheet = &settings.sheets[0];
    let expected = Settings {
        shop: "Orchard Lane Motorcycles".to_owned(),
        zone: "Europe/London".to_owned(),
        folders: strings(&["sheets", "D:\\exports"]),
        clock_unit: DistanceUnit::Kilometres,
        date_order: DateOrder::MonthFirst,
        gone: strings(&["AB12 CDE"]),
        sheets: vec![AgreedSheet {
            place: sheet.place.clone(),
            file: "machines-*.csv".to_owned(),
            sheet: None,
            rows: "machine".to_owned(),
            columns: vec![
                AgreedColumn::plain(sheet.columns[0].place.clone(), "Reg.", "mark"),
                AgreedColumn::plain(sheet.columns[1].place.clone(), "Mileage", "reading"),
            ],
            date_order: Some(DateOrder::DayFirst),
            distances: Some(DistanceUnit::Kilometres),
            down_to: Some(12),
            ticks: Some(Ticks::OnlyXFailed),
            undated_checks_count: Some(true),
            // The Encoding Standard takes `latin1` for it.
            text_form: TextForm { delimiter: Some(b'\t'), encoding: Some(WINDOWS_1252) },
        }],
        practice: Practice {
            hands_over: false,
            keeps_checks: true,
            keeps_road_tests: true,
            keeps_arrivals: true,
            service_words: [("first service".to_owned(), strings(&["FS", "first"]))].into(),
            checks_before_handover: strings(&["road check"]),
            second_person_check: String::new(),
            rides_before_handover: 3,
            ride_days_before_handover: 1,
            ride_distance_before_handover: Distance::of_tenths(165, DistanceUnit::Kilometres),
            region: Region::NorthernIreland,
        },
        from: "tickover@orchard.example".to_owned(),
        to: strings(&["a@orchard.example", "b@orchard.example"]),
        in_part: vec![
            part_receiver(&settings, 0, "bench@orchard.example", &["On the bench", "Book in"]),
            part_receiver(&settings, 1, "desk@orchard.example", &["Ring today"]),
        ],
        days: days_of_every_key(),
        mail: Some(account_of_every_key()),
        mail_in_doubt: false,
        retention: Retention { unseen_days: 400 },
        limits: Limits {
            file_bytes: 2_097_152,
            unpacked_bytes: 1_025,
            rows: 1_000,
            columns: 20,
            cells: 20_000,
            cell_characters: 100,
            reader_bytes: 536_870_912,
            reader_seconds: 5,
            files: 7,
            findings_of_a_rule: 9,
        },
    };
    assert_eq!(settings, expected);
    assert_eq!(sheet.place.to_string(), "tickover.toml:55:1");
    assert_eq!(settings.in_part[1].place.to_string(), "tickover.toml:23:1");
    assert_eq!(sheet.columns[1].place.to_string(), "tickover.toml:67:1");
}

/// A file with something wrong under every heading.
const MUCH_WRONG: &str = r#"folders = ["sheets", 3]
zone = "Europe/London"
[shop]
name = "Orchard Lane"
zone = "Europe/Lodon"
clok_unit = "miles"
dates = "us"
[leter]
[letter]
to = ["a@orchard.example", "workshop"]
[limits]
rows = 0
"#;

const MUCH_TOLD: [&str; 8] = [
    r#"error: `folders`: this must be a text
  --> tickover.toml:1:22: `3`
  |
1 | folders = ["sheets", 3]
  |                      ^
help: Put it in quotes: "…". Until then it is ["sheets"]."#,
    r#"error: there is no setting `zone` above the first heading
  --> tickover.toml:2:1: `zone`
  |
2 | zone = "Europe/London"
  | ^^^^
help: Move it under [shop]. Allowed above the first heading: folders."#,
    r#"error: `zone`: no time zone has this name
  --> tickover.toml:5:8: `"Europe/Lodon"`
  |
5 | zone = "Europe/Lodon"
  |        ^^^^^^^^^^^^^^
help: Did you mean "Europe/London"? A shop in the United Kingdom writes "Europe/London". Until then it is "Europe/London"."#,
    r#"error: there is no setting `clok_unit` under [shop]
  --> tickover.toml:6:1: `clok_unit`
  |
6 | clok_unit = "miles"
  | ^^^^^^^^^
help: Did you mean `clock_unit`? Allowed under [shop]: name, zone, clock_unit, dates, hands_over, gone."#,
    r#"error: `dates`: this is not one of the words allowed here
  --> tickover.toml:7:9: `"us"`
  |
7 | dates = "us"
  |         ^^^^
help: Write "day first" or "month first". Until then it is "day first"."#,
    r#"error: there is no heading [leter]
  --> tickover.toml:8:2: `leter`
  |
8 | [leter]
  |  ^^^^^
help: Did you mean [letter]? The headings are [shop], [practice], [letter], [days], [mail], [kept], [limits] and [[sheet]]."#,
    r#"error: `to`: this is no email address: it has no @
  --> tickover.toml:10:28: `"workshop"`
   |
10 | to = ["a@orchard.example", "workshop"]
   |                            ^^^^^^^^^^
help: Write one plain address, such as "workshop@shop.example". Until then it is ["a@orchard.example"]."#,
    r#"error: `rows`: this number is out of range
  --> tickover.toml:12:8: `0`
   |
12 | rows = 0
   |        ^
help: Write a whole number from 1 to 10000000, without quotes. Until then it is 400000."#,
];

#[test]
fn everything_wrong_is_told_at_once_and_the_rest_counts() {
    let settings = check(MUCH_WRONG, &MUCH_TOLD);
    let expected = Settings {
        shop: "Orchard Lane".to_owned(),
        to: vec!["a@orchard.example".to_owned()],
        ..Settings::default()
    };
    assert_eq!(settings, Some(expected));
}

#[test]
fn a_yes_that_toml_does_not_know_is_told_what_to_write() {
    for (written, help) in [
        ("tell_at_once = yes", "Write `tell_at_once = true`, in small letters and without quotes."),
        (" tell_at_once=No # for now", "Write `tell_at_once = false`, in small letters and without quotes."),
        ("tell_at_once = True", "Write `tell_at_once = true`, in small letters and without quotes."),
        ("insist_on_plain = off", "Write `insist_on_plain = false`, in small letters and without quotes."),
        // Of another word nobody knows what is meant, and another key may want another one.
        ("tell_at_once = sometimes", "Write one `key = value` a line, texts in quotes."),
        ("zone = yes", "Write one `key = value` a line, texts in quotes."),
    ] {
        let (settings, problems) = parse(&format!("[days]\n{written}\n"), "tickover.toml");
        assert!(settings.is_none(), "{written}");
        assert_eq!(
            problems.iter().map(|problem| problem.help.as_str()).collect::<Vec<_>>(),
            [help],
            "{written}"
        );
    }
    let (_, problems) = parse("[days]\ntell_at_once = yes\n", "tickover.toml");
    let said = "error: `tell_at_once` must be true or false\n  --> tickover.toml:2:16: `yes`\n  |\n2 | tell_at_once = yes\n";
    assert!(problems[0].to_string().starts_with(said), "{}", problems[0]);
}

#[test]
fn a_file_that_is_not_toml_stops_everything_and_says_where() {
    let settings = check(
        "folders = [\"D:\\Exports\"]\n[shop]\nname = Orchard Lane\n",
        &[
            r#"error: this line cannot be read as TOML: missing escaped value, expected `b`, `e`, `f`, `n`, `r`, `\`, `"`, `x`, `u`, `U`
  --> tickover.toml:1:16
  |
1 | folders = ["D:\Exports"]
  |                ^
help: Write a Windows path in single quotes ('D:\exports') or with forward slashes."#,
            r#"error: this line cannot be read as TOML: string values must be quoted, expected literal string
  --> tickover.toml:3:8: `Orchard Lane`
  |
3 | name = Orchard Lane
  |        ^^^^^^^^^^^^
help: Write one `key = value` a line, texts in quotes."#,
        ],
    );
    assert_eq!(settings, None);
}

#[test]
fn a_secret_is_refused_and_never_repeated() {
    let files = [
        "[letter]\npassword = \"hunter2\"\n",
        "[letter]\npassword = hunter2\n",
        "password = \"hunter2\n",
        "[mail.account]\nsmtp_password = \"hunter2\"\nhost = \"hunter2\"\n",
        "mail = { user = \"hunter2\", Secret = \"hunter2\" }\n",
        "[shop]\napi-token = '''\nhunter2'''\nname = 5 # hunter2\nzone = \"hunter2\"\n",
        "[mail]\nserver = \"mail.shop.example\"\npassword = \"hunter2\"\n",
        "[mail]\nsign_in = \"token\"\ntoken = \"hunter2\"\n",
        "[mail]\ntoken_command = [\"get\", \"--client-secret=hunter2\"]\n",
        "[letter.in_part]\n\"a@shop.example\" = { password = \"hunter2\" }\n",
        "[[sheet]]\npwd = \"hunter2\"\nfile = \"a\"\nrows = \"job\"\n",
    ];
    for file in files {
        let (settings, problems) = parse(file, "tickover.toml");
        let told = format!("{problems:?} {settings:?}");
        assert!(!told.contains("hunter2"), "{told}");
        let refused =
            problems.iter().filter(|problem| problem.what.contains("a secret must not stand")).count();
        assert_eq!(refused, usize::from(settings.is_some()), "{file} {problems:#?}");
        assert!(!problems.is_empty());
    }
}

#[test]
fn an_explanation_about_passwords_hides_nothing() {
    check(
        "# password = outside\n[shop]\nname = 3\n",
        &[
            "error: `name`: this must be a text\n  --> tickover.toml:3:8: `3`\n  |\n3 | name = 3\n  |        ^\n\
           help: Put it in quotes: \"…\". Until then it is \"\".",
        ],
    );
}

#[test]
fn an_address_is_one_plain_address() {
    for (address, right) in [
        ("workshop@shop.example", true),
        ("first.last+bikes@mail.shop.example", true),
        ("workshop", false),
        ("@shop.example", false),
        ("workshop@", false),
        ("a@b@shop.example", false),
        ("Work Shop <workshop@shop.example>", false),
        ("workshop@shop..example", false),
        ("workshop@.example", false),
        ("a@shop.example, b@shop.example", false),
        ("a@shop.example\\nBcc: b@shop.example", false),
    ] {
        let (settings, problems) = parse(&format!("[letter]\nto = [\"{address}\"]\n"), "t");
        let to = settings.expect("one wrong key does not stop the run").to;
        assert_eq!((to.len(), problems.len()), if right { (1, 0) } else { (0, 1) }, "{address}");
    }
}

#[test]
fn a_sheet_without_its_file_or_rows_is_left_out_and_told() {
    let settings = check(
        "[[sheet]]\nrows = \"job\"\n[[sheet]]\nfile = \"b.csv\"\nrow = \"job\"\nrows = \"machine\"\n\
         distances = \"leagues\"\n[sheet.columns]\nA = \"\"\nB = \"mark\"\n\
         [[sheet]]\nfile = \"B.csv\"\nrows = \"job\"\n",
        &[
            "error: this sheet lacks `file`\n  --> tickover.toml:1:1: `[[sheet]]`\n  |\n1 | [[sheet]]\n  | ^^^^^^^^^\n\
             help: Add a line `file = \"…\"` below it. Until then this sheet is not agreed.",
            "error: there is no setting `row` under [[sheet]]\n  --> tickover.toml:5:1: `row`\n  |\n\
             5 | row = \"job\"\n  | ^^^\n\
             help: Did you mean `rows`? Allowed under [[sheet]]: file, sheet, rows, delimiter, encoding, dates, distances, down_to, ticks, undated_checks_count, columns.",
            "error: this is not one of the words allowed here\n  --> tickover.toml:7:13: `\"leagues\"`\n  |\n\
             7 | distances = \"leagues\"\n  |             ^^^^^^^^^\n\
             help: Write \"miles\" or \"km\". (`distances`) Until then [shop] decides.",
            "error: this text is empty\n  --> tickover.toml:9:5: `\"\"`\n  |\n9 | A = \"\"\n  |     ^^\n\
             help: Write something, or take the line out. Until then this column is not agreed.",
            "error: the sheet B.csv is agreed twice\n  --> tickover.toml:11:1: `[[sheet]]`\n   |\n11 | [[sheet]]\n   \
             | ^^^^^^^^^\n\
             help: Take one out; until then only the first one counts, at tickover.toml:3:1.",
        ],
    );
    let sheets = settings.expect("one wrong sheet does not stop the run").sheets;
    let agreed: Vec<_> = sheets.iter().map(|sheet| (sheet.file.as_str(), sheet.columns.len())).collect();
    assert_eq!(agreed, [("b.csv", 1)]);
}

#[test]
fn what_contradicts_is_asked_the_safer_way() {
    let settings = check(
        "[practice]\nchecks_before_handover = [\"road check\"]\nride_days_before_handover = 3\n",
        &[
            "error: `second_person_check`: \"quality check\" is not among `checks_before_handover`\n  \
             --> tickover.toml:2:1: `checks_before_handover`\n  |\n2 | checks_before_handover = [\"road check\"]\n  \
             | ^^^^^^^^^^^^^^^^^^^^^^\n\
             help: Name one of these checks, or \"\" for none. Until then it is asked for all the same.",
            "error: `ride_days_before_handover`: 2 rides cannot be on 3 different days\n  \
             --> tickover.toml:3:1: `ride_days_before_handover`\n  |\n3 | ride_days_before_handover = 3\n  \
             | ^^^^^^^^^^^^^^^^^^^^^^^^^\n\
             help: Lower it, or raise `rides_before_handover`. Until then 3 rides are asked for.",
        ],
    );
    let practice = settings.expect("a contradiction does not stop the run").practice;
    assert_eq!(practice.checks_before_handover, ["road check", "quality check"]);
    assert_eq!(practice.rides_before_handover, 3);
}

#[test]
fn a_check_is_the_same_however_it_is_written() {
    let text =
        "[practice]\nchecks_before_handover = [\"PDI\", \"quality check\"]\nsecond_person_check = \"QC\"\n";
    let practice = check(text, &[]).expect("nothing is wrong").practice;
    assert_eq!(practice.checks_before_handover, ["PDI", "quality check"]);
    let text = "[practice]\nchecks_before_handover = [\"PDI\", \"QC\", \"quality check\"]\n";
    let expected = "error: `checks_before_handover`: \"QC\" and \"quality check\" are the same check\n  \
                    --> tickover.toml:2:1: `checks_before_handover`\n  |\n2 | checks_before_handover = [\"PDI\", \"QC\", \
                    \"quality check\"]\n  | ^^^^^^^^^^^^^^^^^^^^^^\n\
                    help: Take one of them out. Until then only \"QC\" is asked for.";
    let practice = check(text, &[expected]).expect("the rest is read").practice;
    assert_eq!(practice.checks_before_handover, ["PDI", "QC"]);
}

#[test]
fn the_second_person_cannot_be_the_first() {
    let text = "[practice]\nsecond_person_check = \"pre-delivery inspection\"\n";
    let expected = "error: `second_person_check`: \"pre-delivery inspection\" is the first of `checks_before_handover`, \
                    so that nobody else is asked\n  --> tickover.toml:2:1: `second_person_check`\n  |\n\
                    2 | second_person_check = \"pre-delivery inspection\"\n  | ^^^^^^^^^^^^^^^^^^^\n\
                    help: Name a later one of these checks, or \"\" for none. Until then another person must sign \
                    \"quality check\".";
    let practice = check(text, &[expected]).expect("the rest is read").practice;
    assert_eq!(practice, Practice::default());
    for (wanted, second, kept, signed_by_another) in [
        ("[\"QC\", \"brakes\", \"PDI\"]", "quality control", vec!["QC", "brakes", "PDI"], "PDI"),
        (
            "[\"quality check\"]",
            "quality check",
            vec!["quality check", "pre-delivery inspection"],
            "pre-delivery inspection",
        ),
    ] {
        let text =
            format!("[practice]\nchecks_before_handover = {wanted}\nsecond_person_check = \"{second}\"\n");
        let (settings, problems) = parse(&text, "tickover.toml");
        assert_eq!(problems.len(), 1);
        let practice = settings.expect("the rest is read").practice;
        assert_eq!(practice.checks_before_handover, kept);
        assert_eq!(practice.second_person_check, signed_by_another);
    }
}

#[test]
fn a_flood_of_problems_is_cut_off_and_counted() {
    let text: String = (0..60).map(|count| format!("key{count} = 1\n")).collect();
    let (_, problems) = parse(&text, "tickover.toml");
    assert_eq!(problems.len(), 51);
    assert_eq!(problems[50].what, "the file has 10 more problems besides these");
}

#[test]
fn a_missing_file_gives_the_usual_settings_and_a_note() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let (settings, problems) = load(&folder.path().join("tickover.toml"), "tickover.toml");
    assert_eq!(settings, Some(Settings::default()));
    let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
    let note = "note: there is no settings file yet, so the usual settings count\n  --> tickover.toml\n\
                help: Run `tickover setup` with the shop's own exports; it writes one.";
    assert_eq!(told, [note]);
}

#[test]
fn a_file_in_another_encoding_or_far_too_large_is_refused() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let path = folder.path().join("tickover.toml");
    std::fs::write(&path, b"[shop]\nname = \"Caf\xe9\"\n").expect("the file is written");
    let (settings, problems) = load(&path, "tickover.toml");
    assert_eq!(settings, None);
    assert_eq!(problems[0].what, "the settings file is not saved as UTF-8 (seen in line 2)");
    std::fs::write(&path, vec![b'#'; 2 << 20]).expect("the file is written");
    let (settings, problems) = load(&path, "tickover.toml");
    assert_eq!(settings, None);
    assert_eq!(problems[0].what, "the settings file is larger than 1 MB");
    let (settings, problems) = load(folder.path(), "tickover.toml");
    assert_eq!(settings, None);
    assert!(problems[0].what.starts_with("the settings cannot be read: "), "{}", problems[0].what);
}

#[test]
fn the_written_file_explains_every_key() {
    let usual = render(&Settings::default());
    let unexplained: Vec<&str> = usual
        .lines()
        .zip(usual.lines().skip(1))
        .filter(|(above, line)| line.trim_start_matches("# ").contains(" = ") && !above.starts_with('#'))
        .map(|(_, line)| line)
        .collect();
    // Entries of the lists of service words and of receivers in part follow one explanation.
    let entries = unexplained.iter().filter(|line| line.trim_start_matches("# ").starts_with('"')).count();
    assert_eq!(unexplained.len(), entries, "{unexplained:?}");
    assert!(usual.lines().all(|line| line.chars().count() <= 120), "{usual}");
}
