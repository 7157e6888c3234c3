//! Tests of the ledger: what comes back out, what is never kept twice, and that a round is kept as a whole.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use rusqlite::types::Value;

use super::*;
use crate::findings::{
    Asked, Finding, FindingId, Judgement, Raised, Renamed, RuleWords, Section, State, Verdict, lives,
};
use crate::origin::{Entry, Evidence, Origin, SheetName};
use crate::units::{DistanceUnit, Speed, SpeedUnit, Volume};
use crate::yard::{
    Check, CheckResult, Fill, FrameNumber, HandbookPage, Identity, Job, Machine, MachineId, MachineRow, Mark,
    Reading, Record, Ride, SpeedSource, StockNumber, WrittenDistance,
};

pub(super) fn day(text: &str) -> Date {
    text.parse().unwrap()
}

/// One row of a sheet: each value gets the next column.
struct Row {
    name: Arc<SheetName>,
    number: u32,
    column: u32,
}

impl Row {
    fn of(file: &str, sheet: Option<&str>, number: u32) -> Row {
        let name = SheetName { file: file.to_owned(), sheet: sheet.map(str::to_owned) };
        Row { name: Arc::new(name), number, column: 0 }
    }

    fn entry<T>(&mut self, value: T) -> Entry<T> {
        self.column += 1;
        let origin = Origin { name: Arc::clone(&self.name), row: self.number, column: self.column };
        Entry::new(value, origin)
    }

    fn mark(&mut self, mark: &str) -> Identity {
        Identity { mark: Some(self.entry(Mark::new(mark).unwrap())), ..Identity::default() }
    }

    fn reading(mut self, mark: &str, date: &str, miles: i64) -> (Identity, Record) {
        let identity = self.mark(mark);
        let clock = self.entry(WrittenDistance { tenths: miles * 10, unit: None });
        let reading = Reading { day: self.entry(day(date)), clock };
        (identity, Record::Reading(reading))
    }
}

/// A row of a log: a reading of that day, which is its only one.
pub(super) fn reading_of(file: &str, mark: &str, date: Date) -> (Identity, Record) {
    Row::of(file, None, 2).reading(mark, &date.to_string(), 100)
}

/// One record of each kind, with every field, and one with as few as can be.
pub(super) fn one_of_each() -> Records {
    let mut row = Row::of("bikes.xlsx", Some("Log"), 14);
    let miles = |tenths| WrittenDistance { tenths, unit: Some(DistanceUnit::Miles) };
    let identity = Identity {
        mark: Some(row.entry(Mark::new("ab12 cde").unwrap())),
        frame_no: Some(row.entry(FrameNumber::new("zzz1-2345").unwrap())),
        stock_no: Some(row.entry(StockNumber::new(" s 007 ").unwrap())),
    };
    let full = vec![
        Record::Reading(Reading { day: row.entry(day("2026-03-01")), clock: row.entry(miles(12_041)) }),
        Record::Job(Job {
            day: Some(row.entry(day("2026-03-02"))),
            done: row.entry("first service; “chain” adjusted\n\u{0}".to_owned()),
            clock: Some(row.entry(WrittenDistance { tenths: 6_000, unit: Some(DistanceUnit::Kilometres) })),
            oil: Some(row.entry("10w40 MA2".to_owned())),
            by: Some(row.entry("Ä. Tester".to_owned())),
            doubt: Some(row.entry("VOID".to_owned())),
        }),
        Record::Check(Check {
            day: Some(row.entry(day("2026-03-03"))),
            time: Some(jiff::civil::time(16, 5, 0, 0)),
            item: row.entry("brakes".to_owned()),
            result: row.entry(CheckResult::Unclear),
            remark: Some("ok but leaking; “seal”".to_owned()),
            by: Some(row.entry("B".to_owned())),
        }),
        Record::Ride(Ride {
            day: Some(row.entry(day("2026-03-04"))),
            distance: Some(row.entry(miles(51))),
            top_speed: Some(row.entry(Speed::of_tenths(407, SpeedUnit::MilesAnHour))),
            speed_source: Some(row.entry(SpeedSource::Satellite)),
            clock: Some(row.entry(miles(12_092))),
            by: Some(row.entry("C".to_owned())),
        }),
        Record::Fill(Fill {
            day: Some(row.entry(day("2026-03-05"))),
            clock: Some(row.entry(WrittenDistance { tenths: -1, unit: None })),
            volume: Some(row.entry(Volume::of_gallons(2))),
            grade: Some(row.entry("E10".to_owned())),
            full: Some(row.entry(true)),
        }),
    ];
    let mut row = Row::of("bikes.csv", None, 3);
    let (done, item) = (row.entry(String::new()), row.entry(String::new()));
    let result = row.entry(CheckResult::Passed);
    let bare = vec![
        Record::Job(Job { day: None, done, clock: None, oil: None, by: None, doubt: None }),
        Record::Check(Check { day: None, time: None, item, result, remark: None, by: None }),
        Record::Ride(Ride {
            day: None,
            distance: None,
            top_speed: None,
            speed_source: None,
            clock: None,
            by: None,
        }),
        Record::Fill(Fill { day: None, clock: None, volume: None, grade: None, full: None }),
    ];
    let stock = Identity { stock_no: Some(row.entry(StockNumber::new("9").unwrap())), ..Identity::default() };
    let full = full.into_iter().map(|record| (identity.clone(), record));
    Records {
        records: full.chain(bare.into_iter().map(|record| (stock.clone(), record))).collect(),
        ..Records::default()
    }
}

