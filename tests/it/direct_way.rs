//! The two ways of running a rule, on every machine of the invented shop and of the foreign yards, and on thousands made
//! from them with facts taken away and days moved: both must say the very same, and so must those five of the shipped rules
//! that the benchmark has in native Rust.

use std::collections::BTreeMap;
use std::fs;
use std::sync::Arc;

use jiff::civil::Date;
use tickover::findings::Judgement;
use tickover::reckon::{self, SheetOfYard};
use tickover::rules::{RuleBook, RuleFile, SHIPPED};
use tickover::settings::Practice;
use tickover::units::Days;
use tickover::yard::Machine;

use crate::program::repository;
use crate::{machines, native};

const YARDS: [(&str, &str); 3] = [
    ("examples/shop/sheets", "2026-03-02"),
    ("tests/yards/all-logs-csv/sheets", "2025-11-17"),
    ("tests/yards/one-wide-workbook/sheets", "2026-02-16"),
];

/// A repeatable sequence of figures (the 64-bit LCG of Knuth's MMIX).
struct Figures(u64);

impl Figures {
    fn below(&mut self, bound: u32) -> u32 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % u64::from(bound)) as u32
    }

    /// Takes a fact away, one time in four.
    fn forget<T>(&mut self, fact: &mut Option<T>) {
        if self.below(4) == 0 {
            *fact = None;
        }
    }

    /// Takes some records away, or all of them.
    fn thin<T>(&mut self, records: &mut Vec<T>) {
        match self.below(4) {
            0 => records.clear(),
            1 => records.retain(|_| self.below(2) == 0),
            _ => {}
        }
    }
}

/// The shipped rules, and every rule file of the fuzz corpus that can be in force, each twice.
fn books() -> (RuleBook, RuleBook) {
    let mut files: Vec<RuleFile> = SHIPPED
        .iter()
        .map(|(file, text)| RuleFile {
            name: file.trim_end_matches(".rhai").to_owned(),
            text: Ok((*text).to_owned()),
        })
        .collect();
    for entry in fs::read_dir(repository().join("tests/fuzz/corpus/rule")).unwrap() {
        let path = entry.unwrap().path();
        if let Ok(text) = fs::read_to_string(&path) {
            let name = format!("corpus-{}", path.file_name().unwrap().to_string_lossy());
            files.push(RuleFile { name, text: Ok(text) });
        }
    }
    let book = || RuleBook::from_files(&files, "rules", &BTreeMap::new()).0;
    assert!(book().rules().count() > SHIPPED.len(), "the corpus has rules that work");
    (book(), book().in_language_only())
}

/// A machine with facts taken away, as a sheet with gaps would tell of it.
fn with_gaps(machine: &Machine, figures: &mut Figures) -> Machine {
    let mut machine = Machine::clone(machine);
    let row = &mut machine.row;
    for day in [
        &mut row.registered,
        &mut row.built,
        &mut row.arrived,
        &mut row.sold,
        &mut row.handover,
        &mut row.mot_expiry,
        &mut row.warranty_end,
    ] {
        figures.forget(day);
        if let Some(entry) = day
            && figures.below(3) == 0
        {
            let days = Days(i64::from(figures.below(800)) - 400);
            entry.value = days.after(entry.value).unwrap();
        }
    }
    for text in [&mut row.make, &mut row.model, &mut row.customer, &mut row.telephone, &mut row.note] {
        figures.forget(text);
    }
    figures.forget(&mut row.oil_asked);
    figures.forget(&mut row.kind);
    figures.forget(&mut row.engine_cc);
    figures.forget(&mut row.fuel_allowed);
    figures.forget(&mut machine.identity.mark);
    figures.forget(&mut machine.identity.frame_no);
    figures.thin(&mut machine.readings);
    figures.thin(&mut machine.jobs);
    figures.thin(&mut machine.checks);
    figures.thin(&mut machine.rides);
    figures.thin(&mut machine.fills);
    machine
}

#[test]
fn both_ways_of_running_a_rule_say_the_same_of_every_machine_and_of_thousands_with_gaps() {
    /// How often each machine is made anew with gaps.
    const ANEW: usize = 50;
    let (book, in_language) = books();
    let practice = Practice::default();
    let mut figures = Figures(20_260_302);
    let (mut machines, mut answers) = (0, 0);
    let mut judge = |machine: Arc<Machine>, day: Date| {
        let standing = Arc::new(reckon::stand(&machine, &practice, day));
        let judged = book.judge(&machine, &standing);
        assert_eq!(judged, in_language.judge(&machine, &standing), "{} on {day}", machine.name());
        let mut natively = Vec::new();
        native::judge(&machine, &standing, &mut natively);
        let is_native = |judgement: &&Judgement| native::NATIVE.contains(&&*judgement.rule);
        let of_these: Vec<Judgement> = judged.judgements.iter().filter(is_native).cloned().collect();
        assert_eq!(natively, of_these, "{} on {day}", machine.name());
        machines += 1;
        answers += judged.judgements.len();
    };
    for (folder, today) in YARDS {
        let today: Date = today.parse().unwrap();
        let yard = machines::of(&repository().join(folder), today);
        assert!(yard.len() >= 5, "{folder} has machines");
        for machine in &yard {
            judge(Arc::clone(machine), today);
            for _ in 0..ANEW {
                let day = Days(i64::from(figures.below(600)) - 300).after(today).unwrap();
                judge(Arc::new(with_gaps(machine, &mut figures)), day);
            }
        }
        let sheet = |name: &str, renewed| SheetOfYard { name: name.to_owned(), renewed, open_days: 3 };
        let sheets = vec![sheet("a.csv", today), sheet("b.csv", Days(20).before(today).unwrap())];
        let whole = reckon::stand_yard(yard.iter().map(Arc::as_ref), Vec::new(), sheets, today);
        let whole = Arc::new(whole);
        assert_eq!(book.judge_yard(&whole), in_language.judge_yard(&whole), "{folder}");
    }
    assert!(machines > 3_000 && answers > 20_000, "{answers} answers of {machines} machines");
}
