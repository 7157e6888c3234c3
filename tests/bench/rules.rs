//! The shipped rules on a yard, three ways: in the language alone, in the direct way, and five of them in native Rust.
//!
//! The yard is the invented shop on two hundred days, and so with as many stages of its services, rides, fills and jobs.
//! All three ways give verdict, words, key and evidence; that they agree is checked before anything is measured. Figures
//! are of the processor's time on one core, the median of seven runs, in nanoseconds for one rule and machine; rules of
//! the whole yard are not counted, as they are not asked of a machine. As in a round of that shop, its machines
//! are judged just after they are reckoned, which is not counted. The direct way is also measured on all days' standings
//! as they lie ready, most of them far from the processor. At the end: what it costs to judge all anew,
//! beside writing down and reading back what was judged.
//!
//! `cargo bench --bench rules -- direct 20` runs the direct way alone on twenty days, for a profiler.
#![expect(clippy::print_stdout, reason = "a benchmark prints what it measured")]

mod machines;
mod native;

use std::collections::BTreeMap;
use std::hint::black_box;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use jiff::civil::{Date, date};
use tickover::findings::{Judgement, Verdict};
use tickover::reckon::{self, Standing};
use tickover::rules::{Allowance, RuleBook, RuleFile, SHIPPED};
use tickover::settings::{Practice, Settings};
use tickover::units::Days;
use tickover::yard::Machine;

const TODAY: Date = date(2026, 3, 2);
const DAYS: i64 = 200;
const RUNS: usize = 7;

type Reckoned = (Arc<Machine>, Arc<Standing>);

/// The invented shop over some of its days.
struct Yard {
    machines: Vec<Arc<Machine>>,
    practice: Practice,
    days: i64,
}

impl Yard {
    fn over(days: i64) -> Yard {
        let sheets = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/shop/sheets");
        Yard { machines: machines::of(&sheets, TODAY), practice: Settings::default().practice, days }
    }

    /// How many machines there are on all days together.
    fn count(&self) -> usize {
        self.machines.len() * usize::try_from(self.days).expect("some days")
    }

    /// The machines with their standing on each second day, which is reckoned when the day comes.
    fn days(&self) -> impl Iterator<Item = Vec<Reckoned>> {
        let day = |number: i64| Days(2 * number - self.days).after(TODAY).expect("within the calendar");
        let stand = |machine: &Arc<Machine>, day| {
            (Arc::clone(machine), Arc::new(reckon::stand(machine, &self.practice, day)))
        };
        (0..self.days)
            .map(move |number| self.machines.iter().map(|machine| stand(machine, day(number))).collect())
    }
}

/// The shipped rules of these names.
fn book(is_wanted: impl Fn(&str) -> bool) -> RuleBook {
    let name = |file: &str| file.trim_end_matches(".rhai").to_owned();
    let files: Vec<RuleFile> = SHIPPED
        .iter()
        .map(|(file, text)| RuleFile { name: name(file), text: Ok((*text).to_owned()) })
        .filter(|file| is_wanted(&file.name))
        .collect();
    let (book, problems) = RuleBook::from_files(&files, "rules", &BTreeMap::new());
    assert_eq!(problems, []);
    book
}

/// The processor's time that this thread has had.
fn spent() -> Duration {
    let time = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    Duration::try_from(time).expect("it only grows")
}

/// The processor's time that something takes.
fn time(run: impl FnOnce()) -> Duration {
    let start = spent();
    run();
    spent() - start
}

fn median(mut run: impl FnMut() -> Duration) -> Duration {
    let mut times: Vec<Duration> = (0..RUNS).map(|_| run()).collect();
    times.sort();
    times[RUNS / 2]
}

/// What judging takes, day by day, where the machines have just been reckoned for that day.
fn just_reckoned(yard: &Yard, judge: impl Fn(&Arc<Machine>, &Arc<Standing>)) -> Duration {
    median(|| {
        let of_day =
            |day: &[Reckoned]| time(|| day.iter().for_each(|(machine, standing)| judge(machine, standing)));
        yard.days().map(|day| of_day(&day)).sum()
    })
}

/// The same by the rules of a book.
fn by_book(book: &RuleBook, yard: &Yard) -> Duration {
    let allowance = Allowance::of(book);
    just_reckoned(yard, |machine, standing| _ = black_box(book.judge_within(&allowance, machine, standing)))
}

/// What judging by the rules of a book takes where all standings lie ready.
fn lying_ready(book: &RuleBook, machines: &[Reckoned]) -> Duration {
    let allowance = Allowance::of(book);
    let judge =
        |(machine, standing): &Reckoned| _ = black_box(book.judge_within(&allowance, machine, standing));
    median(|| time(|| machines.iter().for_each(judge)))
}