pub(super) fn finding(rule: &str, machine: &str, state: State, since: &str) -> Finding {
    let mut row = Row::of("bikes.xlsx", Some("Stock"), 8);
    let identity = row.mark("AB12CDE");
    let cell = row.entry(()).origin;
    Finding {
        rule: rule.to_owned(),
        title: "Wrong oil".to_owned(),
        machine: MachineId::kept(machine),
        identity,
        machine_name: "Marlow Spruce 125, AB12 CDE".to_owned(),
        customer: None,
        telephone: None,
        key: "2026-03-01".to_owned(),
        raised: Raised {
            section: Section::KeepInTheYard,
            text: "car oil in a wet clutch".to_owned(),
            due: Some(day("2026-03-12")),
            due_range: Some((day("2026-03-12"), day("2026-03-19"))),
            at_once: true,
        },
        state,
        since: day(since),
        no_longer_told: vec!["oil asked".to_owned()],
        words_of: Some(jiff::civil::date(2026, 2, 20)),
        caution: Some("Ask a qualified technician first.".to_owned()),
        evidence: vec![
            Evidence::of("oil", "10w40", &cell),
            Evidence::reckoned("sum", "a\"b").as_common_practice(),
        ],
    }
}

pub(super) fn words(text: &str) -> LetterWords {
    LetterWords {
        subject: "Two to keep".to_owned(),
        text: text.to_owned(),
        html: format!("<p>{text}"),
        full_list: Some(format!("all of {text}")),
    }
}

pub(super) fn letter(ledger: &Ledger, date: &str, text: &str) -> OutboxLetter {
    let edition =
        ledger.edition(day(date), LetterKind::Morning, &words(text), "tickover@shop.example").unwrap();
    OutboxLetter {
        edition,
        words: words(text),
        eml: text.as_bytes().to_vec(),
        made: moment(&format!("{date}T07:30:00Z")),
        state: LetterState::Waiting,
        accepted: None,
    }
}

pub(super) fn moment(text: &str) -> Timestamp {
    text.parse().unwrap()
}

/// A letter that only goes to the folder, and tells of everything.
pub(super) fn posting(letter: &OutboxLetter) -> Posting<'_> {
    Posting { letter, mails: &[], tells: TellsOf::Everything }
}

