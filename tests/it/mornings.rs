//! An invented shop's mornings, for the tests of letters. Telephone numbers are from Ofcom's ranges for drama.

use std::collections::BTreeSet;
use std::sync::Arc;

use jiff::civil::{Date, date};
use tickover::digest::{Form, Morning, RuleBecame, RuleEdit, RuleInForce, SheetRead};
use tickover::findings::{CannotTell, Difference, Effect, Finding, Raised, Section, State, Turn};
use tickover::origin::{Entry, Evidence, Origin, SheetName};
use tickover::problem::{Place, Problem, Spot};
use tickover::yard::{Identity, MachineId, Mark};

/// The day of all these mornings, a Monday.
pub(crate) const TODAY: Date = date(2026, 3, 2);

/// A cell of a file.
pub(crate) fn cell(file: &str, row: u32, column: u32) -> Origin {
    Origin { name: Arc::new(SheetName { file: file.to_owned(), sheet: None }), row, column }
}

/// A finding that is new today, of a machine known by its mark alone.
pub(crate) fn finding(
    rule: &str,
    title: &str,
    section: Section,
    name: &str,
    mark: &str,
    text: &str,
) -> Finding {
    let identity = Identity {
        mark: Mark::new(mark).map(|mark| Entry::new(mark, cell("bikes.csv", 2, 0))),
        ..Identity::default()
    };
    Finding {
        rule: rule.to_owned(),
        title: title.to_owned(),
        machine: MachineId::of(&identity).unwrap_or_else(|| MachineId::kept("")),
        identity,
        machine_name: format!("{name}, {mark}"),
        customer: None,
        telephone: None,
        key: String::new(),
        raised: Raised { section, text: text.to_owned(), due: None, due_range: None, at_once: false },
        state: State::New,
        since: TODAY,
        no_longer_told: Vec::new(),
        words_of: None,
        caution: None,
        evidence: Vec::new(),
    }
}

/// What a test changes in a finding, one after the other.
pub(crate) trait Told {
    /// Whose machine it is.
    fn of(self, customer: &str, telephone: &str) -> Self;
    /// The day by which it must be done.
    fn by(self, due: Date) -> Self;
    /// The days between which it likely falls due.
    fn likely(self, earliest: Date, latest: Date) -> Self;
    /// Open since an earlier day.
    fn since(self, day: Date) -> Self;
    /// A fact that shows it.
    fn shown(self, what: &str, value: &str, origin: Origin) -> Self;
    /// The caution that goes with it.
    fn caution(self, caution: &str) -> Self;
}

impl Told for Finding {
    fn of(mut self, customer: &str, telephone: &str) -> Finding {
        self.customer = Some(customer.to_owned());
        self.telephone = Some(telephone.to_owned());
        self
    }

    fn by(mut self, due: Date) -> Finding {
        self.raised.due = Some(due);
        self
    }

    fn likely(mut self, earliest: Date, latest: Date) -> Finding {
        self.raised.due_range = Some((earliest, latest));
        self
    }

    fn since(mut self, day: Date) -> Finding {
        self.since = day;
        self.state = State::Open;
        self
    }

    fn shown(mut self, what: &str, value: &str, origin: Origin) -> Finding {
        self.evidence.push(Evidence::of(what, value, &origin));
        self
    }

    fn caution(mut self, caution: &str) -> Finding {
        self.caution = Some(caution.to_owned());
        self
    }
}

/// A morning on which nothing was found.
pub(crate) fn quiet() -> Morning {
    Morning {
        today: TODAY,
        shop: "Fenwick Lane Motorcycles".to_owned(),
        findings: Vec::new(),
        settled: Vec::new(),
        cannot_tell: Vec::new(),
        too_long_ago: Vec::new(),
        complaints: Vec::new(),
        trouble: Vec::new(),
        read: vec![
            sheet("sheets/bikes.csv", 214, "machine", TODAY),
            sheet("sheets/mileages.csv", 1312, "reading", date(2026, 2, 27)),
        ],
        machines: 214,
        rules: [
            "First service",
            "Service",
            "Running-in",
            "Fuel",
            "Oil",
            "Before handover",
            "MOT",
            "Clock sense",
        ]
        .into_iter()
        .map(in_force)
        .collect(),
        ships: BTreeSet::new(),
        edits: Vec::new(),
        last_told: Some(date(2026, 2, 27)),
        last_letter: String::new(),
        form: Form::Whole,
        first_of_day: None,
    }
}

