//! Whether it would pay to keep in memory what was judged at the last round, and to judge only what differs from it.
//!
//! A yard is read twice, as two rounds read it, so that its machines share nothing. The last round's machines and what was
//! said of them are kept; at the next one each machine is held against its like by all that it has, and reckoned and
//! judged where the two differ. That this says the same as judging all anew is checked before it is measured. Beside it:
//! what a whole round of that yard takes, made in a process of its own, and reading, vetting and trying the rule files.
//! Figures are of the processor's time of all threads, the median of seven runs.
#![expect(clippy::print_stdout, reason = "a benchmark prints what it measured")]

mod large_yard;

use std::collections::BTreeMap;
use std::fs;
use std::hint::black_box;
use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::time::Duration;

use jiff::civil::{Date, date};
use large_yard::{rows, write_text};
use tickover::findings::Judgement;
use tickover::reckon;
use tickover::round::{self, Run, YardFolder};
use tickover::rules::{Allowance, Judged, RuleBook};
use tickover::settings::Settings;
use tickover::sheets::{self, Reader};
use tickover::yard::{self, Machine, MachineId, Records};

/// As many as a small dealer has in its care, and as many as nobody has.
const YARDS: [u32; 2] = [300, 10_000];
const RUNS: usize = 7;
/// How many whole rounds are made, each of which takes seconds.
const ROUNDS: usize = 3;
const TODAY: Date = date(2026, 3, 2);
/// The words that have this program make one round, or keep one, and say what that took.
const ROUND: &str = "one-round";
const KEEP: &str = "keep-one";

/// What is kept of the last round: each machine as it was, and what was said of it.
type LastRound = BTreeMap<MachineId, (Arc<Machine>, Judged)>;

/// The processor's time that this process has had, all threads together.
fn spent() -> Duration {
    let time = rustix::time::clock_gettime(rustix::time::ClockId::ProcessCPUTime);
    Duration::try_from(time).expect("it only grows")
}

/// The median of several runs, in milliseconds.
fn median<T>(mut run: impl FnMut() -> T) -> f64 {
    let once = |_| {
        let start = spent();
        black_box(run());
        spent() - start
    };
    let mut times: Vec<Duration> = (0..RUNS).map(once).collect();
    times.sort();
    times[RUNS / 2].as_secs_f64() * 1e3
}

/// What Linux says of this process's memory, in megabytes: `VmHWM` for the most that it has had, `VmRSS` for now.
fn memory(what: &str) -> f64 {
    let status = fs::read_to_string("/proc/self/status").expect("Linux says");
    let line = status.lines().find_map(|line| line.strip_prefix(what)).expect("Linux says");
    let kilobytes = line.trim_start_matches(':').trim().strip_suffix(" kB").expect("in kilobytes");
    kilobytes.parse::<f64>().expect("a figure") / 1024.0
}

/// A yard folder with so many machines.
fn yard_folder(folder: &Path, count: u32) -> YardFolder {
    let folder = YardFolder::at(folder);
    folder.lay_out().expect("a temporary folder can be laid out");
    let (machines, readings) = rows(count);
    write_text(&folder.sheets().join("machines.csv"), &machines);
    write_text(&folder.sheets().join("mileages.csv"), &readings);
    folder
}

/// The machines of a yard folder, read for one round.
fn machines_of(folder: &YardFolder) -> Vec<Arc<Machine>> {
    let settings = Settings::default();
    let mut records = Records::default();
    for sheet in ["machines.csv", "mileages.csv"] {
        let read = sheets::read(&folder.sheets().join(sheet), sheet, &settings.limits, &Reader::Here);
        for table in &read.tables {
            let read_as = yard::recognise(table, None, settings.date_order);
            records.records.extend(yard::records(table, &read_as, TODAY).0.records);
        }
    }
    let machines = yard::join(records, Records::default(), &round::shipped_handbook(), settings.clock_unit).0;
    machines.into_iter().map(Arc::new).collect()
}

/// How machines are judged.
struct Judging {
    rules: RuleBook,
    settings: Settings,
}

impl Judging {
    fn by(folder: &YardFolder) -> Judging {
        Judging { rules: RuleBook::load(&folder.rules(), "rules").0, settings: Settings::default() }
    }

    fn one(&self, allowance: &Allowance, machine: &Arc<Machine>) -> Judged {
        let standing = Arc::new(reckon::stand(machine, &self.settings.practice, TODAY));
        self.rules.judge_within(allowance, machine, &standing)
    }

    fn anew(&self, machines: &[Arc<Machine>]) -> Vec<Judgement> {
        let allowance = Allowance::of(&self.rules);
        machines.iter().flat_map(|machine| self.one(&allowance, machine).judgements).collect()
    }