pub(super) fn keep_records(ledger: &mut Ledger, date: &str, records: &Records) {
    let (lives, rules) = (Lives::default(), BTreeMap::new());
    ledger.keep(&Round { today: day(date), records, lives: &lives, rules: &rules, letter: None }).unwrap();
}

pub(super) fn keep_letter(ledger: &mut Ledger, letter: &OutboxLetter) -> Result<(), LedgerFailure> {
    let (records, lives, rules) = (Records::default(), Lives::default(), BTreeMap::new());
    let today = letter.edition.day;
    ledger.keep(&Round {
        today,
        records: &records,
        lives: &lives,
        rules: &rules,
        letter: Some(posting(letter)),
    })
}

/// Everything that the ledger holds, table by table.
pub(super) fn everything(ledger: &Ledger) -> String {
    let mut lines = Vec::new();
    let tables = [
        "store",
        "sheet",
        "record",
        "finding",
        "rule",
        "rule_text",
        "letter",
        "in_force",
        "telling",
        "mail",
        "receiver",
        "named",
    ];
    for table in tables {
        let mut statement =
            ledger.connection.prepare(&format!("SELECT * FROM {table} ORDER BY 1, 2")).unwrap();
        let columns = statement.column_count();
        let mut rows = statement.query([]).unwrap();
        while let Some(row) = rows.next().unwrap() {
            let values: Vec<_> =
                (0..columns).map(|column| format!("{:?}", row.get::<_, Value>(column).unwrap())).collect();
            lines.push(format!("{table}: {}", values.join(" | ")));
        }
    }
    lines.join("\n")
}

/// How many records are kept, and from when to when.
fn seen(ledger: &Ledger) -> Vec<(String, String, String)> {
    let mut statement =
        ledger.connection.prepare("SELECT first_seen, last_seen, body FROM record ORDER BY id").unwrap();
    let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?))).unwrap();
    rows.collect::<Result<_, _>>().unwrap()
}

#[test]
fn every_record_comes_back_as_it_was_written_with_all_its_cells() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("kept").join("ledger.sqlite3");
    let mut ledger = Ledger::open(&path).unwrap();
    let mut all = one_of_each();
    keep_records(&mut ledger, "2026-03-05", &all);
    drop(ledger);
    let ledger = Ledger::open(&path).unwrap();
    assert_eq!(ledger.kept_records(&Records::default()).unwrap().records, all.records);
    let gone = all.records.remove(3);
    assert_eq!(ledger.kept_records(&all).unwrap().records, [gone], "only what today's sheets do not say");
}

#[test]
fn what_a_row_says_of_the_machine_itself_is_not_kept() {
    let mut ledger = Ledger::in_memory().unwrap();
    let machine = Record::Machine(Box::<MachineRow>::default());
    let records =
        Records { records: vec![(Row::of("a.csv", None, 2).mark("AB12CDE"), machine)], ..Records::default() };
    keep_records(&mut ledger, "2026-03-05", &records);
    assert_eq!(seen(&ledger), []);
}