fn sheet(file: &str, records: usize, read_as: &str, modified: Date) -> SheetRead {
    SheetRead { file: file.to_owned(), sheet: None, records, read_as: read_as.to_owned(), modified }
}

fn in_force(title: &str) -> RuleInForce {
    let rule = title.to_lowercase().replace(' ', "-");
    RuleInForce { rule, title: title.to_owned(), in_force: true, problem: None, notes: Vec::new() }
}

/// The caution of the checks before handover.
pub(crate) const BRAKES: &str =
    "Do not hand over while any brake, steering, wheel or tyre check is open, failed or not recorded.";

/// A morning on which one thing of each kind was found: small enough to be read whole.
pub(crate) fn small() -> Morning {
    let keep = finding(
        "missed-checks",
        "Before handover",
        Section::KeepInTheYard,
        "Larkfield Swift 125",
        "AB12 CDE",
        "the second road test is not recorded",
    )
    .of("Priya Raman", "07700 900123")
    .by(TODAY)
    .shown("handover", "2 Mar 2026", cell("sheets/bikes.csv", 14, 5))
    .shown("first road test", "27 Feb 2026, 6.2 miles", cell("sheets/rides.csv", 8, 2))
    .caution(BRAKES);
    let ring = finding(
        "first-service-due",
        "First service",
        Section::RingToday,
        "Larkfield Ridge 400",
        "CD23 EFG",
        "the first service falls due at 500 miles; about 480 miles by now",
    )
    .of("Tom Ashby", "01632 960123 / 07700 900456")
    .by(date(2026, 3, 6))
    .likely(date(2026, 3, 8), date(2026, 3, 17))
    .since(date(2026, 2, 27))
    .shown("last reading", "412 miles", cell("sheets/mileages.csv", 14, 2));
    let settled =
        finding("mot-due", "MOT", Section::BookIn, "Corvane Mesa 650", "EF19 HJK", "the MOT ends on 5 Mar")
            .shown("MOT expiry", "4 Mar 2027", cell("sheets/bikes.csv", 21, 8));
    let complaint = Problem::error(
        &cell("sheets/jobs.csv", 14, 1),
        "the day is not a day",
        "write a day of the calendar, such as 28/02/2026",
    )
    .with_value("31/02/2026");
    Morning {
        findings: vec![ring, keep],
        settled: vec![settled],
        cannot_tell: ["Corvane Mesa 650, GH21 KLM", "Larkfield Swift 125, HJ22 LMN"]
            .into_iter()
            .map(|machine| cannot_tell("First service", machine, "handover"))
            .collect(),
        complaints: vec![complaint],
        ..quiet()
    }
}

fn cannot_tell(title: &str, machine: &str, missing: &str) -> CannotTell {
    untold(
        &title.to_lowercase().replace(' ', "-"),
        title.to_owned(),
        machine.to_owned(),
        vec![missing.to_owned()],
    )
}

/// What one rule could not tell of a machine that is known by nothing but its name.
fn untold(rule: &str, title: String, machine_name: String, missing: Vec<String>) -> CannotTell {
    CannotTell {
        rule: rule.to_owned(),
        title,
        machine: MachineId::kept(&machine_name),
        identity: Identity::default(),
        machine_name,
        key: String::new(),
        missing,
    }
}

