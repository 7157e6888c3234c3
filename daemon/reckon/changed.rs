//! Whether a job's text says that a fluid or a part that ages was changed, or only names it: `brake fluid checked`.
//!
//! Common practice, no source: a bare `brake fluid` among the works done is a change; looked at, topped up, leaking, sold
//! or advised it is none; one of two circuits is not both. What may be either is unclear, and nobody's guess.

use std::ops::Range;

use super::job_text::{Named, Place, Said, at_most_said, ends_sentence, surely_lacks, surely_lacks_phrase};
use super::put_off::put_off;
use crate::settings::{is_among, words_of};

/// What says that the old went out and new came in.
const CHANGED: &str = "\
    bled bleed bleeding carried change changed changing chg chgd chge complete completed done exchange exchanged flush \
    flushed flushing fresh new refill refilled renew renewal renewed renewing replace replaced replacement replacing swapped";

/// Of them, what is nothing else than a change.
const CERTAINLY_CHANGED: &str = "bled changed chgd exchanged flushed refilled renewed replaced swapped";

/// What says that it was looked at, added to, sold or spoken of, or how it was found.
const NAMED_ONLY: &str = "\
    added adv advise advised advises advisories advisory black bought bubbles check checked checking checks chk chkd clean \
    cleaned clear collected contaminated counter cover dark dirty fail failed fails fine good inspect inspected inspection leak leaked \
    leaking leaks level levels look looked loss lost low lowish max min moisture monitor noted ok okay pdi recommended \
    report seen serviceable sold spill spilled spilt stock supplied test tested testing tests top topped topping topup \
    warning water weep weeping weeps";

/// What makes another thing of it when it stands right behind: `brake fluid hose`, `coolant leak`.
const ANOTHER_THING: &str = "\
    banjo bottle bottles cap caps gauge hose hoses lamp leak leaks level levels light line lines loss pipe pipes \
    pump res reservoir reservoirs seal seals sensor smell stain stains switch tank tester union warning window";

/// What joins it with something else that was done.
pub(super) const JOINING: &str = "also and inc incl included including plus then with";

/// What says nothing of it.
const SAYING_NOTHING: &str = "\
    a all annual as at biennial both by dot ends fully handbook hour hours hr hrs in labour litre litres ml months mot of on \
    only out per schedule service serviced system the to too two under warranty year yearly years yr yrs";

/// What else may have been done to another thing, so that what stands before it is a list of works done.
const DONE_TO_OTHERS: &str = "\
    adjusted balanced cleaned fitted fixed lubed lubricated oiled rebuilt repaired serviced set tensioned tightened";

/// What is done to it, as somebody is to do it: `brake fluid to change`.
const TO_BE_DONE: &str = "be bleed change do exchange flush refill renew replace swap";

/// What begins a part of a sentence that puts off all that was named before: `brake fluid, chain - next service`.
const PUTTING_OFF: &str =
    "booked due later needed next outstanding overdue pending quote quoted required tba tbc";

/// The two circuits of a brake, as they are written.
const FRONT: &str = "fr front frt";
const REAR: &str = "back rear rr";

/// What one place in a text says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Here {
    Not,
    Unclear,
    Front,
    Rear,
    All,
}

/// What a job's text says of something that is changed when it has aged.
pub(super) fn said_changed(text: &str, phrase: &str) -> Said {
    let by_name = || with_its_name(text, phrase).map(|(text, most)| said_by_name(&text, phrase).min(most));
    let said = match said_by_name(text, phrase) {
        Said::Not => by_name().unwrap_or(Said::Not),
        said => said,
    };
    at_most_said(said, text)
}