#[test]
fn an_export_that_is_read_again_or_shifts_its_rows_adds_nothing() {
    let mut ledger = Ledger::in_memory().unwrap();
    let export = |first_row: u32, file: &str| Records {
        records: (0..3_u32)
            .map(|row| {
                Row::of(file, None, first_row + row).reading("AB12CDE", "2026-03-01", i64::from(row) * 100)
            })
            .collect(),
        ..Records::default()
    };
    keep_records(&mut ledger, "2026-03-05", &export(2, "a.csv"));
    let before = everything(&ledger);
    keep_records(&mut ledger, "2026-03-05", &export(2, "a.csv"));
    assert_eq!(everything(&ledger), before, "a second round of the same day");

    keep_records(&mut ledger, "2026-03-06", &export(12, "a.csv"));
    let kept = ledger.kept_records(&Records::default()).unwrap();
    assert_eq!(kept.records, export(12, "a.csv").records, "the cells where they stood last");
    let days: BTreeSet<_> = seen(&ledger).into_iter().map(|(first, last, _)| (first, last)).collect();
    assert_eq!(days, BTreeSet::from([("2026-03-05".to_owned(), "2026-03-06".to_owned())]));

    let mut both = export(12, "a.csv");
    both.records.extend(export(2, "copy of a.csv").records);
    keep_records(&mut ledger, "2026-03-07", &both);
    assert_eq!(seen(&ledger).len(), 3, "the same rows in two files are the same readings");
    let before = everything(&ledger);
    keep_records(&mut ledger, "2026-03-07", &both);
    assert_eq!(everything(&ledger), before, "a second round of the same day over both files");

    keep_records(&mut ledger, "2026-03-06", &export(12, "a.csv"));
    let last: BTreeSet<_> = seen(&ledger).into_iter().map(|(_, last, _)| last).collect();
    assert_eq!(
        last,
        BTreeSet::from(["2026-03-07".to_owned()]),
        "a round of an earlier day takes nothing back"
    );
}

#[test]
fn two_rows_of_one_sheet_that_say_the_same_are_two_and_stay_two() {
    let mut ledger = Ledger::in_memory().unwrap();
    let twice = Records {
        records: [2, 3].map(|row| Row::of("a.csv", None, row).reading("AB12CDE", "2026-03-01", 100)).to_vec(),
        ..Records::default()
    };
    for date in ["2026-03-05", "2026-03-05", "2026-03-06"] {
        keep_records(&mut ledger, date, &twice);
        assert_eq!(ledger.kept_records(&Records::default()).unwrap().records, twice.records);
        assert_eq!(ledger.kept_records(&twice).unwrap().records, []);
    }
    let once = Records { records: twice.records[..1].to_vec(), ..Records::default() };
    assert_eq!(ledger.kept_records(&once).unwrap().records, twice.records[1..]);
}

#[test]
fn what_an_earlier_version_kept_is_known_again() {
    let mut ledger = Ledger::in_memory().unwrap();
    let all = one_of_each();
    keep_records(
        &mut ledger,
        "2026-03-05",
        &Records { records: vec![all.records[0].clone(), all.records[8].clone()], ..Records::default() },
    );
    let mut statement =
        ledger.connection.prepare("SELECT kind, content, body FROM record ORDER BY id").unwrap();
    let kept: Vec<(String, [u8; 32], String)> = statement
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
        .unwrap()
        .collect::<Result<_, _>>()
        .unwrap();
    // Both texts are layout 1 as it shipped, and must not change: by the first a record is known.
    let of_reading =
        r#"["reading",["AB12CDE","ZZZ12345","S 007"],"2026-03-01",{"tenths":12041,"unit":"miles"}]"#;
    let of_fill = r#"["fill",[null,null,"9"],null,null,null,null,null]"#;
    let reading = r#"{"of":{"mark":["AB12CDE",1,14,1],"frame_no":["ZZZ12345",1,14,2],"stock_no":["S 007",1,14,3]},"says":{"reading":{"day":["2026-03-01",1,14,4],"clock":[{"tenths":12041,"unit":"miles"},1,14,5]}}}"#;
    let fill = r#"{"of":{"mark":null,"frame_no":null,"stock_no":["9",2,3,4]},"says":{"fill":{"day":null,"clock":null,"volume":null,"grade":null,"full":null}}}"#;
    let expected =
        [("reading", of_reading, reading), ("fill", of_fill, fill)].map(|(kind, content, body)| {
            (kind.to_owned(), blake3::hash(content.as_bytes()).into(), body.to_owned())
        });
    assert_eq!(kept, expected);
}