/// A morning as a shop may have it: some fifteen findings, trouble at the top, a long foot.
pub(crate) fn full() -> Morning {
    let small = small();
    let mut findings = small.findings.clone();
    findings.extend(kept_and_rung());
    findings.extend(booked_and_benched());
    let trouble = Problem::error(
        Place {
            file: "rules/wrong-oil.rhai".to_owned(),
            sheet: None,
            spot: Spot::Text { line: 21, column: 27, excerpt: String::new() },
        },
        "miles are compared with kilometres; the rule's last good version judges",
        "give both sides the same unit",
    );
    let mut rules = small.rules.clone();
    rules[4].problem = Some(trouble.clone());
    let machines: Vec<String> = (1..=12).map(|count| format!("stock {}", 300 + count)).collect();
    let untold = machines.iter().map(|machine| cannot_tell("First service", machine, "handover"));
    let complaints = (0..7).map(|count| {
        Problem::error(
            &cell("sheets/jobs.csv", 14 + count, 1),
            "the day is not a day",
            "write a day of the calendar, such as 28/02/2026",
        )
        .with_value(format!("3{}/02/2026", count % 2))
    });
    let added = ["Larkfield Swift 125, NP24 RST", "Corvane Mesa 650, PR24 STU"].map(str::to_owned);
    Morning {
        findings,
        cannot_tell: untold
            .chain([cannot_tell("Fuel", "Larkfield Ridge 400, CD23 EFG", "fuel grade")])
            .collect(),
        complaints: complaints.collect(),
        trouble: vec![trouble],
        rules,
        edits: vec![edit("first-service-due", &added, "Larkfield Ridge 400, CD23 EFG")],
        ..small
    }
}

/// An edited rule that adds something on these machines, and changes something on another.
pub(crate) fn edit(rule: &str, added: &[String], changed: &str) -> RuleEdit {
    let raised = |text: &str| {
        Some(Raised {
            section: Section::RingToday,
            text: text.to_owned(),
            due: None,
            due_range: None,
            at_once: false,
        })
    };
    let of = |name: &str, turn: Turn| Difference {
        turn,
        machine_name: name.to_owned(),
        machine: MachineId::kept(name),
        key: String::new(),
        before: if turn == Turn::Added { None } else { raised("in 14 days") },
        after: raised("in 20 days"),
        missing: Vec::new(),
    };
    let added = added.iter().map(|name| of(name, Turn::Added));
    let differences = added.chain([of(changed, Turn::Changed)]).collect();
    RuleEdit {
        rule: rule.to_owned(),
        became: RuleBecame::Changed { since: TODAY },
        effect: Some(Effect { differences, ..Effect::default() }),
        examples: Vec::new(),
    }
}

fn kept_and_rung() -> Vec<Finding> {
    let brakes = finding(
        "missed-checks",
        "Before handover",
        Section::KeepInTheYard,
        "Corvane Mesa 650",
        "JK70 MNP",
        "the front brake check failed on 26 Feb and is still open; signed by R. Dale",
    )
    .by(date(2026, 3, 3))
    .since(date(2026, 2, 26))
    .shown("front brake", "fail", cell("sheets/checks.csv", 31, 3))
    .shown("handover", "3 Mar 2026", cell("sheets/bikes.csv", 17, 5))
    .caution(BRAKES);
    let diesel = finding(
        "wrong-fuel",
        "Fuel",
        Section::KeepInTheYard,
        "Larkfield Ridge 400",
        "LM71 PQR",
        "a fill on 1 Mar is labelled B7, which is diesel",
    )
    .of("Ollie Grant", "07700 900777")
    .by(TODAY)
    .shown("fill", "1 Mar 2026, 11.2 litres, B7", cell("sheets/fuel.csv", 58, 4))
    .caution("Do not start it. The tank and lines are drained first, as the handbook says.");
    let due = |name: &str, mark: &str, clock: &str, row: u32| {
        let text = format!("the first service falls due at 500 miles; about {clock} miles by now");
        finding("first-service-due", "First service", Section::RingToday, name, mark, &text)
            .by(date(2026, 3, 9))
            .likely(date(2026, 3, 11), date(2026, 3, 24))
            .shown("last reading", &format!("{clock} miles"), cell("sheets/mileages.csv", row, 2))
    };
    vec![
        brakes,
        diesel,
        due("Larkfield Swift 125", "NP24 RST", "433", 40).of("Meera Joshi", "020 7946 0123"),
        due("Corvane Mesa 650", "PR24 STU", "401", 52).of("Jack O'Neill", ""),
        finding(
            "mot-due",
            "MOT",
            Section::RingToday,
            "Larkfield Ridge 400",
            "CD23 EFG",
            "the MOT ends on 20 Mar",
        )
        .of("Tom Ashby", "01632 960123 / 07700 900456")
        .by(date(2026, 3, 13))
        .shown("MOT expiry", "20 Mar 2026", cell("sheets/bikes.csv", 19, 8)),
        finding(
            "running-in-breach",
            "Running-in",
            Section::RingToday,
            "Larkfield Swift 125",
            "AB12 CDE",
            "59 mph on the speedometer on 28 Feb, and the limit until 600 miles is 50 mph",
        )
        .of("Priya Raman", "07700 900123")
        .by(TODAY)
        .shown("top speed", "59 mph, speedometer", cell("sheets/rides.csv", 12, 4))
        .shown("running-in limit", "50 mph up to 600 miles", cell("handbook/running-in.csv", 3, 2)),
    ]
}