/// A text that speaks of a fluid without its name, with the name put in, and the most that it can say: `new brake hoses and
/// fluid` is of brake fluid, `all fluids changed` or `calipers overhauled, new fluid` may be.
fn with_its_name(text: &str, phrase: &str) -> Option<(String, Said)> {
    const OTHER_FLUIDS: &str = "brake clutch coolant fork hydraulic screen washer";
    const BRAKES: &str = "braided brake brakes caliper calipers calliper callipers disc discs pad pads";
    const HOSES: &str = "hose hoses line lines pipe pipes";
    if surely_lacks(text, "fluid") {
        return None;
    }
    let text = text.to_lowercase();
    if text.contains("all fluids") {
        let is_one = matches!(phrase, "brake fluid" | "coolant");
        return is_one.then(|| (text.replace("all fluids", phrase), Said::Unclear));
    }
    let words = words_of(&text);
    let is_fluid = |place: &usize| matches!(words[*place].as_str(), "fluid" | "fluids");
    let place = (0..words.len()).find(is_fluid)?;
    let before: Vec<&str> =
        words[..place].iter().rev().map(String::as_str).filter(|word| *word != "new").collect();
    let is_another = before.first().is_some_and(|word| is_among(word, OTHER_FLUIDS));
    if phrase != "brake fluid" || is_another || !words.iter().any(|word| is_among(word, BRAKES)) {
        return None;
    }
    let is_with_hoses = match before.as_slice() {
        ["and", hoses, "brake", ..] | [hoses, "brake", ..] => is_among(hoses, HOSES),
        _ => false,
    };
    let most = if is_with_hoses { Said::Done } else { Said::Unclear };
    Some((text.replacen("fluid", phrase, 1).replacen("brake fluids", phrase, 1), most))
}

/// The same of a text that names it.
fn said_by_name(text: &str, phrase: &str) -> Said {
    if surely_lacks_phrase(text, phrase) {
        return Said::Not;
    }
    // A dash between blanks parts what is said from what it is said of, and both circuits are no list.
    let text = text.to_lowercase().replace(" - ", ": ").replace(" – ", ": ").replace('&', " and ");
    let text = text.replace("front/rear", "front and rear").replace("front + rear", "front and rear");
    let text = with_other_fluid(&text.replace(['✗', '✘', '❌', '×'], " x "), phrase);
    // What is bled out of anything but brake and clutch is air.
    let is_bled = words_of(phrase).iter().any(|word| is_among(word, "bled bleed fluid dot"));
    let text = if is_bled { text } else { text.replace("bled", "topped").replace("bleed", "topped") };
    let Some(named) = Named::in_text(&text, phrase) else { return Said::Not };
    let here: Vec<Here> = named.places().map(|place| here(&named, place)).collect();
    let has = |wanted: Here| here.contains(&wanted);
    match () {
        () if has(Here::All) || (has(Here::Front) && has(Here::Rear)) => Said::Done,
        () if has(Here::Unclear) || has(Here::Front) || has(Here::Rear) => Said::Unclear,
        () => Said::Not,
    }
}

/// A text in which the fluids of brake and clutch are not named as one, so that the phrase stands in it: `brake and clutch
/// fluid`.
fn with_other_fluid(text: &str, phrase: &str) -> String {
    let mut text = text.split(' ').filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ");
    let words = words_of(phrase);
    let [of, fluid] = words.as_slice() else { return text };
    for joint in [" and ", "/", " / ", " + ", "+"] {
        for other in ["brake", "clutch"] {
            text = text.replace(&format!("{of}{joint}{other} {fluid}"), &format!("{of} {fluid}"));
        }
    }
    text
}

/// What the words around one place say.
fn here(named: &Named, place: Place) -> Here {
    let words = &named.parts[place.part].1;
    let (before, behind) = (&words[..place.start], &words[place.start + place.length..]);
    let said = named.said(place);
    let to_be_done = |pair: &[String]| pair[0] == "to" && is_among(&pair[1], TO_BE_DONE);
    if said == Said::Not || is_of_another_thing(behind) || words.windows(2).any(to_be_done) {
        return Here::Not;
    }
    if leaves_open(words) {
        return Here::Unclear;
    }
    let backwards: Vec<&str> = before.iter().rev().map(String::as_str).collect();
    let forwards: Vec<&str> = behind.iter().map(String::as_str).collect();
    let sides = [Side::of(&backwards), Side::of(&forwards)];
    if sides.iter().any(|side| side.is_changed) {
        return if said == Said::Unclear { Here::Unclear } else { circuits(&sides) };
    }
    if next_says_changed(named, place) || said == Said::Done && is_checked_and_changed(&sides[1]) {
        return circuits(&sides);
    }
    if gives_its_moisture(named, place) {
        return Here::Not;
    }
    let others = || sides.iter().flat_map(|side| side.rest);
    let changes = others().any(|word| is_among(word, CHANGED));
    let only_named = |side: &Side<'_>| side.rest.iter().any(|word| is_among(word, NAMED_ONLY));
    if sides.iter().any(only_named) {
        let of_others = sides.iter().all(|side| side.is_joined || !only_named(side));
        return if of_others || changes { Here::Unclear } else { Here::Not };
    }
    if said == Said::Unclear || sides.iter().any(|side| !side.rest.is_empty() && !side.is_joined) {
        return Here::Unclear;
    }
    match around(named, place) {
        Here::All => circuits(&sides),
        other => other,
    }
}