#[test]
fn another_machine_day_figure_or_unit_is_another_reading() {
    let mut ledger = Ledger::in_memory().unwrap();
    let mut records: Vec<_> = [
        ("AB12CDE", "2026-03-01", 100),
        ("AB12CDF", "2026-03-01", 100),
        ("AB12CDE", "2026-03-02", 100),
        ("AB12CDE", "2026-03-01", 101),
    ]
    .map(|(mark, date, miles)| Row::of("a.csv", None, 2).reading(mark, date, miles))
    .to_vec();
    let (identity, mut other_unit) = records[0].clone();
    if let Record::Reading(reading) = &mut other_unit {
        reading.clock.value.unit = Some(DistanceUnit::Kilometres);
    }
    records.push((identity, other_unit));
    keep_records(&mut ledger, "2026-03-05", &Records { records: records.clone(), ..Records::default() });
    assert_eq!(ledger.kept_records(&Records::default()).unwrap().records, records);
}

#[test]
fn findings_come_back_as_the_last_round_that_spoke_of_them_left_them() {
    let mut ledger = Ledger::in_memory().unwrap();
    let (records, rules) = (Records::default(), BTreeMap::new());
    let mut keep = |date: &str, lives: &Lives| {
        let round = Round { today: day(date), records: &records, lives, rules: &rules, letter: None };
        ledger.keep(&round).unwrap();
        ledger.kept_findings(day(date)).unwrap()
    };
    let first = finding("a", "frame F1", State::New, "2026-03-05");
    let second = finding("b", "stock S7", State::Open, "2026-03-01");
    let kept = |finding: &Finding, as_of: &str| KeptFinding {
        finding: finding.clone(),
        as_of: day(as_of),
        told: None,
        told_settled: None,
    };
    let lives = Lives { open: vec![second.clone(), first.clone()], ..Lives::default() };
    assert_eq!(keep("2026-03-05", &lives), [kept(&first, "2026-03-05"), kept(&second, "2026-03-05")]);

    let settled = Finding { state: State::Settled, evidence: vec![], ..first.clone() };
    let lives = Lives { settled: vec![settled.clone()], ..Lives::default() };
    assert_eq!(keep("2026-03-06", &lives), [kept(&settled, "2026-03-06"), kept(&second, "2026-03-05")]);

    let renamed = Finding { machine: MachineId::kept("frame F7"), ..second.clone() };
    let old = FindingId { rule: "b".into(), machine: MachineId::kept("stock S7"), key: "2026-03-01".into() };
    let lives = Lives {
        open: vec![renamed.clone()],
        renamed: vec![Renamed { from: old, to: renamed.machine.clone() }],
        ..Lives::default()
    };
    assert_eq!(
        keep("2026-03-07", &lives),
        [kept(&renamed, "2026-03-07")],
        "and nobody need hear of the other"
    );
}

#[test]
fn the_customer_is_kept_while_a_finding_is_open_and_no_longer() {
    let mut ledger = Ledger::in_memory().unwrap();
    let finding = Finding {
        customer: Some("P Marlow".to_owned()),
        telephone: Some("01632 960123".to_owned()),
        ..finding("a", "frame F1", State::New, "2026-03-05")
    };
    let (records, rules) = (Records::default(), BTreeMap::new());
    let mut keep = |lives: &Lives| {
        let today = day("2026-03-05");
        let round = Round { today, records: &records, lives, rules: &rules, letter: None };
        ledger.keep(&round).unwrap();
        (everything(&ledger), ledger.kept_findings(today).unwrap())
    };
    let (_, kept) = keep(&Lives { open: vec![finding.clone()], ..Lives::default() });
    assert_eq!(kept[0].finding, finding, "who is to be rung is known although the machine is gone");
    let settled = Finding { state: State::Settled, ..finding };
    let (everything, _) = keep(&Lives { settled: vec![settled], ..Lives::default() });
    assert!(!everything.contains("P Marlow") && !everything.contains("960123"), "{everything}");
}