fn booked_and_benched() -> Vec<Finding> {
    let filters = |mark: &str, row: u32| {
        let text = "put 2.9 litres of 10W-40 JASO MA2 and an oil filter on the bench for the visit on 5 Mar";
        finding("service-due", "Service", Section::OnTheBench, "Corvane Mesa 650", mark, text)
            .by(date(2026, 3, 4))
            .shown("booked", "5 Mar 2026", cell("sheets/bookings.csv", row, 1))
    };
    vec![
        finding(
            "service-due",
            "Service",
            Section::BookIn,
            "Corvane Mesa 650",
            "RS69 TUV",
            "the yearly service is due by 14 Mar; Wednesday 11 Mar has room",
        )
        .of("Sadie Clarke", "01632 960777")
        .by(date(2026, 3, 14))
        .since(date(2026, 2, 20))
        .shown("last service", "14 Mar 2025", cell("sheets/jobs.csv", 77, 0)),
        filters("ST68 UVW", 4),
        filters("TU67 VWX", 5),
        filters("UV66 WXY", 6),
        finding(
            "doubtful-reading",
            "Clock sense",
            Section::PutTheSheetRight,
            "Larkfield Ridge 400",
            "VW65 XYZ",
            "the clock goes down from 1,204 to 1,180 miles; most likely 1,280 was meant",
        )
        .since(date(2026, 2, 24))
        .shown("reading", "1,204 miles on 19 Feb 2026", cell("sheets/mileages.csv", 13, 2))
        .shown("reading", "1,180 miles on 24 Feb 2026", cell("sheets/mileages.csv", 14, 2)),
    ]
}

/// So many findings of a section, each of a machine of its own.
pub(crate) fn many(section: Section, count: usize) -> Vec<Finding> {
    (0..count)
        .map(|number| {
            let mark = format!("{}{number}", section.heading());
            finding(
                "rule",
                "A rule",
                section,
                "Larkfield Swift 125",
                &mark,
                &format!("thing {} of the day", number % 7),
            )
            .of("Priya Raman", "07700 900123")
            .by(date(2026, 3, 2 + (number % 20) as i8))
            .since(date(2026, 2, 1 + (number % 20) as i8))
            .shown(
                "last reading",
                &format!("{number} miles"),
                cell("sheets/mileages.csv", number as u32 + 2, 2),
            )
        })
        .collect()
}