    /// Keeps a round. The day, the settings and the rules, which are the same here, would be kept once beside it.
    fn kept(&self, machines: &[Arc<Machine>]) -> LastRound {
        let allowance = Allowance::of(&self.rules);
        let keep = |machine: &Arc<Machine>| {
            (machine.id.clone(), (Arc::clone(machine), self.one(&allowance, machine)))
        };
        machines.iter().map(keep).collect()
    }

    /// What is said of the machines, where only those are judged that differ from the last round's; and how many these are.
    fn what_differs(&self, last: &LastRound, machines: &[Arc<Machine>]) -> (Vec<Judgement>, usize) {
        let allowance = Allowance::of(&self.rules);
        let (mut judgements, mut judged) = (Vec::new(), 0);
        for machine in machines {
            match last.get(&machine.id).filter(|(known, _)| known == machine) {
                Some((_, said)) => judgements.extend(said.judgements.iter().cloned()),
                None => {
                    judged += 1;
                    judgements.extend(self.one(&allowance, machine).judgements);
                }
            }
        }
        (judgements, judged)
    }
}

/// The same machines, of which one has lost its last reading.
fn one_changed(machines: &[Arc<Machine>]) -> Vec<Arc<Machine>> {
    let mut machines = machines.to_vec();
    let middle = machines.len() / 2;
    Arc::make_mut(&mut machines[middle]).readings.pop().expect("it has readings");
    machines
}

/// Makes a round as the long run has it made.
fn make_round(folder: &YardFolder) {
    let run = Run {
        folder: folder.clone(),
        now: tickover::today::now(),
        today: Some(TODAY),
        keeps: true,
        tells: round::Tells::MorningAgain,
        trouble: Vec::new(),
        reader: Reader::Here,
        patience: round::PATIENCE,
    };
    black_box(round::morning(&run).expect("the yard folder is in order"));
}

/// What this program says in a process of its own about a folder, one figure a word.
fn in_own_process(word: &str, folder: &YardFolder) -> Vec<f64> {
    let program = std::env::current_exe().expect("this program has a place");
    let said = Command::new(program).arg(word).arg(folder.root()).output().expect("it can be started");
    assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    let said = String::from_utf8(said.stdout).expect("figures");
    said.split_whitespace().map(|figure| figure.parse().expect("a figure")).collect()
}

/// Does what [`in_own_process`] asks for.
fn answer(word: &str, folder: &YardFolder) {
    if word == ROUND {
        let start = spent();
        make_round(folder);
        println!("{} {} {}", (spent() - start).as_secs_f64() * 1e3, memory("VmHWM"), memory("VmRSS"));
        return;
    }
    // What the first lets go of is what the second is read with.
    let first = machines_of(folder);
    let (judging, before) = (Judging::by(folder), memory("VmRSS"));
    let machines = machines_of(folder);
    let read = memory("VmRSS");
    let kept = judging.kept(&machines);
    println!("{} {}", read - before, memory("VmRSS") - read);
    black_box((first, kept));
}

fn yard_of(count: u32) {
    let temporary = tempfile::tempdir().expect("a temporary folder can be made");
    let folder = yard_folder(temporary.path(), count);
    let judging = Judging::by(&folder);
    let (last, now) = (machines_of(&folder), machines_of(&folder));
    let (kept, changed) = (judging.kept(&last), one_changed(&now));
    assert_eq!(judging.what_differs(&kept, &now), (judging.anew(&now), 0));
    assert_eq!(judging.what_differs(&kept, &changed), (judging.anew(&changed), 1));

    println!("{} machines:", now.len());
    let anew = median(|| judging.anew(&now));
    println!("  reckoned and judged anew                    {anew:>9.2} ms");
    for (what, machines) in [("where nothing differs", &now), ("where one machine does", &changed)] {
        let time = median(|| judging.what_differs(&kept, machines));
        println!("  {what:<43} {time:>9.2} ms, {:.1} times less", anew / time);
    }
    let load = median(|| RuleBook::load(&folder.rules(), "rules"));
    println!("  the rule files read, vetted and tried       {load:>9.2} ms");
    make_round(&folder);
    for _ in 0..ROUNDS {
        let [time, most, after] = in_own_process(ROUND, &folder)[..] else { panic!("three figures") };
        println!(
            "  the whole round, made again                 {time:>9.2} ms, {most:.0} MB at most, {after:.0} MB when it is over"
        );
    }
    let [machines, said] = in_own_process(KEEP, &folder)[..] else { panic!("two figures") };
    println!("  kept: machines {machines:.1} MB, what was said of them {said:.1} MB");
}

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    if let [_, word, folder] = arguments.as_slice()
        && [ROUND, KEEP].contains(&word.as_str())
    {
        return answer(word, &YardFolder::at(folder));
    }
    YARDS.into_iter().for_each(yard_of);
}