#[test]
fn accepted_rules_are_those_of_the_last_round_and_for_the_rest_of_the_day_those_that_are_gone() {
    let mut ledger = Ledger::in_memory().unwrap();
    let (records, lives) = (Records::default(), Lives::default());
    let kept = |ledger: &Ledger, date: &str| {
        let rules = ledger.accepted_rules(day(date)).unwrap();
        rules.into_iter().map(|(name, source)| format!("{name} {source}")).collect::<Vec<_>>()
    };
    for (date, rules, rest_of_day) in [
        ("2026-03-05", [("a", "one"), ("b", "two")].as_slice(), ["a one", "b two"].as_slice()),
        ("2026-03-06", &[("b", "three"), ("c", "four")], &["a one", "b three", "c four"]),
        ("2026-03-06", &[("b", "three"), ("c", "four")], &["a one", "b three", "c four"]),
        ("2026-03-07", &[("a", "back")], &["a back", "b three", "c four"]),
        ("2026-03-08", &[], &["a back"]),
    ] {
        let rules: BTreeMap<_, _> =
            rules.iter().map(|(name, source)| ((*name).to_owned(), (*source).to_owned())).collect();
        let round = Round { today: day(date), records: &records, lives: &lives, rules: &rules, letter: None };
        ledger.keep(&round).unwrap();
        assert_eq!(kept(&ledger, date), rest_of_day, "{date}");
        let left: Vec<_> = rules.iter().map(|(name, source)| format!("{name} {source}")).collect();
        assert_eq!(kept(&ledger, "2027-01-01"), left, "after {date}");
    }
}

#[test]
fn a_round_that_fails_at_its_last_step_leaves_nothing_behind() {
    let mut ledger = Ledger::in_memory().unwrap();
    let first = letter(&ledger, "2026-03-05", "one");
    let second = letter(&ledger, "2026-03-05", "two");
    keep_letter(&mut ledger, &first).unwrap();
    let before = everything(&ledger);

    let records = one_of_each();
    let lives = Lives { open: vec![finding("a", "frame F1", State::New, "2026-03-05")], ..Lives::default() };
    let rules = BTreeMap::from([("a".to_owned(), "source".to_owned())]);
    let round = Round {
        today: day("2026-03-05"),
        records: &records,
        lives: &lives,
        rules: &rules,
        letter: Some(posting(&second)),
    };
    let failure = ledger.keep(&round).unwrap_err();
    assert_eq!(
        failure.to_string(),
        "another run has written to the ledger :memory: meanwhile; run again",
        "both were asked for edition 1"
    );
    assert_eq!(everything(&ledger), before);

    let second = letter(&ledger, "2026-03-05", "two");
    let round = Round { letter: Some(posting(&second)), ..round };
    ledger.keep(&round).unwrap();
    let once = everything(&ledger);
    ledger.keep(&round).unwrap();
    assert_eq!(everything(&ledger), once, "a second time changes nothing");
}

#[test]
fn a_kept_value_that_is_not_ours_is_damage_and_is_not_quoted() {
    for change in [
        "UPDATE record SET body = '{\"P Marlow\"'",
        "UPDATE record SET body = replace(body, '2026', 'P Marlow')",
        "UPDATE record SET body = replace(body, 'miles', 'P Marlow')",
        "DELETE FROM sheet",
        "UPDATE finding SET body = '[\"P Marlow\"]'",
        "UPDATE finding SET due = 'P Marlow'",
        "UPDATE finding SET section = 'P Marlow'",
        "ALTER TABLE record RENAME COLUMN body TO P_Marlow",
        "DROP TABLE finding",
    ] {
        let mut ledger = Ledger::in_memory().unwrap();
        let lives =
            Lives { open: vec![finding("a", "frame F1", State::New, "2026-03-05")], ..Lives::default() };
        let (records, rules) = (one_of_each(), BTreeMap::new());
        let round =
            Round { today: day("2026-03-05"), records: &records, lives: &lives, rules: &rules, letter: None };
        ledger.keep(&round).unwrap();
        ledger.connection.execute_batch(change).unwrap();
        let read =
            ledger.kept_records(&Records::default()).and_then(|_| ledger.kept_findings(day("2026-03-05")));
        let failure = read.expect_err(change);
        assert!(matches!(failure, LedgerFailure::Damaged { .. }), "{change}: {failure:?}");
        assert!(!failure.to_string().contains("Marlow"), "{change}: {failure}");
    }
}

