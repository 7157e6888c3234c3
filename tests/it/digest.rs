//! Letters of whole mornings: what they say, that text and HTML say the same, and that nothing from a sheet breaks them.

use std::collections::BTreeSet;

use jiff::civil::date;
use snapbox::{assert_data_eq, file, str};
use tickover::digest::{Letter, Morning, RuleBecame, compose};
use tickover::findings::{Effect, Finding, Raised, Section, State, Turn};
use tickover::origin::Evidence;
use tickover::problem::Problem;
use tickover::yard::MachineId;

use super::mornings::{BRAKES, TODAY, Told, cell, crowd, edit, finding, full, hostile, many, quiet, small};

const GENERAL_CAUTION: &str =
    "Tickover cannot see the machine. The maker's handbook and a qualified technician decide.";

#[test]
fn a_small_letter_reads_well() {
    assert_data_eq!(compose(&small()).text, file!["snapshots/small-letter.txt"]);
}

#[test]
fn a_full_letter_reads_well() {
    assert_data_eq!(compose(&full()).text, file!["snapshots/full-letter.txt"]);
}

#[test]
fn a_quiet_morning_is_said_in_one_line() {
    let letter = compose(&quiet());
    assert_eq!(letter.subject, "Nothing new to do today");
    let first: Vec<&str> = letter.text.lines().take(4).collect();
    assert_eq!(
        first,
        [
            "Nothing new to do today",
            "Monday 2 March 2026, Fenwick Lane Motorcycles",
            "214 machines were looked at and nothing is due.",
            ""
        ]
    );
    assert_eq!(letter.full_list, None);
}

#[test]
fn the_subject_says_what_matters() {
    let trouble = |count: usize, what: &str| {
        vec![
            Problem::error(&cell("sheets/bikes.csv", 1, 0), what, "close it in the spreadsheet program");
            count
        ]
    };
    let only = |section: Section, count: usize| Morning { findings: many(section, count), ..quiet() };
    let open = Problem::note(&cell("sheets/bikes.csv", 1, 0), "this column may be the handover", "agree it");
    let hiding = vec![Problem { hides_what_is_due: true, ..open }];
    let mut all = quiet();
    all.findings = Section::ALL.into_iter().flat_map(|section| many(section, 3)).collect();
    let cases = [
        (only(Section::KeepInTheYard, 1), "1 stays in the yard"),
        (only(Section::KeepInTheYard, 2), "2 stay in the yard"),
        (only(Section::PutTheSheetRight, 4), "4 to put right in the sheets"),
        (all.clone(), "3 stay in the yard, 3 to ring"),
        (Morning { trouble: trouble(2, "x"), ..all }, "3 stay in the yard, 3 to ring, 2 to look at first"),
        (
            Morning { trouble: trouble(2, "the sheet is locked"), ..quiet() },
            "Look first: the sheet is locked",
        ),
        (
            Morning { trouble: trouble(1, &"long ".repeat(40)), ..quiet() },
            "Look first: long long long long long long long long long long long lo…",
        ),
        (Morning { complaints: hiding, ..quiet() }, "Look first: this column may be the handover"),
        (Morning { machines: 0, ..quiet() }, "No machine was read today"),
        (small(), "1 stays in the yard, 1 to ring"),
    ];
    for (morning, expected) in cases {
        let letter = compose(&morning);
        assert_eq!(letter.subject, expected);
        assert!(letter.subject.chars().count() <= 70, "{expected}");
    }
}

#[test]
fn nothing_due_never_sounds_like_all_is_well_when_something_could_not_be_told() {
    let put_off = Finding { state: State::PutOff, ..many(Section::RingToday, 1).remove(0) };
    let unsure = "214 machines were looked at. Nothing is due as far as the sheets tell, and not all could be told: see below.";
    let cases = [
        (Morning { cannot_tell: small().cannot_tell, ..quiet() }, unsure),
        (Morning { complaints: small().complaints, ..quiet() }, unsure),
        (Morning { trouble: full().trouble, ..quiet() }, unsure),
        (
            Morning { findings: vec![put_off], ..quiet() },
            "214 machines were looked at and nothing is due but what was put off.",
        ),
        (
            Morning { machines: 0, ..quiet() },
            "There is no machine in what was read, so nothing could be judged.",
        ),
    ];
    for (morning, expected) in cases {
        let text = words_of_text(&compose(&morning).text);
        assert!(text.contains(expected), "{text}");
    }
}

