//! What earlier rounds left, and what this one leaves: the ledger, also when it cannot be used.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::findings::{FindingId, KeptFinding, State};
use crate::ledger::{
    self, Edition, Forgotten, Ledger, LedgerFailure, LetterKind, LetterState, LetterWords, Mishap, Misnamed,
    OutboxLetter,
};
use crate::post::{self, CopyName, FolderLetter};
use crate::problem::{Place, Problem};
use crate::settings::Settings;
use crate::units::{Days, shown_day};
use crate::yard::{MachineId, Records};

use super::{YardFolder, known_again, outbox, stand_in};

/// The ledger as problems name it.
const LEDGER: &str = "kept/ledger.sqlite3";

/// What earlier rounds left.
#[derive(Default)]
pub(super) struct History {
    pub(super) records: Records,
    /// What sheets have taken back.
    pub(super) withdrawn: Records,
    pub(super) findings: Vec<KeptFinding>,
    /// The names of machines that no sheet gives any more, with the last day on which one did.
    pub(super) names_gone: BTreeMap<MachineId, Date>,
    /// The machines of kept findings that are none, or are none of the shop's any more, with what says so.
    pub(super) over: BTreeMap<MachineId, &'static str>,
    pub(super) rules: EarlierRules,
    pub(super) last_told: Option<Date>,
    /// What the letter of that day said; empty where there is none.
    pub(super) last_letter: String,
    /// The findings that no letter needs to tell at once: one has told of them, or waits to.
    pub(super) told: BTreeSet<FindingId>,
    /// Whom the mail server has refused a letter of today, for those that come after it.
    pub(super) refused_today: Vec<Problem>,
    pub(super) problems: Vec<Problem>,
}

/// What shows that a finding of a machine that there never was is settled.
const MISREAD: &str = "raised by a misreading: tickover.toml says something else of that sheet now";

impl History {
    /// Gives what was found under names that are none, or that machines had before, to the machines of today.
    pub(super) fn put_all_names_right(&mut self, misnamed: &Misnamed, current: &Records) {
        self.put_names_right(misnamed);
        self.put_names_right(&known_again::names_now(current));
    }

    /// Gives the findings under names that are none to the machines that those rows name now.
    fn put_names_right(&mut self, misnamed: &Misnamed) {
        for KeptFinding { finding, .. } in &mut self.findings {
            let now = MachineId::each(&finding.identity).find_map(|name| misnamed.get(&name));
            if let Some(Some(now)) = now {
                finding.identity.clone_from(now);
            }
        }
        self.names_gone.retain(|name, _| misnamed.get(name).is_none_or(Option::is_none));
        let of_no_machine = misnamed.iter().filter(|(_, now)| now.is_none());
        self.over.extend(of_no_machine.map(|(name, _)| (name.clone(), MISREAD)));
    }
}

/// The rules of earlier rounds, by name.
#[derive(Default)]
pub(super) struct EarlierRules {
    /// Their texts as they were last accepted.
    pub(super) accepted: BTreeMap<String, String>,
    /// Since when each of these is in force as it is, where anybody knows.
    pub(super) since: BTreeMap<String, Date>,
    /// The texts that the last letter of an earlier day rests on, where anybody noted them.
    pub(super) told: Option<BTreeMap<String, String>>,
}

/// Opens the ledger to keep in; one that is damaged or lost is mended from its copies. Where it cannot be written it is
/// at least read; where it cannot even be read the round goes on without a history, and a problem says so.
///
/// Letters that were told without the ledger are put back into it, with what became of their mails; `has_account` is
/// whether letters go out by mail at all.
pub(super) fn open(
    folder: &YardFolder,
    keeps: bool,
    has_account: bool,
    today: Date,
) -> (Ledger, Vec<Problem>) {
    let path = folder.ledger();
    if !keeps {
        let (ledger, mut problems) = open_to_read(folder);
        problems.extend(remembered(&ledger, &path, None, today));
        return (ledger, problems);
    }
    let letters = post::letters_in_folder(&folder.digests(), today);
    match Ledger::open_mended(&path, today, !letters.is_empty()) {
        Ok((mut ledger, mishap)) => {
            let mut problems = Vec::new();
            problems.extend(stand_in::take_in(&mut ledger, folder));
            let put_back = put_letters_back(&mut ledger, folder, letters, has_account, today);
            problems.extend(put_back.err().map(|failure| as_problem(&failure)));
            // That a new ledger has no copies is no wonder.
            let is_new = mishap.is_some();
            problems.extend(remembered(&ledger, &path, mishap, today));
            problems.extend(at_risk(&ledger, is_new, today));
            (ledger, problems)
        }
        Err(failure) => {
            // What keeps it from being read as well is mostly the same, and is said once. In the place of one that is
            // lost nothing is to be read, and the letter must not take the place of one that was written before.
            let ledger = if path.exists() { open_to_read(folder).0 } else { in_memory() };
            let mut problems = vec![as_problem(&failure)];
            problems.extend(remembered(&ledger, &path, None, today));
            (ledger, problems)
        }
    }
}