pub(super) fn machine(mark: &str) -> Machine {
    let identity = Row::of("machines.csv", None, 2).mark(mark);
    Machine {
        id: MachineId::of(&identity).unwrap(),
        identity,
        row: MachineRow::default(),
        clock_unit: DistanceUnit::Miles,
        readings: vec![],
        jobs: vec![],
        checks: vec![],
        rides: vec![],
        fills: vec![],
        withdrawn: crate::yard::TakenOut::default(),
        page: HandbookPage::default(),
    }
}

/// What one rule says of a machine on a numbered morning: each verdict has its turn.
fn judgement(machine: &Machine, key: usize, morning: usize) -> Judgement {
    let cell = Row::of("jobs.csv", None, 4).entry(()).origin;
    let verdict = match (morning / (key + 1) + key) % 4 {
        0 | 1 => Verdict::Raised(finding("a", "", State::New, "2026-03-05").raised),
        2 => Verdict::Clear,
        _ => Verdict::CannotTell { missing: vec!["oil asked".to_owned()] },
    };
    Judgement {
        rule: "wrong-oil".into(),
        machine: machine.id.clone(),
        key: key.to_string(),
        verdict,
        evidence: vec![Evidence::of("oil", format!("on morning {morning}"), &cell)],
    }
}

#[test]
fn over_many_mornings_a_second_round_of_a_day_gives_the_same_and_changes_nothing() {
    let mut ledger = Ledger::in_memory().unwrap();
    let words = RuleWords { title: "Wrong oil".to_owned(), caution: None };
    let rules = BTreeMap::from([("wrong-oil".to_owned(), words)]);
    let sources = BTreeMap::from([("wrong-oil".to_owned(), "source".to_owned())]);
    let both = [machine("AB12CDE"), machine("CD34EFG")];
    let mut states = BTreeSet::new();
    for morning in 0..60 {
        let today = crate::units::Days(morning as i64).after(day("2026-03-01")).unwrap();
        // The second machine is in the sheets on two mornings of three.
        let machines = &both[..if morning % 3 == 0 { 1 } else { 2 }];
        let asked = Asked::of(&rules, machines);
        let judgements: Vec<_> = machines
            .iter()
            .flat_map(|machine| (0..6).map(move |key| judgement(machine, key, morning)))
            .collect();
        let mut round = |ledger: &mut Ledger| {
            let lives = lives(judgements.clone(), &asked, &ledger.kept_findings(today).unwrap(), today);
            let told = format!("{:?} {:?}", lives.open, lives.settled);
            let letter = letter(ledger, &today.to_string(), &told);
            let records = one_of_each();
            ledger
                .keep(&Round {
                    today,
                    records: &records,
                    lives: &lives,
                    rules: &sources,
                    letter: Some(posting(&letter)),
                })
                .unwrap();
            states.extend(lives.open.iter().chain(&lives.settled).map(|finding| finding.state));
            (lives, letter.edition)
        };
        let first = round(&mut ledger);
        ledger.mark_delivered(&first.1, moment(&format!("{today}T08:00:00Z"))).unwrap();
        let kept = everything(&ledger);
        assert_eq!(round(&mut ledger), first, "{today}");
        assert_eq!(everything(&ledger), kept, "{today}");
        assert_eq!(first.1.number, 1);
    }
    assert_eq!(states, BTreeSet::from([State::New, State::Open, State::Settled]), "each state came about");
}