#[test]
fn text_and_html_say_the_same() {
    for morning in [quiet(), small(), full(), crowd(40), crowd(200), crowd(2_000), hostile(3)] {
        let letter = compose(&morning);
        assert_eq!(words_of_html(&letter.html), words_of_text(&letter.text));
    }
}

// Our decision: every line may break, or one that is long makes the whole letter wider than a phone.
#[test]
fn no_line_of_the_html_is_kept_from_breaking() {
    for morning in [quiet(), small(), full(), crowd(200), hostile(3)] {
        let html = compose(&morning).html;
        let unbroken = ["nowrap", "<pre", "white-space:pre", "min-width"].map(|style| html.contains(style));
        assert_eq!(unbroken, [false; 4]);
    }
}

#[test]
fn every_finding_stands_in_text_and_html_with_its_machine_its_number_and_its_cells() {
    let morning = full();
    let letter = compose(&morning);
    for said in [words_of_text(&letter.text), words_of_html(&letter.html)] {
        for finding in &morning.findings {
            assert!(said.contains(&finding.machine_name), "{}", finding.machine_name);
            assert!(said.contains(finding.telephone.as_deref().unwrap_or_default()));
            for evidence in &finding.evidence {
                let origin = evidence.origin.as_ref().unwrap();
                assert!(said.contains(&format!("{} {} — {origin}", evidence.what, evidence.value)));
            }
        }
    }
}

#[test]
fn a_letter_is_never_too_long_and_counts_what_it_leaves_out() {
    for count in [0, 1, 40, 200, 2_000] {
        let morning = crowd(count);
        let letter = compose(&morning);
        assert!(letter.html.len() <= 80_000, "{count} findings take {} bytes", letter.html.len());
        let mut left_out = 0;
        for section in Section::ALL {
            let of_section =
                morning.findings.iter().filter(|finding| finding.raised.section == section).count();
            let (shown, more) = shown_and_more(&letter.text, section);
            assert_eq!(shown + more, of_section, "{count}, {}", section.heading());
            left_out += more;
        }
        assert_eq!(
            letter.full_list.is_some(),
            count >= 40,
            "{count}: {left_out} findings left out, and the long foot"
        );
        if let Some(list) = &letter.full_list {
            assert!(morning.findings.iter().all(|finding| list.contains(&finding.machine_name)), "{count}");
            assert!(letter.text.contains("2026-03-02-full.txt"));
        }
    }
}

#[test]
fn much_trouble_does_not_push_the_day_off_the_first_screen() {
    let trouble: Vec<Problem> = (0..5)
        .map(|number| {
            Problem::error(&cell("sheets/a.csv", number, 0), format!("trouble {number}"), "mend it")
        })
        .collect();
    let letter = compose(&Morning { trouble, ..small() });
    let expected = "Look at this first Trouble 0 — sheets/a.csv, A0. Mend it. Trouble 1 — sheets/a.csv, A1. Mend it. \
                    Trouble 2 — sheets/a.csv, A2. Mend it. And 2 more, in the full list with what to do: \
                    Trouble 3 — sheets/a.csv, A3; Trouble 4 — sheets/a.csv, A4 Keep in the yard: 1 machine";
    assert_eq!(letter.subject, "1 stays in the yard, 1 to ring, 5 to look at first");
    for said in [words_of_text(&letter.text), words_of_html(&letter.html)] {
        assert!(said.contains(expected), "{said}");
    }
    let full_list = words_of_text(&letter.full_list.unwrap());
    assert!(full_list.contains("Trouble 4 — sheets/a.csv, A4. Mend it. Keep in the yard"), "{full_list}");
}

