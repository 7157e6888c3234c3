//! A rule tried before it counts: what it would do on the invented shop's sheets, worked out by hand from its story.
//!
//! `examples/shop/story.csv` says which machines stand on a boundary, and why; the days ahead are those of the shipped
//! rules.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;
use std::time::Duration;

use snapbox::{assert_data_eq, str};
use tempfile::TempDir;
use tickover::round::{self, NotTried, Over, Run, Tells, YardFolder};
use tickover::sheets::Reader;
use tickover::units::Days;

use crate::program::{Yard, printed, repository, said, tickover};

/// The invented shop, and beside it a folder for rule files that are to be tried.
struct Shop {
    folder: TempDir,
}

impl Shop {
    /// The shop after its morning of 2 March 2026.
    fn new() -> Shop {
        let shop = Shop { folder: tempfile::tempdir().unwrap() };
        let output = tickover(["demo".as_ref(), shop.yard().as_os_str()]);
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
        fs::create_dir(shop.folder.path().join("mine")).unwrap();
        shop
    }

    fn yard(&self) -> PathBuf {
        self.folder.path().join("shop")
    }

    /// A shipped rule with some words replaced, saved outside the yard folder.
    fn edited(&self, rule: &str, replaced: &[(&str, &str)]) -> PathBuf {
        self.saved(rule, &edited(rule, replaced))
    }

    fn saved(&self, rule: &str, text: &str) -> PathBuf {
        let path = self.folder.path().join(format!("mine/{rule}.rhai"));
        fs::write(&path, text).unwrap();
        path
    }

    fn tries(&self, file: &Path, more: &[&str]) -> Output {
        tries(&self.yard(), file, more)
    }

    /// Saves a rule in the yard's own folder of rules.
    fn put(&self, rule: &str, text: &str) {
        fs::write(self.yard().join(format!("rules/{rule}.rhai")), text).unwrap();
    }

    fn morning(&self, day: &str) -> Output {
        tickover([
            "morning".as_ref(),
            "--today".as_ref(),
            day.as_ref(),
            "--yard".as_ref(),
            self.yard().as_os_str(),
        ])
    }

    /// Makes a round as the long run does.
    fn round(&self, tells: &str, day: &str) {
        let place = self.yard();
        let arguments = ["do-round", "--tells", tells, "--today", day, "--yard"];
        let output = tickover(arguments.iter().map(AsRef::as_ref).chain([place.as_os_str()]));
        assert_ne!(output.status.code(), Some(2), "{}", said(&output));
    }

    fn letter(&self, day: &str) -> String {
        fs::read_to_string(self.yard().join(format!("digests/{day}.txt"))).unwrap()
    }
}

fn edited(rule: &str, replaced: &[(&str, &str)]) -> String {
    let mut text = fs::read_to_string(repository().join(format!("rules/{rule}.rhai"))).unwrap();
    for (from, to) in replaced {
        assert!(text.contains(from), "{rule} has no {from}");
        text = text.replace(from, to);
    }
    text
}

fn tries(yard: &Path, file: &Path, more: &[&str]) -> Output {
    let arguments = ["rules".as_ref(), "try".as_ref(), file.as_os_str(), "--yard".as_ref(), yard.as_os_str()];
    let today = ["--today", "2026-03-02"].as_slice();
    let more = if more.contains(&"--today") { [more, &[]] } else { [more, today] };
    tickover(arguments.into_iter().chain(more.concat().into_iter().map(AsRef::as_ref)))
}

/// What a trial printed, once it ended as expected.
#[track_caller]
fn told(output: &Output, code: i32) -> String {
    assert_eq!(output.status.code(), Some(code), "{}\n{}", printed(output), said(output));
    printed(output)
}

/// The part of a letter about edited rules, on one line.
fn edits_in(letter: &str) -> String {
    let Some((_, rest)) = letter.split_once("Rules changed since the last letter") else {
        return String::new();
    };
    let (part, _) = rest.split_once("What was read").unwrap();
    part.split_whitespace().filter(|word| !word.starts_with("--")).collect::<Vec<_>>().join(" ")
}