/// Opens the ledger to read; where it cannot be, one that knows nothing stands in, and a problem says so.
pub(super) fn open_to_read(folder: &YardFolder) -> (Ledger, Vec<Problem>) {
    match Ledger::open_read_only(&folder.ledger()) {
        Ok(ledger) => (ledger, Vec::new()),
        Err(failure) => (in_memory(), vec![as_problem(&failure)]),
    }
}

fn in_memory() -> Ledger {
    Ledger::in_memory().expect("a ledger in memory needs nothing from outside")
}

/// What befell the ledger lately. The letter of that day may have been written before, so the next day's says it, too.
fn remembered(ledger: &Ledger, path: &Path, just_now: Option<Mishap>, today: Date) -> Vec<Problem> {
    let last_told = ledger.last_told_before(today).ok().flatten();
    let mut mishaps = ledger::mishaps(path);
    mishaps.extend(just_now);
    mishaps.sort();
    mishaps.dedup();
    mishaps.retain(|mishap| mishap.day <= today && last_told.is_none_or(|told| told <= mishap.day));
    mishaps.iter().map(|mishap| parted(Place::file(LEDGER), &mishap.words)).collect()
}

/// What puts the ledger at risk although it can be used: no copies, no room, another PC's disk.
fn at_risk(ledger: &Ledger, is_new: bool, today: Date) -> Vec<Problem> {
    let mut problems = Vec::new();
    match ledger.uncopied_since(today) {
        Ok(None) => {}
        Ok(Some(_)) if is_new => {}
        Ok(Some(day)) => problems.push(Problem::error(
            Place::file("kept/copies"),
            format!("there is no copy of the ledger since {}: none could be made, or they are gone", shown_day(day)),
            "See that nobody takes them away, that the disk has room for another ledger, and that the account that runs \
             Tickover may write there.",
        )),
        Err(failure) => problems.push(as_problem(&failure)),
    }
    problems.extend(ledger.set_room_aside().err().map(|failure| as_problem(&failure)));
    problems.extend(ledger.network_disk().map(|kind| {
        Problem::error(
            Place::file(LEDGER),
            format!("the ledger lies on another PC's disk ({kind}), where what was kept last may be lost"),
            "Put the yard folder on this PC's own disk; the exports may stay where they are, named in tickover.toml.",
        )
    }));
    problems
}

/// What the letter says where letters were mailed until now and no account can be used any more: whoever took it out by
/// mistake would wait for mail in vain.
pub(super) fn mail_turned_off(ledger: &Ledger, settings: &Settings, today: Date) -> Option<Problem> {
    let was_mailed = settings.mail.is_none() && ledger.was_mailed_before(today).unwrap_or(false);
    // What is wrong with the account is a problem by itself.
    let (why, help) = if settings.mail_in_doubt {
        ("[mail] cannot be used as it is written", "Put right what is told of [mail].")
    } else {
        (
            "there is no mail account any more",
            "Put [mail] back; if it was taken out on purpose, look into digests/ from now on.",
        )
    };
    was_mailed.then(|| {
        let what = format!(
            "the letter before this one was to go out by mail, and this one only lies in digests/, as {why}"
        );
        Problem::error(Place::file("tickover.toml"), what, help)
    })
}

/// Notes in the ledger which letters stand in the folder that it does not know: it is an older copy, or was out of use
/// when they were told. No day that was told is told again.
fn put_letters_back(
    ledger: &mut Ledger,
    folder: &YardFolder,
    letters: BTreeSet<CopyName>,
    has_account: bool,
    today: Date,
) -> Result<(), LedgerFailure> {
    let folder = folder.digests();
    for name in letters {
        let kind = if name.at_once { LetterKind::AtOnce } else { LetterKind::Morning };
        if !ledger.has_letter(name.day, kind, name.edition)? {
            let mut letter = told_before(name, kind, post::letter_in_folder(&folder, name));
            if has_account && ledger::is_unsent(&letter.edition.message_id) {
                if name.day == today {
                    // It is made anew, and kept this time.
                    continue;
                }
                letter.accepted = None;
            }
            ledger.put_back(&letter)?;
        }
    }
    Ok(())
}

/// A letter of the folder as the ledger keeps it. The moment that it was made is not known, and its day's beginning stands
/// for it.
fn told_before(name: CopyName, kind: LetterKind, letter: FolderLetter) -> OutboxLetter {
    let CopyName { day, at_once, edition: number } = name;
    let FolderLetter { message_id, subject, text, html, eml } = letter;
    let unknown =
        || format!("<{}.{day}.{number}.copy@tickover.invalid>", if at_once { "at-once" } else { "digest" });
    let made = day.to_zoned_datetime(TimeZone::UTC).map_or(Timestamp::UNIX_EPOCH, |begun| begun.timestamp());
    OutboxLetter {
        edition: Edition { day, kind, number, message_id: message_id.unwrap_or_else(unknown) },
        words: LetterWords { subject, text, html, full_list: None },
        eml,
        made,
        state: LetterState::Delivered,
        accepted: Some(made),
    }
}

/// On how many of the last fourteen days there must have been a round before anything is forgotten: a shop that opens
/// three days a week has six, and a clock that has just leapt none.
const DAYS_IN_USE: usize = 5;