#[test]
fn what_is_open_and_what_to_do_with_the_machine_are_never_cut_however_long_the_letter() {
    let checks: Vec<String> = (1..=90).map(|number| format!("check of part number {number}")).collect();
    let open = format!("{} (not done). Do not let it go before that is done.", checks.join(", "));
    assert!(open.len() > 2_000 && open.len() < 4_096, "as long as a rule can say it: {}", open.len());
    for count in [1, 8, 300, 2_000] {
        let mut morning = crowd(count);
        let tyres = finding("rule", "Before handover", Section::KeepInTheYard, "Corvane", "XY11 ZZZ", &open);
        morning.findings.push(Finding { raised: Raised { at_once: true, ..tyres.raised }, ..tyres });
        let letter = compose(&morning);
        assert!(letter.html.len() <= 80_000, "{count}: {} bytes", letter.html.len());
        let said = [words_of_text(&letter.text), words_of_html(&letter.html)];
        for said in said.into_iter().chain(letter.full_list.as_deref().map(words_of_text)) {
            assert!(said.to_lowercase().contains(&open.to_lowercase()), "{count}: {said}");
        }
    }
    // On the bench it is cut only where there is no room, and then stands in the full list.
    for (count, is_whole) in [(8, true), (2_000, false)] {
        let mut morning = crowd(count);
        let bench = finding("rule", "Before handover", Section::OnTheBench, "Corvane", "XY11 ZZZ", &open);
        morning.findings.push(Finding { raised: Raised { at_once: true, ..bench.raised }, ..bench });
        let letter = compose(&morning);
        let instruction = "Do not let it go before that is done.";
        assert_eq!(letter.text.contains(instruction), is_whole, "{count}");
        let anywhere = [Some(letter.text), letter.full_list].into_iter().flatten();
        assert!(anywhere.into_iter().any(|text| words_of_text(&text).contains(instruction)), "{count}");
    }
}

#[test]
fn a_fact_says_when_it_is_blank_and_when_it_is_a_rule_of_thumb() {
    let mut finding = finding("rule", "Rule", Section::OnTheBench, "Bike", "Z1", "do it").shown(
        "front brake",
        " ",
        cell("sheets/checks.csv", 3, 3),
    );
    finding.evidence.push(Evidence::reckoned("first oil change", "600 miles").as_common_practice());
    let text = words_of_text(&compose(&Morning { findings: vec![finding], ..quiet() }).text);
    let expected = "Why: front brake blank — sheets/checks.csv, D3 first oil change 600 miles (a rule of thumb, not \
                    this model's handbook)";
    assert!(text.contains(expected), "{text}");
}

#[test]
fn what_must_not_be_ridden_away_is_left_out_last() {
    for count in [200, 2_000] {
        let letter = compose(&crowd(count));
        let (kept, kept_more) = shown_and_more(&letter.text, Section::KeepInTheYard);
        let (rung, rung_more) = shown_and_more(&letter.text, Section::RingToday);
        assert!(rung_more > 0 && kept > rung, "{count}: {kept} kept, {rung} rung");
        assert!(
            count > 200 || kept_more == 0,
            "{kept_more} machines to keep were left out of {count} findings"
        );
    }
}

#[test]
fn no_rule_takes_the_room_of_what_another_keeps_in_the_yard() {
    let at_once =
        |finding: Finding| Finding { raised: Raised { at_once: true, ..finding.raised }, ..finding };
    let of_rule = |rule: &str, number: usize, thing: usize| {
        let mark = format!("{rule} {number}");
        let text = format!("stop {number} of {thing}: {}", "look at it ".repeat(20));
        let stop = finding(rule, rule, Section::KeepInTheYard, "Larkfield Swift 125", &mark, &text);
        at_once(Finding { key: format!("thing {thing}"), ..stop })
    };
    let own: Vec<Finding> = (0..51)
        .flat_map(|number| (0..8).map(move |thing| (number, thing)))
        .map(|(number, thing)| of_rule("every-service", number, thing))
        .collect();
    let others = |count: usize| {
        (0..count)
            .flat_map(|rule| (0..51).map(move |number| (rule, number)))
            .map(|(rule, number)| of_rule(&format!("other-{rule}"), number, 0))
            .collect::<Vec<_>>()
    };
    let mut shipped: Vec<Finding> = many(Section::KeepInTheYard, 12);
    shipped.extend(many(Section::RingToday, 12));
    let told = |letter: &Letter, section: Section| {
        let text = words_of_text(&letter.text);
        (0..12).filter(|number| text.contains(&format!("{}{number} ", section.heading()))).count()
    };
    for count in [0, 3, 60] {
        let findings = [own.clone(), others(count), shipped.clone()].concat();
        let ships = ["rule".to_owned()].into();
        let letter = compose(&Morning { findings, ships, ..quiet() });
        assert!(letter.html.len() <= 80_000);
        assert_eq!(told(&letter, Section::KeepInTheYard), 12, "{count} others: {}", letter.text);
        let (shown, more) = shown_and_more(&letter.text, Section::KeepInTheYard);
        assert_eq!(shown + more, 51 * 8 + 51 * count + 12);
        let text = words_of_text(&letter.text);
        let first = |said: &str| text.find(said).unwrap_or_else(|| panic!("{said} is not in {text}"));
        assert!(first("A rule Thing") < first("every-service "), "a crowd stands behind: {text}");
        assert!(
            text.contains(&format!(
                "{more} more: in the full list, 2026-03-02-full.txt Of these: every-service "
            )),
            "{text}"
        );
        // Of each machine comes one line before any has a second.
        assert_eq!(text.matches(" of 0: ").count(), shown - 12, "{text}");
        assert!(count > 0 || shown == 12 + 20, "{text}");
        assert!(count > 3 || told(&letter, Section::RingToday) == 12, "{text}");
    }
}