/// Whether nothing but a small share of a hundred stands behind it, which is the water that was found in it: `brake fluid 2%`.
fn gives_its_moisture(named: &Named, place: Place) -> bool {
    const MOST: u32 = 10;
    let (written, words) = &named.parts[place.part];
    let behind = &words[place.start + place.length..];
    let next = named.parts.get(place.part + 1).filter(|_| !written.contains('%'));
    let (shown, figures) = match next {
        Some((next, words)) => (next, [behind, words].concat()),
        None => (written, behind.to_vec()),
    };
    let is_small = |figure: &String| figure.parse::<u32>().is_ok_and(|share| share <= MOST);
    shown.contains('%') && !figures.is_empty() && figures.iter().all(is_small)
}

/// Whether the words behind it make another thing of it: `coolant hose`, `coolant temp sensor`.
fn is_of_another_thing(behind: &[String]) -> bool {
    let is = |place: usize| behind.get(place).is_some_and(|word| is_among(word, ANOTHER_THING));
    let adds = |word: &String| {
        !is_among(word, CHANGED)
            && !is_among(word, JOINING)
            && !is_among(word, NAMED_ONLY)
            && !says_nothing(word)
    };
    is(0) || (is(1) && adds(&behind[0]))
}

/// Whether a part of a sentence may be of something else than a change, whatever else is in it: `brake fluid as new`, a
/// cross, or a number of bottles or what one holds.
fn leaves_open(words: &[String]) -> bool {
    let is_count = |word: &String| {
        let digits = |ending: &str| {
            word.strip_suffix(ending).is_some_and(|it| it.chars().all(|it| it.is_ascii_digit()))
        };
        let times = word.strip_prefix('x').is_some_and(|it| it.chars().all(|it| it.is_ascii_digit()));
        times || digits("x") || digits("ml")
    };
    words.windows(2).any(|pair| pair[1] == "new" && is_among(&pair[0], "as like"))
        || words.iter().any(is_count)
}

/// The words on one side of a place, nearest first.
struct Side<'w> {
    /// The circuits that are named next to it.
    circuits: [bool; 2],
    /// Whether a change stands next to it, with nothing but circuits and empty words between.
    is_changed: bool,
    /// Whether what is left is joined to it as another thing.
    is_joined: bool,
    /// The words from the first that says something else.
    rest: &'w [&'w str],
}

impl<'w> Side<'w> {
    fn of(words: &'w [&'w str]) -> Side<'w> {
        let mut side = Side { circuits: [false; 2], is_changed: false, is_joined: false, rest: &[] };
        for (index, word) in words.iter().enumerate() {
            // `brake fluid and rear pads`: what comes after the joint is of something else.
            let is_own = !side.is_joined || side.circuits.contains(&true);
            if is_among(word, FRONT) || is_among(word, REAR) {
                side.circuits[0] |= is_own && is_among(word, FRONT);
                side.circuits[1] |= is_own && is_among(word, REAR);
            } else if is_among(word, CHANGED) {
                side.is_changed = true;
            } else if is_among(word, JOINING) {
                side.is_joined = true;
            } else if !says_nothing(word) {
                side.rest = &words[index..];
                break;
            }
        }
        side
    }
}

/// Whether all that is said behind it is that it was looked at and then changed: `brake fluid checked and changed`.
fn is_checked_and_changed(behind: &Side<'_>) -> bool {
    let [named @ .., and, changed] = behind.rest else { return false };
    is_among(and, "and then")
        && is_among(changed, CERTAINLY_CHANGED)
        && named.iter().all(|word| is_among(word, NAMED_ONLY))
}

/// Whether a word says nothing of what was done: an empty one, an initial, or a figure such as `DOT4` or `2yr`.
fn says_nothing(word: &str) -> bool {
    is_among(word, SAYING_NOTHING)
        || word.chars().nth(1).is_none()
        || word.contains(|letter: char| letter.is_ascii_digit())
}