/// So many findings in all, a fifth in each section, with as many complaints and missing facts.
pub(crate) fn crowd(count: usize) -> Morning {
    let findings = Section::ALL
        .into_iter()
        .enumerate()
        .flat_map(|(place, section)| many(section, count / 5 + usize::from(place < count % 5)));
    let complaint = |number: usize| {
        Problem::error(
            &cell("sheets/jobs.csv", number as u32 + 2, 1),
            format!("thing {} is wrong", number % 30),
            "mend it",
        )
    };
    let untold = |number: usize| {
        untold(
            "fuel",
            format!("Fuel {}", number % 25),
            format!("Corvane {number}"),
            vec!["fuel grade".to_owned()],
        )
    };
    Morning {
        findings: findings.collect(),
        settled: many(Section::OnTheBench, count),
        complaints: (0..count).map(complaint).collect(),
        cannot_tell: (0..count).map(untold).collect(),
        ..quiet()
    }
}

/// A morning with the worst that a cell can hold in every place, so many of each.
pub(crate) fn hostile(count: usize) -> Morning {
    let nasty = [
        "<script>alert(1)</script><img src=x onerror=alert(1)>",
        "=HYPERLINK(\"http://shop.example\")\r\nBcc: all@shop.example\r\n\r\n<b>",
        "\u{202e}evil\u{202c}\0\u{1b}[31m\u{7}\u{85}\u{2028}",
        "\" onload=\"alert(1)",
        "{{ page.caution }}{% raw %}</p></td></table>",
        "🏍🧰 Zoë Łukasz שלום",
    ];
    let word = |number: usize| match number % 3 {
        0 => format!("{} {number} {}", nasty[number % nasty.len()], "&".repeat(5_000)),
        1 => format!("{number} {} {}", nasty[number % nasty.len()], "<".repeat(5_000)),
        _ => format!("{number}{}{}", nasty[number % nasty.len()], "🏍".repeat(5_000)),
    };
    let nastily = |number: usize| {
        let section = Section::ALL[number % Section::ALL.len()];
        let rule = word(number);
        let mut nasty = finding(&rule, &rule, section, &rule, &format!("M{number}"), &word(number + 1))
            .of(&word(number + 2), &format!("07700 900123\"onload=x/{}", word(number)))
            .caution(&word(number + 3));
        for fact in 0..20 {
            let mut origin = cell(&word(fact), u32::MAX, u32::MAX - 1);
            origin.name = Arc::new(SheetName { file: word(fact), sheet: Some(word(fact + 1)) });
            nasty = nasty.shown(&word(fact), &word(fact + 1), origin);
        }
        nasty.no_longer_told = vec![word(number), word(number + 1)];
        nasty
    };
    let complaint = |number: usize| {
        Problem::error(&cell(&word(number), number as u32 + 2, 1), word(number), word(number + 1))
            .with_value(word(number))
    };
    let findings: Vec<Finding> = (0..count * Section::ALL.len()).map(nastily).collect();
    let read = (0..count).map(|number| SheetRead {
        file: word(number),
        sheet: Some(word(number + 1)),
        records: number,
        read_as: word(number + 2),
        modified: TODAY,
    });
    let rules = (0..count).map(|number| RuleInForce {
        rule: word(number),
        title: word(number),
        in_force: number % 2 == 0,
        problem: Some(complaint(number)),
        notes: vec![complaint(number)],
    });
    let untold = (0..count)
        .map(|number| untold(&word(number), word(number), word(number), (0..20).map(word).collect()));
    let names: Vec<String> = (0..count).map(word).collect();
    Morning {
        today: TODAY,
        shop: word(0),
        settled: findings.clone(),
        findings,
        cannot_tell: untold.collect(),
        too_long_ago: Vec::new(),
        complaints: (0..count).map(complaint).collect(),
        trouble: (0..count).map(complaint).collect(),
        read: read.collect(),
        machines: count,
        rules: rules.collect(),
        ships: (0..count / 2).map(word).collect(),
        edits: (0..count).map(|number| edit(&word(number), &names, &word(number + 1))).collect(),
        last_told: None,
        last_letter: String::new(),
        form: Form::Whole,
        first_of_day: None,
    }
}