#[test]
fn the_same_findings_in_another_order_make_the_same_letter() {
    let morning = crowd(200);
    let mut turned = morning.clone();
    turned.findings.reverse();
    turned.cannot_tell.reverse();
    turned.complaints.reverse();
    turned.settled.reverse();
    assert_eq!(compose(&morning), compose(&turned));
}

#[test]
fn no_cell_can_break_out_of_its_line() {
    for count in [1, 12, 40] {
        let letter = compose(&hostile(count));
        assert!(letter.html.len() <= 80_000, "{count}: {} bytes", letter.html.len());
        for tag in tags(&letter.html) {
            let name = tag.trim_start_matches('/').split([' ', '>']).next().unwrap_or_default();
            let ours = [
                "!doctype", "html", "head", "meta", "title", "style", "body", "table", "tr", "td", "div",
                "h1", "h2", "h3", "p", "b", "br", "span", "a",
            ];
            assert!(ours.contains(&name), "<{tag}>");
            assert!(
                !tag.contains("onload") && (!tag.contains("href") || tag.contains("href=\"tel:")),
                "<{tag}>"
            );
        }
        let full_list = letter.full_list.clone().unwrap_or_default();
        for said in [&letter.subject, &letter.text, &letter.html, &full_list] {
            let hidden = |letter: &char| {
                (letter.is_control() && *letter != '\n')
                    || matches!(letter, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
            };
            assert_eq!(said.chars().find(hidden), None);
        }
        assert!(!letter.subject.contains('\n') && letter.subject.chars().count() <= 70);
        for text in [&letter.text, &full_list] {
            assert!(!text.lines().any(|line| line.starts_with("Bcc:") || line.starts_with("=H")), "{text}");
        }
    }
}

#[test]
fn a_caution_stands_once_for_a_rule_in_a_section_and_the_general_one_always() {
    let mut morning = full();
    let again =
        finding("missed-checks", "Before handover", Section::KeepInTheYard, "Corvane", "XY11 ZZZ", "no PDI")
            .caution(BRAKES);
    morning.findings.push(again.clone());
    morning.findings.push(Finding {
        raised: tickover::findings::Raised { section: Section::RingToday, ..again.raised },
        ..again
    });
    let letter = compose(&morning);
    for said in [words_of_text(&letter.text), words_of_html(&letter.html)] {
        assert_eq!(said.matches(BRAKES).count(), 2);
        assert_eq!(said.matches(GENERAL_CAUTION).count(), 1);
    }
    for quiet in [quiet(), crowd(2_000)] {
        assert_eq!(words_of_text(&compose(&quiet).text).matches(GENERAL_CAUTION).count(), 1);
    }
}

#[test]
fn no_machine_is_ever_called_ready_or_released() {
    for morning in [quiet(), small(), full(), crowd(200)] {
        let text = compose(&morning).text.to_lowercase();
        let words: BTreeSet<&str> = text.split(|letter: char| !letter.is_alphanumeric()).collect();
        for word in ["ready", "released", "release", "safe", "roadworthy"] {
            assert!(!words.contains(word), "{word}");
        }
    }
}

#[test]
fn a_settled_thing_of_a_machine_that_is_kept_does_not_sound_like_leave_to_go() {
    let mut morning = small();
    let kept =
        morning.findings.iter().find(|finding| finding.raised.section == Section::KeepInTheYard).unwrap();
    morning.settled = vec![Finding { state: State::Settled, ..kept.clone() }];
    let text = words_of_text(&compose(&morning).text);
    assert!(text.contains("C8. It is still to be kept in the yard, see above."), "{text}");
}

#[test]
fn an_answer_puts_off_everything_but_a_machine_that_must_not_be_ridden_away() {
    let mut morning = small();
    for finding in &mut morning.findings {
        finding.state = State::PutOff;
    }
    let letter = compose(&morning);
    assert_eq!(letter.subject, "1 stays in the yard");
    let text = words_of_text(&letter.text);
    assert!(text.contains("By today, Mon 2 Mar; put off by an answer, open since Mon 2 Mar"), "{text}");
    assert!(!text.contains("Ring today"), "{text}");
    assert!(text.contains("Put off by an answer: 1 "), "{text}");
    assert!(text.contains("First service Larkfield Ridge 400, CD23 EFG"), "{text}");
}

#[test]
fn what_cannot_be_told_any_more_stays_open_and_says_so() {
    let mut morning = small();
    let friday = Some(date(2026, 2, 27));
    for (missing, words_of, expected) in [
        (
            "clock reading",
            None,
            "It stays open, although nobody can tell any more whether it still is; not known: clock reading.",
        ),
        (
            "clock reading",
            friday,
            "It stays open as it was on Fri 27 Feb, although nobody can tell any more whether it still is; not known: \
             clock reading.",
        ),
        (
            "a rule that works (rules/first-service-due.rhai:20:8)",
            friday,
            "It stands as it was on Fri 27 Feb and could not be judged anew: its rule breaks off on this machine today \
             (rules/first-service-due.rhai:20:8).",
        ),
        (
            "time: it takes too long",
            friday,
            "It stands as it was on Fri 27 Feb and could not be judged anew: its rule takes too long today.",
        ),
    ] {
        morning.findings[0].no_longer_told = vec![missing.to_owned()];
        morning.findings[0].words_of = words_of;
        let text = words_of_text(&compose(&morning).text);
        assert!(text.contains(expected), "{text}");
    }
}

#[test]
fn whom_to_ring_is_said_and_what_is_missing_for_it() {
    let cases = [
        (Section::RingToday, Some("Priya Raman"), Some("07700 900123"), "Ring Priya Raman on 07700 900123 "),
        (Section::RingToday, Some("Priya Raman"), None, "Ring Priya Raman: no number in the sheets "),
        (Section::BookIn, None, Some("07700 900123"), "Ring 07700 900123, no name beside it in the sheets "),
        (Section::BookIn, Some(" "), Some("\t"), "Ring the customer: no name and no number in the sheets "),
        (Section::OnTheBench, Some("Priya Raman"), Some("07700 900123"), "Z1 Priya Raman, 07700 900123 Do"),
        (Section::KeepInTheYard, None, None, "Z1 Do it."),
    ];
    for (section, customer, telephone, expected) in cases {
        let mut finding = finding("rule", "Rule", section, "Bike", "Z1", "do it");
        finding.customer = customer.map(str::to_owned);
        finding.telephone = telephone.map(str::to_owned);
        let text = words_of_text(&compose(&Morning { findings: vec![finding], ..quiet() }).text);
        assert!(text.contains(expected), "{expected}: {text}");
    }
}

#[test]
fn the_page_suits_a_telephone() {
    let html = compose(&full()).html;
    assert_eq!(html.matches("<table").count(), 1);
    let style = between(&html, "<style>\n", "\n</style>");
    assert!(style.lines().count() <= 10, "{style}");
    for after in html.split("font-size:").skip(1) {
        let size: u32 = after.split("px").next().unwrap().parse().unwrap();
        // What shows a finding may be smaller than what is to be done.
        let shows = after.split_once('>').is_some_and(|(_, words)| words.starts_with("Why: "));
        assert!(size >= if shows { 14 } else { 16 }, "{size} px");
    }
    let links: Vec<&str> = tags(&html).into_iter().filter(|tag| tag.starts_with("a ")).collect();
    assert_eq!(links.len(), 9, "{links:?}");
    assert!(links.iter().all(|link| link.contains("padding:9px 0") && link.contains("display:inline-block")));
    assert!(!html.contains("<img") && !html.contains("http"), "a letter loads nothing");
}

/// The formula of WCAG 2, with pairs whose ratios are published (WCAG 2.2, 1.4.3 and the technique G18).
#[test]
fn the_contrast_formula_gives_the_published_figures() {
    let cases = [
        ("#000000", "#ffffff", 21.0),
        ("#767676", "#ffffff", 4.5422),
        ("#777777", "#ffffff", 4.4781),
        ("#ff0000", "#ffffff", 3.9985),
        ("#b00020", "#ffffff", 7.3250),
        ("#ffc107", "#000000", 12.8831),
    ];
    for (front, back, expected) in cases {
        assert!((contrast(front, back) - expected).abs() < 0.0001, "{front} on {back}");
    }
}

#[test]
fn every_colour_of_writing_can_be_read_on_every_ground_in_light_and_in_dark() {
    let html = compose(&full()).html;
    let dark = between(&html, "@media (prefers-color-scheme:dark){", "</style>");
    let (_, light) = html.split_once("</head>").unwrap();
    for (scheme, fronts, backs) in [(light, 4, 2), (dark, 4, 2)] {
        let front = colours(scheme, "color");
        let back = colours(scheme, "background");
        assert_eq!((front.len(), back.len()), (fronts, backs), "{front:?} {back:?}");
        for (front, back) in front.iter().flat_map(|front| back.iter().map(move |back| (front, back))) {
            assert!(contrast(front, back) >= 4.5, "{front} on {back}: {}", contrast(front, back));
        }
    }
    for tag in tags(light).into_iter().filter(|tag| tag.contains("color:#") || tag.contains("background:#")) {
        assert!(tag.contains("class=\""), "<{tag}> keeps its light colour in the dark");
    }
}

/// How many findings of a section the text shows, and how many it says it left out.
fn shown_and_more(text: &str, section: Section) -> (usize, usize) {
    let Some((_, after)) = text.split_once(&format!("\n\n{}: ", section.heading())) else { return (0, 0) };
    let mut shown = 0;
    for line in after.lines().skip(2) {
        if line.starts_with("* ") {
            shown += 1;
        } else if let Some((more, _)) = line.split_once(" more: in the full list") {
            return (shown, more.parse().unwrap());
        } else if line.starts_with("===") || line.starts_with("Settled since") {
            break;
        }
    }
    (shown, 0)
}

/// The words of a text letter on one line, without its underlines and bullets.
fn words_of_text(text: &str) -> String {
    let is_underline = |line: &&str| {
        !line.is_empty() && (line.trim_matches('=').is_empty() || line.trim_matches('-').is_empty())
    };
    let lines: Vec<&str> = text
        .lines()
        .filter(|line| !is_underline(line))
        .map(|line| line.strip_prefix("* ").unwrap_or(line))
        .collect();
    lines.join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The words of an HTML letter on one line: its body without tags, characters given back their own form.
fn words_of_html(html: &str) -> String {
    let (_, body) = html.split_once("</head>").unwrap();
    let mut words = String::new();
    for piece in body.split('<').skip(1) {
        let (tag, text) = piece.split_once('>').unwrap();
        let name = tag.trim_start_matches('/').split(' ').next().unwrap_or_default();
        if !["a", "b", "span"].contains(&name) {
            words.push(' ');
        }
        words.push_str(text);
    }
    let forms = [("&#60;", "<"), ("&#62;", ">"), ("&#34;", "\""), ("&#39;", "'"), ("&#38;", "&")];
    let words = forms.into_iter().fold(words, |words, (form, letter)| words.replace(form, letter));
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// All tags of a page, without their brackets.
fn tags(html: &str) -> Vec<&str> {
    html.split('<').skip(1).map(|piece| piece.split('>').next().unwrap()).collect()
}

/// What stands between two marks.
fn between<'a>(text: &'a str, start: &str, end: &str) -> &'a str {
    text.split_once(start).unwrap().1.split_once(end).unwrap().0
}

/// The colours that a property is given.
fn colours(style: &str, property: &str) -> BTreeSet<String> {
    let mut colours = BTreeSet::new();
    for (place, _) in style.match_indices(&format!("{property}:#")) {
        let before = style[..place].chars().next_back();
        if matches!(before, Some(';' | '{' | '"')) {
            let start = place + property.len() + 1;
            colours.insert(style[start..start + 7].to_owned());
        }
    }
    colours
}

/// The contrast of two colours by WCAG 2: (lighter + 0.05) / (darker + 0.05).
fn contrast(one: &str, other: &str) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

/// The relative luminance of `#rrggbb` by WCAG 2.
fn luminance(colour: &str) -> f64 {
    let channel = |place: usize| {
        let value = f64::from(u8::from_str_radix(&colour[place..place + 2], 16).unwrap()) / 255.0;
        if value <= 0.03928 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
}

#[test]
fn what_must_be_done_at_once_comes_first_in_its_section() {
    let ring = |mark: &str, rule: &str| {
        finding(rule, rule, Section::RingToday, "Bike", mark, "ring").by(crate::mornings::TODAY)
    };
    let mut diesel = ring("Z9", "wrong-fuel");
    diesel.raised.at_once = true;
    let text = compose(&Morning { findings: vec![ring("A1", "first"), diesel], ..quiet() }).text;
    let place = |mark: &str| text.find(mark).unwrap();
    assert!(place("Z9") < place("A1"), "{text}");
}

#[test]
fn a_copy_in_part_has_its_sections_and_no_others() {
    let whole = full();
    let part = whole.in_part(&[Section::BookIn, Section::OnTheBench]);
    let letter = compose(&part);
    assert!(letter.text.contains("This copy has only Book in and On the bench."), "{}", letter.text);
    let headed = |section: Section| letter.text.contains(&format!("\n{}: ", section.heading()));
    let of_whole = |section| whole.findings.iter().any(|finding| finding.raised.section == section);
    for section in Section::ALL {
        let expected = matches!(section, Section::BookIn | Section::OnTheBench) && of_whole(section);
        assert_eq!(headed(section), expected, "{}", section.heading());
    }
    // What keeps the letter from being whole is everybody's; single cells are for whoever puts the sheets right.
    assert_eq!(part.trouble, whole.trouble);
    assert!(!whole.complaints.is_empty() && part.complaints.is_empty());
    let sheets = whole.in_part(&[Section::PutTheSheetRight]);
    assert_eq!((sheets.complaints, sheets.cannot_tell), (whole.complaints, whole.cannot_tell));
}

#[test]
fn a_copy_in_part_with_nothing_in_it_says_so_of_its_sections_only() {
    let part = Morning { findings: many(Section::RingToday, 2), ..quiet() }.in_part(&[Section::OnTheBench]);
    let letter = compose(&part);
    assert_eq!(letter.subject, "Nothing new to do today");
    let second = letter.text.lines().skip(2).take(3).collect::<Vec<_>>().join(" ");
    assert_eq!(
        second.trim_end(),
        "This copy has only On the bench. 214 machines were looked at, and nothing is due in these sections as far \
         as the sheets tell."
            .replace('\n', " ")
    );
}

#[test]
fn only_what_must_not_leave_the_yard_today_and_was_not_told_is_told_at_once() {
    let new = |mark: &str| {
        finding(
            "missed-checks",
            "Before handover",
            Section::KeepInTheYard,
            "A machine",
            mark,
            "no second ride",
        )
    };
    let morning = Morning {
        findings: vec![
            new("AA01 AAA").by(TODAY),
            new("BB02 BBB").by(date(2026, 3, 9)),
            new("CC03 CCC").since(date(2026, 2, 27)),
            new("DD04 DDD"),
            finding("service-due", "Service", Section::RingToday, "A machine", "EE05 EEE", "due").by(TODAY),
        ],
        ..full()
    };
    let told = BTreeSet::from([morning.findings[3].id()]);
    let at_once = morning.at_once(&told).unwrap();
    let marks: Vec<&str> = at_once.findings.iter().map(|it| it.machine_name.as_str()).collect();
    assert_eq!(marks, ["A machine, AA01 AAA"]);
    let letter = compose(&at_once);
    assert_eq!(letter.subject, "Now: 1 stays in the yard");
    assert!(letter.text.contains("Found since the last letter, and told at once."), "{}", letter.text);
    assert!(!letter.text.contains("Look at this first"), "all else waits: {}", letter.text);
    let all = at_once.findings.iter().map(Finding::id).chain(told).collect();
    assert_eq!(morning.at_once(&all), None, "nothing is told at once twice");
}

#[test]
fn what_came_up_on_a_closed_day_is_new_since_then() {
    let sunday = Finding {
        since: date(2026, 3, 1),
        ..finding("wrong-fuel", "Wrong fuel", Section::RingToday, "A machine", "AA01 AAA", "diesel")
    };
    let letter = compose(&Morning { findings: vec![sunday], ..quiet() });
    assert!(letter.text.contains("New since Sun 1 Mar"), "{}", letter.text);
}

#[test]
fn an_edited_rule_is_said_with_the_machines_that_it_is_about_and_no_more_of_them_than_a_line_bears() {
    let names =
        |count: usize| -> Vec<String> { (1..=count).map(|number| format!("stock {number}")).collect() };
    let mut new = edit("chain-slack", &names(9), "stock 12");
    new.became = RuleBecame::New { since: date(2026, 2, 28) };
    let mut unreadable = edit("mot-due", &[], "stock 12");
    unreadable.effect = None;
    let mut same = edit("wrong-oil", &[], "stock 12");
    same.effect = Some(Effect { same: 4, ..Effect::default() });
    same.examples = (1..=5).map(|number| format!("\"example {number}\" has other facts")).collect();
    let mut untold = edit("wrong-fuel", &[], "stock 12");
    let effect = untold.effect.as_mut().unwrap();
    effect.differences[0].turn = Turn::CannotTell;
    let of = |marks: &[&str]| marks.iter().map(|mark| MachineId::kept(mark)).collect();
    effect.untold_after.insert(vec!["fuel grade".to_owned()], of(&["stock 12", "stock 13"]));
    let letter = compose(&Morning { edits: vec![new, unreadable, same, untold], ..quiet() });
    let (_, told) = letter.text.split_once("Rules changed since the last letter: 4\n").unwrap();
    let (told, _) = told.split_once("\nWhat was read").unwrap();
    assert_data_eq!(
        told,
        str![[r#"
--------------------------------------
What each says today beside what it said before.

* In force since Sat 28 Feb: rules/chain-slack.rhai (new); adds 9, changes
  1.
  Adds: stock 1; stock 2; stock 3; stock 4; stock 5; stock 6; and 3 more.
  Changes: stock 12.
* In force since Mon 2 Mar: rules/mot-due.rhai; what it changes cannot be
  told, as its earlier words cannot be read any more.
* In force since Mon 2 Mar: rules/wrong-oil.rhai; raises the same as before.
  Examples that differ: "example 1" has other facts; "example 2" has other
  facts; "example 3" has other facts; and 2 more.
* In force since Mon 2 Mar: rules/wrong-fuel.rhai; cannot tell 1 any more.
  Cannot tell any more, so it stays open: stock 12.
  Cannot tell of 2 machines; before, of none.

"#]]
    );
}

#[test]
fn an_edited_rule_is_told_to_those_who_get_the_whole_letter_or_put_sheets_right() {
    let morning = Morning { edits: vec![edit("mot-due", &[], "stock 12")], ..full() };
    let has_edit = |morning: &Morning| compose(morning).text.contains("rules/mot-due.rhai; changes 1.");
    assert!(has_edit(&morning));
    assert!(has_edit(&morning.in_part(&[Section::OnTheBench, Section::PutTheSheetRight])));
    assert!(!has_edit(&morning.in_part(&[Section::OnTheBench])));
    assert!(!has_edit(&morning.at_once(&BTreeSet::new()).unwrap()));
}

#[test]
fn what_has_moved_to_a_more_urgent_section_is_said_at_the_top_and_at_its_entry() {
    let bench =
        finding("checks", "Before handover", Section::OnTheBench, "Corvane", "XY11 ZZZ", "do it by 3 Mar")
            .since(date(2026, 2, 27));
    let other =
        finding("checks", "Before handover", Section::KeepInTheYard, "Corvane", "XY12 ZZZ", "not done")
            .since(date(2026, 2, 27));
    let last = compose(&Morning { findings: vec![bench.clone(), other.clone()], ..quiet() });
    let mut keep = bench.clone();
    (keep.raised.section, keep.raised.text) = (Section::KeepInTheYard, "handover is today".to_owned());
    let today = Morning { findings: vec![keep, other], last_letter: last.text, ..quiet() };
    let letter = compose(&today);
    for said in [words_of_text(&letter.text), words_of_html(&letter.html)] {
        let top = "Moved up since the last letter: Corvane, XY11 ZZZ (Keep in the yard). Nothing else is new since the \
                   last letter.";
        assert!(said.contains(top), "{said}");
        let entry = "Corvane, XY11 ZZZ Handover is today. Moved up from On the bench; open since Fri 27 Feb";
        assert!(said.contains(entry), "{said}");
        assert_eq!(said.to_lowercase().matches("moved up").count(), 2, "{said}");
    }
    // The other way, and where it stood before, there is nothing to say of it.
    let last_letter = letter.text;
    for findings in [vec![bench], today.findings] {
        let letter = compose(&Morning { findings, last_letter: last_letter.clone(), ..quiet() });
        assert!(letter.text.contains("Nothing is new since the last letter."), "{}", letter.text);
        assert!(!letter.text.to_lowercase().contains("moved up"), "{}", letter.text);
    }
}