fn line(way: &str, time: Duration, asked: usize, beside: Duration) {
    let each = time.as_secs_f64() * 1e9 / asked as f64;
    println!("  {way:<52} {each:>7.0} ns {:>8.2}", time.as_secs_f64() / beside.as_secs_f64());
}

fn main() {
    let given = |word: &str| std::env::args().any(|argument| argument == word);
    let yard = Yard::over(std::env::args().find_map(|argument| argument.parse().ok()).unwrap_or(DAYS));
    let all = book(|_| true);
    if given("direct") {
        let of_machine = all.rules().filter(|rule| !all.is_of_yard(&rule.name)).count();
        let direct = by_book(&all, &yard);
        return line("in the direct way", direct, yard.count() * of_machine, direct);
    }
    let all_in_language = book(|_| true).in_language_only();
    let of_machine = all.rules().filter(|rule| !all.is_of_yard(&rule.name)).count();
    let (mut answers, mut not_applying) = (0, 0);
    for (machine, standing) in yard.days().flatten() {
        let (judged, expected) = (all.judge(&machine, &standing), all_in_language.judge(&machine, &standing));
        assert_eq!(judged, expected);
        answers += judged.judgements.len();
        not_applying += judged.not_applying.len();
    }
    let asked = yard.count() * of_machine;
    let applies = 100 * (asked - not_applying) / asked;
    println!(
        "{} machines, {of_machine} of {} rules, which look at one machine; {applies} % of them apply, with {:.1} answers a \
         machine",
        yard.count(),
        all.rules().count(),
        answers as f64 / yard.count() as f64
    );
    println!("all of them, verdict and evidence:                      a rule and machine    ratio");
    let in_language = by_book(&all_in_language, &yard);
    line("in the language alone", in_language, asked, in_language);
    line("in the direct way", by_book(&all, &yard), asked, in_language);
    let ready: Vec<_> = yard.days().flatten().collect();
    line("in the direct way, all reckoned beforehand", lying_ready(&all, &ready), asked, in_language);

    let is_native = |name: &str| native::NATIVE.contains(&name);
    let (five, five_in_language) = (book(is_native), book(is_native).in_language_only());
    let natively = |machine: &Machine, standing: &Standing| {
        let mut judgements: Vec<Judgement> = Vec::new();
        native::judge(machine, standing, &mut judgements);
        judgements
    };
    for (machine, standing) in yard.days().flatten() {
        assert_eq!(natively(&machine, &standing), five.judge(&machine, &standing).judgements);
    }
    let asked = yard.count() * native::NATIVE.len();
    println!("{}, verdict and evidence:", native::NATIVE.join(", "));
    let in_rust = just_reckoned(&yard, |machine, standing| _ = black_box(natively(machine, standing)));
    line("in native Rust", in_rust, asked, in_rust);
    line("in the direct way", by_book(&five, &yard), asked, in_rust);
    line("in the language alone", by_book(&five_in_language, &yard), asked, in_rust);

    println!("to judge anew, or to keep what was judged (one core):");
    for machines in [300, yard.count()] {
        let anew = lying_ready(&all, &ready[..machines]);
        let judged =
            ready[..machines].iter().flat_map(|(machine, standing)| all.judge(machine, standing).judgements);
        let judged: Vec<Judgement> = judged.collect();
        let kept = median(|| time(|| assert_eq!(black_box(written_and_read(&judged)), judged.len())));
        println!(
            "  {machines:>6} machines: judged anew {:>7.1} ms; written down and read back {:>7.1} ms",
            anew.as_secs_f64() * 1e3,
            kept.as_secs_f64() * 1e3
        );
    }
}

/// What must be kept of a judgement to know it at the next round: the rule, machine and key, the answer, and what shows
/// it with the sheet and cell that it stands in.
type Kept = (String, String, String, String, Vec<(String, String, Option<(String, u32, u32)>, bool)>);

/// Writes judgements down and reads them back, in memory: less than any store would cost.
fn written_and_read(judged: &[Judgement]) -> usize {
    let kept = judged.iter().map(|judgement| -> Kept {
        let evidence = judgement.evidence.iter().map(|shown| {
            let cell = shown.origin.as_ref();
            let cell = cell.map(|cell| (cell.name.file.clone(), cell.row, cell.column));
            (shown.what.clone(), shown.value.clone(), cell, shown.common_practice)
        });
        let answer = match &judgement.verdict {
            Verdict::Clear => "clear".to_owned(),
            Verdict::TooLongAgo => "too long ago".to_owned(),
            Verdict::CannotTell { missing } => missing.join(", "),
            Verdict::Raised(raised) => raised.text.clone(),
        };
        let machine = judgement.machine.as_str().to_owned();
        (judgement.rule.to_string(), machine, judgement.key.clone(), answer, evidence.collect())
    });
    let written = serde_json::to_vec(&kept.collect::<Vec<_>>()).expect("it can be written");
    serde_json::from_slice::<Vec<Kept>>(&written).expect("it was just written").len()
}