/// Which circuits a change is of: all, where none is named or both are.
fn circuits(sides: &[Side<'_>; 2]) -> Here {
    let named = |circuit: usize| sides.iter().any(|side| side.circuits[circuit]);
    match (named(0), named(1)) {
        (true, false) => Here::Front,
        (false, true) => Here::Rear,
        _ => Here::All,
    }
}

/// What the other parts of the sentence say of something that stands bare in it.
fn around(named: &Named, place: Place) -> Here {
    let sentence = sentence(named, place.part);
    let words = |part: usize| named.parts[part].1.iter().map(String::as_str).collect::<Vec<_>>();
    let is_verb = |word: &&str| is_among(word, CHANGED) || is_among(word, DONE_TO_OTHERS);
    if let Some(said) = next_says(named, place, sentence.end) {
        return said;
    }
    // `oil, brake fluid, coolant checked`: what ends the list may be said of all of it, and what begins it, too.
    let says = |words: &[&str]| words.iter().any(|word| is_verb(word) || is_among(word, NAMED_ONLY));
    let begins_with = |words: &[&str], list: &str| {
        words.iter().find(|word| !is_empty(word)).is_some_and(|word| is_among(word, list))
    };
    let mut behind = place.part + 1..sentence.end;
    let is_put_off = |part: usize| {
        begins_with(&words(part), PUTTING_OFF) || put_off(&named.parts[part].1, false) == Some(Said::Not)
    };
    if behind.any(is_put_off) {
        return Here::Unclear;
    }
    // A service in between is not looked at, and so ends the list: `brake fluid, annual service, tyres checked`.
    let is_own_job = |words: &[&str]| words.iter().any(|word| is_among(word, "mot service serviced"));
    let first_behind =
        (place.part + 1..sentence.end).map(words).find(|words| says(words) || is_own_job(words));
    let first_before = (sentence.start..place.part).rev().map(words).find(|words| says(words));
    let shared = first_behind
        .is_some_and(|words| words.len() > 1 && words.last().is_some_and(|word| is_among(word, NAMED_ONLY)))
        || first_before.is_some_and(|words| begins_with(&words, NAMED_ONLY));
    if shared { Here::Unclear } else { Here::All }
}

/// What the part behind something that stands bare says of it alone; `None` where it says nothing of it.
fn next_says(named: &Named, place: Place, sentence_ends: usize) -> Option<Here> {
    let next: Vec<&str> = named.parts.get(place.part + 1)?.1.iter().map(String::as_str).collect();
    let named_only = |word: &&str| is_among(word, NAMED_ONLY) || is_among(word, ANOTHER_THING);
    let begins_so = next.iter().find(|word| !is_empty(word)).is_some_and(named_only);
    let is_all = next.iter().all(|word| is_empty(word) || named_only(word));
    if place.part + 1 >= sentence_ends {
        return (begins_so && is_all).then_some(Here::Unclear);
    }
    let has = |circuit: &str| next.iter().any(|word| is_among(word, circuit));
    match next[..] {
        ["no" | "x"] => Some(Here::Not),
        // `fork oil + seals`: what is added is another work.
        _ if begins_so && named.parts[place.part].0.ends_with(['+', '&']) => None,
        _ if begins_so && is_all => Some(Here::Not),
        _ if begins_so && named.parts[place.part].0.ends_with([':', '(']) => Some(Here::Unclear),
        _ if begins_so => Some(Here::All),
        _ if next.iter().all(|word| is_empty(word)) && has(FRONT) != has(REAR) => {
            Some(if has(FRONT) { Here::Front } else { Here::Rear })
        }
        _ => None,
    }
}

/// Whether the next part of the sentence says no more than that it was changed: `brake fluid dirty, replaced`.
fn next_says_changed(named: &Named, place: Place) -> bool {
    if place.part + 1 >= sentence(named, place.part).end {
        return false;
    }
    let next = &named.parts[place.part + 1].1;
    next.iter().any(|word| is_among(word, CHANGED))
        && next.iter().all(|word| is_empty(word) || is_among(word, CHANGED))
}

/// Whether a word says no more than which circuit, or nothing.
fn is_empty(word: &str) -> bool {
    says_nothing(word) || is_among(word, JOINING) || is_among(word, FRONT) || is_among(word, REAR)
}

/// The parts of the sentence that a part stands in.
fn sentence(named: &Named, part: usize) -> Range<usize> {
    let ends = |part: &usize| ends_sentence(&named.parts[*part].0);
    let start = (0..part).rev().find(ends).map_or(0, |end| end + 1);
    let end = (part..named.parts.len()).find(ends).map_or(named.parts.len(), |end| end + 1);
    start..end
}