#[test]
fn a_limit_that_is_widened_changes_just_the_machine_between_the_old_and_the_new_one() {
    let shop = Shop::new();
    // JU75 NRP is due on 17 March, 15 days ahead: more than 14, less than 20. JT75 BDK, JU75 CWN, TU75 FHR, JT75 MEX,
    // TU75 PZA, UJ75 RBW and JU75 SCX are rung either way. No other is due within 20 days.
    let file = shop.edited("first-service-due", &[("RING_AHEAD = 14.days", "RING_AHEAD = 20.days")]);
    let output = shop.tries(&file, &[]);
    assert_eq!(said(&output), "");
    assert_data_eq!(
        told(&output, 0),
        str![[r#"
first-service-due: "First service"
Tried on 51 machines as of Mon 2 Mar 2026, beside the rule of that name in force.

Would change: 1
* Wrenfold Thimble 50, JU75 NRP: Book in, by Tue 17 Mar 2026: The first service [..]
  becomes Ring today, by Tue 17 Mar 2026, in the same words

Stays as it is: 7.
Cannot tell of [..], before and after.
* [..]
Examples: [..], the same as before.

Nothing of this is in force, and nobody was told. To take it into force, save it as rules/first-service-due.rhai in the yard folder.

"#]]
    );
}

#[test]
fn a_limit_that_is_narrowed_clears_and_its_example_is_named() {
    let shop = Shop::new();
    // Fifteen days ahead is beyond both limits now, so nothing is said of JU75 NRP.
    let three_weeks = "handover: \"2026-02-02\", clock: 60.miles }).expect(\"book in\")";
    let file = shop.edited(
        "first-service-due",
        &[
            ("BOOK_AHEAD = 28.days", "BOOK_AHEAD = 14.days"),
            (three_weeks, &three_weeks.replace("book in", "clear")),
            ("\"past 500 miles\"", "\"past five hundred\""),
            ("clock: 3.miles", "clock: 4.miles"),
        ],
    );
    let told = told(&shop.tries(&file, &[]), 0);
    assert!(
        told.contains("Would clear: 1\n* Wrenfold Thimble 50, JU75 NRP: Book in, by Tue 17 Mar 2026: "),
        "{told}"
    );
    assert!(!told.contains("Would add") && !told.contains("Would change"), "{told}");
    assert!(told.contains("\nStays as it is: 7.\n"), "{told}");
    let (_, examples) = told.split_once("of which differ:\n").unwrap();
    assert_data_eq!(
        examples.split("\n\n").next().unwrap(),
        str![[r#"
* new: "past five hundred" expects "ring"
* "three weeks to go by the date" expected "book in", and now "clear"
* "handed over three days ago" has other facts
* taken out: "past 500 miles" expected "ring"
"#]]
    );
}

#[test]
fn a_change_that_an_example_does_not_expect_is_shown_all_the_same_with_what_to_write() {
    let shop = Shop::new();
    let file = shop.edited("first-service-due", &[("BOOK_AHEAD = 28.days", "BOOK_AHEAD = 14.days")]);
    let output = shop.tries(&file, &[]);
    let told = told(&output, 1);
    assert!(
        told.contains("Would clear: 1\n* Wrenfold Thimble 50, JU75 NRP: Book in, by Tue 17 Mar 2026: "),
        "{told}"
    );
    assert!(told.contains("\nStays as it is: 7.\n"), "{told}");
    assert!(told.contains("\nNothing of this is in force, nor can it be: "), "{told}");
    // What to write stands in the same report, below what it would do.
    assert!(!said(&output).contains("expects"), "{}", said(&output));
    assert!(
        told.contains("\nExamples: 12, the same as before; it does not say what all of them expect.\n"),
        "{told}"
    );
    let (_, below) = told.split_once("What to write is said below.\n").unwrap();
    let example =
        "the example \"three weeks to go by the date\" expects \"book in\", but the rule says \"clear\"\n";
    assert!(
        below.contains(example) && below.contains("write `.expect(\"clear\")` behind the example"),
        "{below}"
    );

    // Once that is written, it is as good as any.
    let three_weeks = "handover: \"2026-02-02\", clock: 60.miles }).expect(\"book in\")";
    let text = fs::read_to_string(&file).unwrap();
    fs::write(&file, text.replace(three_weeks, &three_weeks.replace("book in", "clear"))).unwrap();
    assert_eq!(shop.tries(&file, &[]).status.code(), Some(0));
}

#[test]
fn a_wording_and_a_section_change_just_the_machines_that_they_are_about() {
    let shop = Shop::new();
    // Of the four that the MOT rule raises one has run out: UT19 UGD.
    let file = shop.edited(
        "mot-due",
        &[("find a day.`).by(machine.today)", "ring and find a day.`).by(machine.today)")],
    );
    let words = told(&shop.tries(&file, &[]), 0);
    assert!(words.contains("Would change: 1\n* Tarrowby Mere 250, UT19 UGD: Ring today"), "{words}");
    assert!(
        words.contains("  becomes Ring today, by Mon 2 Mar 2026: The MOT ran out on 10 Feb 2026."),
        "{words}"
    );
    assert!(words.contains("\nStays as it is: 3.\n"), "{words}");

    // JT21 VAR (18 days) and UT20 ZDV (30 days) are to be booked in; now they are rung.
    let file = shop.edited(
        "mot-due",
        &[("{ book_in(text)", "{ ring(text)"), (").expect(\"book in\")", ").expect(\"ring\")")],
    );
    let section = told(&shop.tries(&file, &[]), 0);
    let (_, changed) = section.split_once("Would change: 2\n").unwrap();
    let changed: Vec<&str> = changed.lines().take(4).collect();
    assert!(
        changed[0].starts_with("* Tarrowby Fathom 125, JT21 VAR: Book in, by Fri 20 Mar 2026: "),
        "{section}"
    );
    assert_eq!(changed[1], "  becomes Ring today, by Fri 20 Mar 2026, in the same words");
    assert!(
        changed[2].starts_with("* Tarrowby Fathom 125, UT20 ZDV: Book in, by Wed 1 Apr 2026: "),
        "{section}"
    );
    assert_eq!(changed[3], "  becomes Ring today, by Wed 1 Apr 2026, in the same words");
    assert!(section.contains("\"out in a month\" expected \"book in\", and now \"ring\""), "{section}");
}

/// A rule of the owner's own: JT26 KVF alone is handed over on 2 March, as its sheet says.
const COLLECTED_TODAY: &str = r#"const TITLE = "Collected today";
const WHY   = "A ride home is the first ride.";
fn applies_to(machine) { machine.has.handover }
fn judge(machine) {
    if machine.handover == machine.today { return ring("Ask how the ride home went.").by(machine.today); }
    clear()
}
const EXAMPLES = [
    given("today",     #{ today: "2026-03-02", handover: "2026-03-02" }).expect("ring"),
    given("yesterday", #{ today: "2026-03-02", handover: "2026-03-01" }).expect("clear"),
];
"#;

#[test]
fn a_new_rule_is_held_against_nothing() {
    let shop = Shop::new();
    let file = shop.saved("collected-today", COLLECTED_TODAY);
    assert_data_eq!(
        told(&shop.tries(&file, &[]), 0),
        str![[r#"
collected-today: "Collected today"
Tried on 51 machines as of Mon 2 Mar 2026, beside nothing, since no rule of that name is in force: all is new.

Would add: 1
* Tarrowby Fathom 125, JT26 KVF: Ring today, by Mon 2 Mar 2026: Ask how the ride home went.

Stays as it is: 0.
It can tell of every machine, before and after.
Examples: 2, and it says what they expect.

Nothing of this is in force, and nobody was told. To take it into force, save it as rules/collected-today.rhai in the yard folder.

"#]]
    );
}

#[test]
fn a_rule_under_another_name_with_the_title_of_one_in_force_is_told_so() {
    let shop = Shop::new();
    let output = shop.tries(&shop.saved("mot", &edited("mot-due", &[])), &[]);
    told(&output, 1);
    let said = said(&output);
    assert!(
        said.contains("`mot-due` is in force with the same title, \"MOT\": all would be told twice"),
        "{said}"
    );
}

#[test]
fn a_new_rule_that_raises_nothing_says_so() {
    let shop = Shop::new();
    let text = far(400_000).replace("Far", "Very far");
    let told = told(&shop.tries(&shop.saved("very-far", &text), &[]), 0);
    assert!(told.contains("all is new.\n\nIt raises nothing in today's yard.\n"), "{told}");
}

#[test]
fn a_text_that_no_sheet_holds_is_told_where_one_holds_nearly_the_same() {
    let shop = Shop::new();
    let rule = |compares: &str| {
        format!(
            "const TITLE = \"Mine\";\nconst WHY = \"To be tried.\";\nfn judge(machine) {{\n    if {compares} {{ return \
             ring(`Ring.`); }}\n    clear()\n}}\nconst EXAMPLES = [given(\"any\", #{{ today: \"2026-03-02\", make: \
             \"Marlow\", model: \"Spruce 125\" }}).expect(\"clear\")];\n"
        )
    };
    let said_of = |compares: &str| {
        let output = shop.tries(&shop.saved("mine", &rule(compares)), &[]);
        assert_eq!(output.status.code(), Some(0));
        said(&output)
    };
    let told = said_of("machine.model == \"Thimbel 50\"");
    let expected = "note: no `machine.model` is \"Thimbel 50\" in today's sheets, but one is \"Thimble 50\"";
    assert!(told.contains(expected) && told.contains("mine.rhai:4:25\n"), "{told}");
    assert!(told.contains("help: write \"Thimble 50\" if that is what you mean\n"), "{told}");

    // A machine's model stands without its make.
    let told = said_of("machine.model == \"Aldermere Thimble 50\"");
    let expected =
        "note: no `machine.model` is \"Aldermere Thimble 50\" in today's sheets, but one is \"Thimble 50\"";
    assert!(told.contains(expected), "{told}");

    // Another size is another model, and one that nothing is like may come yet.
    for compares in [
        "machine.model == \"Thimble 50\"",
        "machine.model == \"Thimble 125\"",
        "machine.make == \"Aldermere\"",
    ] {
        assert!(!said_of(compares).contains("in today's sheets"), "{compares}");
    }
}

#[test]
fn the_yard_s_own_file_is_held_against_what_the_last_round_judged_by() {
    let shop = Shop::new();
    let own = shop.yard().join("rules/first-service-due.rhai");
    let same = told(&shop.tries(&own, &[]), 0);
    assert!(same.contains("beside the rule in force, which is the very same."), "{same}");
    assert!(
        same.contains("\nIt raises the same as before.\n") && same.ends_with("\nThis is what is in force.\n"),
        "{same}"
    );
    shop.put(
        "first-service-due",
        &edited("first-service-due", &[("RING_AHEAD = 14.days", "RING_AHEAD = 20.days")]),
    );
    let saved = told(&shop.tries(&own, &[]), 0);
    assert!(saved.contains("beside the rule as it was in force at the last round."), "{saved}");
    assert!(saved.contains("Would change: 1\n* Wrenfold Thimble 50, JU75 NRP"), "{saved}");
    assert!(saved.contains("the next round takes it into force"), "{saved}");
}

#[test]
fn a_file_that_is_not_fit_is_explained_whole_and_judges_nothing() {
    let shop = Shop::new();
    let file = shop.edited("mot-due", &[("machine.mot_expiry;", "machine.mot_expirey;"), ("14.days", "14")]);
    let output = shop.tries(&file, &[]);
    assert_eq!((output.status.code(), printed(&output)), (Some(1), String::new()));
    let told = said(&output);
    assert!(told.contains("write `mot_expiry`") && told.contains("14.days"), "{told}");
    assert_eq!(
        said(&tickover(["rules".as_ref(), "check".as_ref(), file.as_os_str()])),
        told,
        "as `rules check`"
    );
    // A file that is not there could not be tried at all.
    assert_eq!(shop.tries(&shop.folder.path().join("mine/none.rhai"), &[]).status.code(), Some(2));
}

#[test]
fn a_rule_that_fails_on_a_machine_is_said_and_cannot_tell_there() {
    let shop = Shop::new();
    // It fails on every machine with a day of sale, whichever that is; the examples have none.
    let failing = COLLECTED_TODAY
        .replace("    if machine", "    if machine.has.sold and later(machine.sold + 9_000.years, machine.sold) < machine.today { return clear(); }\n    if machine");
    let output = shop.tries(&shop.saved("collected-today", &failing), &[]);
    let told = told(&output, 1);
    assert!(said(&output).contains("this day lies beyond the calendar"), "{}", said(&output));
    assert!(!told.contains("Would add"), "JT26 KVF was sold, so nothing is known of it: {told}");
    assert!(
        told.contains("; before, of none.\n* after: ") && told.contains("without a rule that works"),
        "{told}"
    );
}

#[test]
fn a_trial_leaves_every_file_of_the_yard_as_it_was() {
    let shop = Shop::new();
    let before = files(&shop.yard());
    let file = shop.edited("first-service-due", &[("RING_AHEAD = 14.days", "RING_AHEAD = 20.days")]);
    told(&shop.tries(&file, &["--over", "30d", "--today", "2026-03-03"]), 0);
    let after = files(&shop.yard());
    assert_eq!(before.keys().collect::<Vec<_>>(), after.keys().collect::<Vec<_>>());
    for (path, content) in &before {
        assert!(after[path] == *content, "{} is another", path.display());
    }
}

/// Every file of a folder; of what SQLite shares between those who read it only that it is there would be known.
fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let is_shared = path.to_string_lossy().ends_with("-shm") || path.to_string_lossy().ends_with("-wal");
        if path.is_dir() {
            found.extend(files(&path));
        } else if !is_shared {
            let content = fs::read(&path).unwrap();
            found.insert(path, content);
        }
    }
    found
}

/// A rule that rings for what has gone far, and does not mind what it cannot know.
fn far(miles: u32) -> String {
    format!(
        r#"const TITLE = "Far";
const WHY   = "To be tried.";
fn judge(machine) {{ if machine.clock > {miles}.miles {{ return ring(`${{machine.clock}} is far`); }} clear() }}
const EXAMPLES = [
    given("near", #{{ today: "2026-03-02", clock: 1.miles }}).expect("clear"),
    given("far",  #{{ today: "2026-03-02", clock: 990_000.miles }}).expect("ring"),
];
"#
    )
}

/// A yard of these machines, with the rule `far` at 500 miles.
fn yard_of(marks: &[&str]) -> Yard {
    let yard = Yard::empty();
    let rows = marks.iter().map(|mark| format!("{mark},Marlow,Spruce,motorcycle,125,10/12/2025\n"));
    yard.put(
        "sheets/machines.csv",
        format!("Reg,Make,Model,Type,cc,Registered\n{}", rows.collect::<String>()),
    );
    yard.put("sheets/mileages.csv", format!("Reg,Date,Mileage\n{},01/02/2026,100\n", marks[0]));
    // Nothing tells whether 01/02/2026 is in February: that is left open, and the day comes first until then.
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(1));
    yard.put("rules/far.rhai", far(500));
    yard
}

#[test]
fn over_earlier_mornings_each_thing_is_told_on_its_first_by_what_was_known_then() {
    let yard = yard_of(&["AB12 CDE", "AB13 CDE"]);
    let log = |rows: &str| {
        yard.put("sheets/mileages.csv", format!("Reg,Date,Mileage\nAB12 CDE,01/02/2026,100\n{rows}"))
    };
    for (day, rows) in [
        ("2026-03-02", ""),
        ("2026-03-03", "AB12 CDE,03/03/2026,450\n"),
        ("2026-03-05", "AB12 CDE,03/03/2026,450\nAB12 CDE,05/03/2026,470\nAB13 CDE,05/03/2026,420\n"),
        (
            "2026-03-06",
            "AB12 CDE,03/03/2026,450\nAB12 CDE,05/03/2026,470\nAB13 CDE,05/03/2026,420\nAB12 CDE,06/03/2026,510\n",
        ),
    ] {
        log(rows);
        yard.kept_morning(day);
    }
    // On the last day a reading comes that no round has kept: it was known on no earlier morning.
    log("AB12 CDE,06/03/2026,510\nAB13 CDE,05/03/2026,420\nAB13 CDE,07/03/2026,600\n");
    yard.put("mine/far.rhai", far(400));
    // AB12 CDE: 450 on 3 March, 470 on 5 March, and from 6 March on it is far either way. AB13 CDE: 420 on 5 and 6 March.
    let output =
        tries(yard.path(), &yard.path().join("mine/far.rhai"), &["--today", "2026-03-07", "--over", "7d"]);
    assert_data_eq!(
        printed(&output),
        str![[r#"
far: "Far"
Tried on 2 machines as of Sat 7 Mar 2026, beside the rule of that name in force.

It raises the same as before.

Stays as it is: 2.
It can tell of every machine, before and after.
Examples: 2, the same as before.

Over the 7 days before: 4 mornings tried, 3 days without a kept letter left out.
Each morning is judged as of its day: the machines, handbook and settings as they stand today, with the
readings, jobs, checks, rides and fills that a round had seen by then. It cannot be known what the rows about
the machines themselves said that day (handover, sold, MOT), nor which machines they listed; a slip that was
put right since is right all along.

Would have added: 2
* Marlow Spruce, AB12 CDE: first on Tue 3 Mar 2026, on 2 mornings in all: Ring today: 450 miles is far
* Marlow Spruce, AB13 CDE: first on Thu 5 Mar 2026, on 2 mornings in all: Ring today: 420 miles is far

On one morning or more it could not tell of 1 machine, before and after.
* 1 without clock reading

Nothing of this is in force, and nobody was told. To take it into force, save it as rules/far.rhai in the yard folder.

"#]]
    );
}

#[test]
fn a_rule_that_fails_on_an_earlier_morning_alone_is_said() {
    let yard = yard_of(&["AB12 CDE"]);
    yard.kept_morning("2026-03-02");
    yard.kept_morning("2026-03-03");
    // Registered on 10 December, it fails up to 82 days later, which is 2 March.
    let early = "machine.has.registered and machine.today < machine.registered + 83.days";
    let fails = format!(
        "if {early} and later(machine.registered + 9_000.years, machine.today) < machine.today {{ return clear(); }}"
    );
    yard.put("mine/far.rhai", far(500).replace("{ if", &format!("{{\n    {fails}\n    if")));
    let file = yard.path().join("mine/far.rhai");
    let output = tries(yard.path(), &file, &["--today", "2026-03-04"]);
    assert_eq!((output.status.code(), said(&output).as_str()), (Some(0), ""), "today it does not fail");
    let output = tries(yard.path(), &file, &["--today", "2026-03-04", "--over", "9d"]);
    let told = told(&output, 1);
    assert!(said(&output).contains("this day lies beyond the calendar"), "{}", said(&output));
    assert!(said(&output).contains(", as of 2 Mar 2026"), "{}", said(&output));
    assert!(
        told.contains("On one morning or more it could not tell of 1 machine; before, of none."),
        "{told}"
    );
}

#[test]
fn what_cannot_be_told_any_more_is_never_cleared() {
    let yard = yard_of(&["AB12 CDE", "AB13 CDE", "AB14 CDE"]);
    let before = far(500)
        .replace("machine.clock > 500.miles", "not machine.has.handover")
        .replace("${machine.clock}", "it");
    yard.put("rules/far.rhai", before.replace("expect(\"clear\")", "expect(\"ring\")"));
    yard.put("mine/far.rhai", far(50));
    // Only AB12 CDE has a reading, of 100 miles.
    let told = told(&tries(yard.path(), &yard.path().join("mine/far.rhai"), &[]), 0);
    assert!(told.contains("Would change: 1\n* Marlow Spruce, AB12 CDE: Ring today: it is far\n  becomes Ring today: 100 miles is far\n"), "{told}");
    let (_, untold) = told.split_once("Could not be told any more, and so would stay open: 2\n").unwrap();
    let untold: Vec<&str> = untold.lines().take(6).collect();
    assert_eq!(untold[0], "* Marlow Spruce, AB13 CDE: Ring today: it is far");
    assert_eq!(untold[1], "  for want of clock reading");
    assert_eq!(untold[2], "* Marlow Spruce, AB14 CDE: Ring today: it is far");
    assert!(
        told.contains("Cannot tell of 2 machines; before, of none.\n* after: 2 without clock reading\n"),
        "{told}"
    );
    assert!(!told.contains("Would clear"), "{told}");
}

#[test]
fn a_report_names_no_more_than_forty_of_a_kind_and_counts_the_rest() {
    let marks: Vec<String> = (0..57).map(|number| format!("AB{:02} CDE", number + 1)).collect();
    let yard = yard_of(&marks.iter().map(String::as_str).collect::<Vec<_>>());
    yard.put(
        "mine/all.rhai",
        far(500)
            .replace("if machine.clock > 500.miles {", "if not machine.has.handover {")
            .replace("${machine.clock}", "it")
            .replace("\"Far\"", "\"All\"")
            .replace("expect(\"clear\")", "expect(\"ring\")"),
    );
    // That it raises for all of them is said beside it, and needs a person.
    let told = told(&tries(yard.path(), &yard.path().join("mine/all.rhai"), &[]), 1);
    assert!(told.contains("Would add: 57\n") && told.contains("\n* and 17 more\n"), "{told}");
    assert_eq!(told.matches("\n* Marlow Spruce, ").count(), 40);
}

#[test]
fn what_cannot_run_says_why() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("far.rhai"), far(500)).unwrap();
    let file = folder.path().join("far.rhai");
    let output = tries(&folder.path().join("nowhere"), &file, &[]);
    assert_eq!((output.status.code(), printed(&output)), (Some(2), String::new()));
    assert!(said(&output).contains("this is no yard folder"), "{}", said(&output));
    let yard = yard_of(&["AB12 CDE"]);
    for days in ["0d", "90", "367d", "-1d", "+9d", "d", "9dd"] {
        let output = tries(yard.path(), &file, &[&format!("--over={days}")]);
        assert_eq!(output.status.code(), Some(2), "{days}");
        assert!(said(&output).contains("from 1d to 366d"), "{days}: {}", said(&output));
    }
}

#[test]
fn mornings_for_which_there_is_no_time_are_counted_and_the_latest_are_tried_first() {
    let yard = yard_of(&["AB12 CDE"]);
    for day in ["2026-03-02", "2026-03-03", "2026-03-05"] {
        yard.kept_morning(day);
    }
    let run = Run {
        folder: YardFolder::at(yard.path()),
        now: "2026-03-06T09:00:00Z".parse().unwrap(),
        today: Some("2026-03-06".parse().unwrap()),
        keeps: true,
        tells: Tells::MorningAgain,
        trouble: Vec::new(),
        reader: Reader::InChild("no-workbook-here".into()),
        patience: Duration::ZERO,
    };
    let tried = |time| {
        let over = Over { days: Days(30), time };
        let trial = round::try_rule(&run, &yard.path().join("rules/far.rhai"), Some(over));
        match trial {
            Ok(trial) => trial.over.unwrap(),
            Err(NotTried::Unfit(why) | NotTried::CouldNotRun(why)) => panic!("{why:?}"),
        }
    };
    let none = tried(Duration::ZERO);
    assert_eq!((none.mornings, none.left_out), (0, 27));
    assert_eq!(none.no_time_for, Some(("2026-03-05".parse().unwrap(), 3)));
    let all = tried(Duration::from_secs(600));
    assert_eq!((all.mornings, all.left_out, all.no_time_for), (3, 27, None));
}

#[test]
fn an_edit_that_came_into_force_is_told_in_the_next_letter_and_only_there() {
    let shop = Shop::new();
    assert_eq!(
        edits_in(&shop.letter("2026-03-02")),
        "",
        "before the first letter there was none to differ from"
    );
    // On 3 March JU75 NRP is due in 14 days, and rung either way; JU75 ADT is due on 19 April.
    shop.put(
        "first-service-due",
        &edited("first-service-due", &[("RING_AHEAD = 14.days", "RING_AHEAD = 13.days")]),
    );
    shop.put(
        "collected-today",
        &COLLECTED_TODAY
            .replace("machine.handover == machine.today", "machine.handover == machine.today + 2.days")
            .replace("2026-03-02\" }", "2026-03-04\" }"),
    );
    for _ in 0..2 {
        shop.morning("2026-03-03");
        let letter = shop.letter("2026-03-03");
        // JU75 LBH is handed over on 5 March. JU75 NRP is 14 days ahead, more than 13.
        assert_eq!(
            edits_in(&letter),
            ": 2 What each says today beside what it said before. \
             * In force since Tue 3 Mar: rules/collected-today.rhai (new); adds 1. \
             Adds: Kestermoor Gantry 125, JU75 LBH. \
             * In force since Tue 3 Mar: rules/first-service-due.rhai; changes 1. \
             Changes: Wrenfold Thimble 50, JU75 NRP.",
        );
    }
    assert!(!shop.yard().join("digests/2026-03-03-2.txt").exists(), "a second round tells nothing more");
    shop.morning("2026-03-04");
    assert_eq!(edits_in(&shop.letter("2026-03-04")), "");
}

#[test]
fn a_rule_that_was_taken_out_between_two_letters_is_told_in_the_next() {
    let shop = Shop::new();
    fs::remove_file(shop.yard().join("rules/mot-due.rhai")).unwrap();
    // The long run notices it the same day, and tells nothing until the morning.
    shop.round("nothing", "2026-03-02");
    shop.round("morning", "2026-03-03");
    // On 3 March the MOT rule would still have raised its four.
    assert_eq!(
        edits_in(&shop.letter("2026-03-03")),
        ": 1 What each says today beside what it said before. \
         * Not in force any more: rules/mot-due.rhai, whose file is gone; clears 4. \
         Clears: Tarrowby Fathom 125, JT21 VAR; Tarrowby Fathom 125, UT20 ZDV; Tarrowby Mere 250, UT19 UGD; Ullapine \
         Hamper 125, JU23 WFK. It can tell of every machine; before, not of 1.",
    );
    shop.round("morning", "2026-03-04");
    assert_eq!(edits_in(&shop.letter("2026-03-04")), "");
}

#[test]
fn an_edit_that_is_taken_back_before_the_next_letter_is_none() {
    let shop = Shop::new();
    let edit = edited("first-service-due", &[("RING_AHEAD = 14.days", "RING_AHEAD = 20.days")]);
    shop.put("first-service-due", &edit);
    // The long run takes it into force at once, and tells nothing until the morning.
    shop.round("nothing", "2026-03-03");
    shop.put("first-service-due", &edited("first-service-due", &[]));
    shop.round("nothing", "2026-03-04");
    shop.round("morning", "2026-03-05");
    assert_eq!(edits_in(&shop.letter("2026-03-05")), "");
    shop.put("first-service-due", &edit);
    shop.round("nothing", "2026-03-05");
    shop.round("morning", "2026-03-06");
    let told = edits_in(&shop.letter("2026-03-06"));
    assert!(told.contains("In force since Thu 5 Mar: rules/first-service-due.rhai; "), "{told}");
}

#[test]
fn a_file_that_did_not_come_into_force_is_no_edit_and_stands_at_the_top() {
    let shop = Shop::new();
    shop.put(
        "first-service-due",
        &edited("first-service-due", &[("RING_AHEAD = 14.days", "RING_AHEAD = 20.dys")]),
    );
    assert_eq!(shop.morning("2026-03-03").status.code(), Some(1));
    let letter = shop.letter("2026-03-03");
    assert_eq!(edits_in(&letter), "");
    let (_, top) = letter.split_once("Look at this first").unwrap();
    let top: String = top.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        top.contains("rules/first-service-due.rhai:") && top.contains("stays in force as it last was"),
        "{top}"
    );
}

#[test]
fn every_letter_can_be_explained_by_the_words_of_its_rules() {
    let shop = Shop::new();
    let edit = edited("first-service-due", &[("RING_AHEAD = 14.days", "RING_AHEAD = 20.days")]);
    shop.put("first-service-due", &edit);
    shop.morning("2026-03-03");
    let export = shop.folder.path().join("export");
    let output =
        tickover(["export".as_ref(), "--yard".as_ref(), shop.yard().as_os_str(), export.as_os_str()]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let table = |file: &str| -> Vec<BTreeMap<String, String>> {
        let text = fs::read_to_string(export.join(file)).unwrap();
        let mut rows = csv::Reader::from_reader(text.trim_start_matches('\u{feff}').as_bytes());
        rows.deserialize().collect::<Result<_, _>>().unwrap()
    };
    let (letters, rules, texts) = (table("letters.csv"), table("letter-rules.csv"), table("rule-texts.csv"));
    let text_on = |day: &str, rule: &str| {
        let letter = letters.iter().find(|letter| letter["day"] == day).unwrap();
        let of = rules.iter().find(|it| it["letter"] == letter["id"] && it["rule"] == rule).unwrap();
        texts.iter().find(|text| text["id"] == of["text"]).unwrap()["source"].clone()
    };
    assert_eq!(text_on("2026-03-02", "first-service-due"), edited("first-service-due", &[]));
    assert_eq!(text_on("2026-03-03", "first-service-due"), edit);
    assert_eq!(text_on("2026-03-03", "mot-due"), edited("mot-due", &[]));
    let since = table("rules.csv").into_iter().map(|rule| (rule["name"].clone(), rule["since"].clone()));
    let since: BTreeMap<_, _> = since.collect();
    assert_eq!(
        (since["first-service-due"].as_str(), since["mot-due"].as_str()),
        ("2026-03-03", "2026-03-02")
    );
}

#[test]
fn which_examples_an_edit_has_changed_stands_in_the_letter_and_in_the_json() {
    let shop = Shop::new();
    let three_weeks = "handover: \"2026-02-02\", clock: 60.miles }).expect(\"book in\")";
    let replaced = [
        ("BOOK_AHEAD = 28.days", "BOOK_AHEAD = 14.days"),
        (three_weeks, &three_weeks.replace("book in", "clear")),
    ];
    shop.put("first-service-due", &edited("first-service-due", &replaced));
    let yard = shop.yard();
    let arguments = ["morning", "--json", "--today", "2026-03-03", "--yard"];
    let run = tickover(arguments.iter().map(AsRef::as_ref).chain([yard.as_os_str()]));
    let run: serde_json::Value = serde_json::from_slice(&run.stdout).unwrap();
    // JU75 NRP is due on 17 March: in 14 days, and so rung, whatever BOOK_AHEAD is.
    let changed = "\"three weeks to go by the date\" expected \"book in\", and now \"clear\"";
    assert_eq!(
        run["edits"],
        serde_json::json!([{
            "rule": "first-service-due",
            "became": "changed",
            "since": "2026-03-03",
            "effect": { "adds": 0, "changes": 0, "clears": 0, "cannot_tell_any_more": 0 },
            "examples": [changed],
        }])
    );
    let told = edits_in(&shop.letter("2026-03-03"));
    assert!(
        told.ends_with(&format!("raises the same as before. Examples that differ: {changed}.")),
        "{told}"
    );
}

#[test]
fn a_rule_of_what_is_known_of_today_alone_says_so_of_earlier_mornings() {
    let shop = Shop::new();
    for rule in ["gone-from-sheets", "sheet-not-renewed"] {
        let file = shop.edited(rule, &[("const WHY", "// Looked at.\nconst WHY")]);
        let told = told(&shop.tries(&file, &["--over", "30d", "--today", "2026-03-03"]), 0);
        assert!(
            told.contains(
                "Nor is it known which machines were gone from the sheets that day, and when each sheet was saved: what a \
                 rule\nsays of those is tried on today alone.\n"
            ),
            "{told}"
        );
        assert!(told.contains("Of what could be tried, it would have raised the same as before"), "{told}");
    }
    let told =
        told(&shop.tries(&shop.edited("mot-due", &[]), &["--over", "30d", "--today", "2026-03-03"]), 0);
    assert!(!told.contains("is tried on today alone"), "{told}");
}