/// Forgets what has had its time.
fn forget(ledger: &mut Ledger, folder: &YardFolder, settings: &Settings, today: Date) -> Vec<Problem> {
    let mut problems = Vec::new();
    let unseen = Days(settings.retention.unseen_days.into());
    match ledger.forget(today, unseen) {
        Ok(Forgotten { records: 0, settled: 0, open: 0 }) => {}
        Ok(Forgotten { records, settled, open }) => {
            tracing::info!(records, settled, open, "forgotten, as no sheet names these machines any more");
        }
        Err(failure) => problems.push(as_problem(&failure)),
    }
    // No letter lies longer in the folder than its words do in the ledger.
    if let Some(since) = unseen.min(ledger::LETTER_DAYS).before(today)
        && let Err(failure) = post::forget_letters_before(&folder.digests(), since)
    {
        problems.push(parted(Place::file("digests"), &format!("failed to {failure}")));
    }
    problems
}

/// What is done once a day after the round: what has had its time is forgotten, and the ledger is copied.
pub(super) fn care_for(
    ledger: &mut Ledger,
    folder: &YardFolder,
    settings: &Settings,
    today: Date,
) -> Vec<Problem> {
    if !ledger.wants_copy(today) {
        return Vec::new();
    }
    let mut problems = Vec::new();
    // By a clock that has leapt ahead everything would be old.
    if ledger.days_copied_before(today) >= DAYS_IN_USE {
        problems.extend(forget(ledger, folder, settings, today));
    }
    problems.extend(ledger.make_copy(today).err().map(|failure| as_problem(&failure)));
    problems
}

/// Reads what earlier rounds left. What cannot be read is missed, and a problem says so.
///
/// `no_copy` are the days whose letters have no copy in the folder.
pub(super) fn history(ledger: &Ledger, current: &Records, no_copy: &BTreeSet<Date>, today: Date) -> History {
    let mut missed = Missed::default();
    let (records, withdrawn) = missed.read(ledger.kept_and_withdrawn(current));
    let findings = missed.read(ledger.kept_findings(today));
    let names_gone = missed.read(ledger.names_gone(current, today));
    let mut told = missed.read(ledger.to_be_told(today));
    let is_told = |kept: &&KeptFinding| kept.told.is_some() && kept.finding.state != State::Settled;
    told.extend(findings.iter().filter(is_told).map(|kept| kept.finding.id()));
    let rules = EarlierRules {
        accepted: missed.read(ledger.accepted_rules(today)),
        since: missed.read(ledger.rules_since()),
        told: missed.read(ledger.rules_last_told(today)),
    };
    let (last_told, last_letter) = of_letter(missed.read(ledger.last_letter_before(today)));
    let troubles = missed.read(ledger.mail_troubles(today));
    let refused = missed.read(ledger.refused_on(today));
    let unkept = missed.read(ledger.unkept_letters(today));
    let is_out_of_order = missed.read(ledger.is_out_of_order(today));
    let mut problems = missed.problems;
    problems.extend(stand_in::of_unkept(&unkept, no_copy, today));
    problems.extend(outbox::of_earlier(&troubles, no_copy, today));
    problems.extend(is_out_of_order.then(|| {
        parted(
            Place::file("tickover run"),
            "a letter of this date went out before that of an earlier day, so this PC's clock was wrong for a while; see \
             that its date is right now",
        )
    }));
    History {
        records,
        withdrawn,
        findings,
        names_gone,
        over: BTreeMap::new(),
        rules,
        last_told,
        last_letter,
        told,
        refused_today: outbox::of_earlier(&refused, no_copy, today),
        problems,
    }
}

/// What of the ledger could not be read.
#[derive(Default)]
struct Missed {
    /// Each failure once, however much it keeps from being read.
    problems: Vec<Problem>,
}

impl Missed {
    /// What was read; nothing where it could not be, and a problem says so.
    fn read<T: Default>(&mut self, read: Result<T, LedgerFailure>) -> T {
        read.unwrap_or_else(|failure| {
            let problem = as_problem(&failure);
            if !self.problems.contains(&problem) {
                self.problems.push(problem);
            }
            T::default()
        })
    }
}

/// The day of a letter and all that it said.
fn of_letter(letter: Option<OutboxLetter>) -> (Option<Date>, String) {
    let Some(letter) = letter else { return (None, String::new()) };
    (Some(letter.edition.day), letter.words.whole().to_owned())
}

/// A failure of the ledger as the letter tells it.
pub(super) fn as_problem(failure: &LedgerFailure) -> Problem {
    parted(Place::file(LEDGER), &failure.to_string())
}

/// A failure's words as a problem; they are `what is wrong; what to do`.
pub(super) fn parted(place: Place, words: &str) -> Problem {
    let (what, help) = words.split_once("; ").unwrap_or((words, "see that its disk is sound"));
    let mut letters = help.chars();
    let first = letters.next().map(char::to_uppercase).into_iter().flatten().collect::<String>();
    Problem::error(place, what, format!("{first}{}.", letters.as_str()))
}
