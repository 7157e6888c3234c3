//! Whether the oil that went in is the oil that the machine asks for; the class decides over a wet clutch.

use jiff::civil::Date;

use super::job_text::says_done;
use super::oil_text::{JasoClass, OilText, oil_text};
use super::short_words::in_full;
use super::subject::{Subject, content_keys, handbook_cell};
use super::{Fact, Missing, OilAnswer, OilJudged, Reckoned};
use crate::origin::Evidence;
use crate::settings::words_of;
use crate::units::shown_day;
use crate::yard::{Job, MachineKind};

/// What a job's text says when the engine's oil was changed, though nobody wrote down which went in.
const OIL_CHANGED: [&str; 9] = [
    "change oil",
    "changed oil",
    "engine oil changed",
    "new engine oil",
    "oil and filter",
    "oil change",
    "oil changed",
    "oil filter change",
    "oil service",
];

/// Other oils than the engine's: a change of those is none of the engine's.
pub(super) const OTHER_OILS: [&str; 6] = ["drive", "fork", "forks", "gear", "gearbox", "transmission"];

/// What a job's text says when oil was added to that in the engine.
const TOPPED_UP: [&str; 4] = ["top up", "topped", "topup", "topping"];

/// The jobs at which oil went into the engine, each against what the machine asks.
///
/// Beside the jobs with an oil written down these are those whose text says that the oil was changed, and the
/// first service, at which the running-in oil comes out: which oil went in at those cannot be told.
pub(super) fn oils(subject: &Subject<'_>) -> Vec<OilJudged> {
    let first_services: Vec<&Job> = subject.works().first_services().collect();
    let is_oil_job = |job: &&Job| {
        job.oil.is_some()
            || says_oil_changed(job)
            || first_services.iter().any(|first| std::ptr::eq(*first, *job))
    };
    let day = |job: &Job| job.day.as_ref().map(|day| day.value);
    let come = subject.machine.jobs.iter().filter(|job| subject.has_come(job.day.as_ref()));
    let mut jobs: Vec<&Job> = come.filter(is_oil_job).collect();
    let last_change: Option<Date> =
        jobs.iter().filter(|job| !is_top_up(job)).filter_map(|job| day(job)).max();
    // What a sheet has taken back clears nothing, and a wrong oil that it told of may be in there all the same.
    let oil = |job: &Job| job.oil.as_ref().map(|oil| oil.value.clone());
    let says = |job: &Job| (day(job), oil(job));
    let counting: Vec<_> = jobs.iter().map(|job| says(job)).collect();
    let is_wrong = |job: &&Job| judged(subject, job).is_ok_and(|answer| answer.value != OilAnswer::Right);
    let withdrawn = subject.machine.withdrawn.jobs.iter().filter(|job| subject.has_come(job.day.as_ref()));
    jobs.extend(withdrawn.filter(is_wrong).filter(|job| !counting.contains(&says(job))));
    let what = |job: &Job| match job.oil.as_ref().map(|oil| oil.value.trim()) {
        None | Some("") => "no oil".to_owned(),
        Some(oil) => oil.to_owned(),
    };
    let content = |job: &Job| (job.clock.as_ref().map(|clock| clock.value), job.done.value.clone());
    let keys = content_keys(&jobs, day, what, content);
    jobs.into_iter()
        .zip(keys)
        .map(|(job, key)| OilJudged {
            key,
            day: day(job),
            oil: job.oil.as_ref().map(|oil| oil.value.clone()).unwrap_or_default(),
            // An oil of an unknown day may be the one that is in now.
            in_the_engine: day(job).is_none_or(|day| last_change.is_none_or(|last| day >= last)),
            answer: judged(subject, job),
        })
        .collect()
}

pub(super) fn says_oil_changed(job: &Job) -> bool {
    let done = in_full(&job.done.value);
    let other = words_of(&done).iter().any(|word| OTHER_OILS.contains(&word.as_str()));
    !other && job.doubt.is_none() && OIL_CHANGED.iter().any(|phrase| says_done(&done, phrase))
}

pub(super) fn is_top_up(job: &Job) -> bool {
    job.doubt.is_none() && TOPPED_UP.iter().any(|phrase| says_done(&job.done.value, phrase))
}

/// One job's oil against what the machine's own row asks, else the handbook.
fn judged(subject: &Subject<'_>, job: &Job) -> Fact<OilAnswer> {
    let machine = subject.machine;
    let page = machine.page.model.as_ref().and_then(|model| model.oil.as_ref());
    let (asked, is_default) = match &machine.row.oil_asked {
        Some(own) => (Some(own), false),
        None => (page, machine.page.model_is_default),
    };
    let used = job.oil.as_ref().ok_or_else(|| Missing::fact("oil that went in"));
    let (asked, used) = match (asked.ok_or_else(|| Missing::fact("oil asked")), used) {
        (Ok(asked), Ok(used)) => (asked, used),
        (Err(missing), Ok(_)) | (Ok(_), Err(missing)) => return Err(missing),
        (Err(left), Err(right)) => return Err(left.and(right)),
    };
    let kind = machine.row.kind.as_ref().map(|kind| kind.value);
    let value = answer(&oil_text(&asked.value), &oil_text(&used.value), kind)?;
    let on = job.day.as_ref().map_or(String::new(), |day| format!(" on {}", shown_day(day.value)));
    let shown_by = vec![
        Evidence::of("oil that went in", format!("{}{on}", used.value), &used.origin),
        handbook_cell("oil asked", asked.value.clone(), asked, is_default),
    ];
    Ok(Reckoned { value, shown_by })
}

/// What an oil says of the one that is asked for. A wrong class weighs most, then a wrong grade, then what
/// cannot be told.
pub(super) fn answer(
    asked: &OilText,
    used: &OilText,
    kind: Option<MachineKind>,
) -> Result<OilAnswer, Missing> {
    if asked.viscosities.is_empty() && asked.classes.is_empty() {
        return Err(Missing::fact("oil asked"));
    }
    let class = class_fits(asked, used, kind);
    if let Ok(Some(wrong)) = class {
        return Ok(OilAnswer::WrongClass(wrong));
    }
    let grade = grade_fits(asked, used);
    match (class, grade) {
        (_, Ok(Some(wrong))) => Ok(OilAnswer::WrongGrade(wrong)),
        (Ok(_), Ok(None)) => Ok(OilAnswer::Right),
        (Err(missing), Ok(None)) | (Ok(_), Err(missing)) => Err(missing),
        (Err(left), Err(right)) => Err(left.and(right)),
    }
}

/// Whether one class may stand in for another; `None` when the classes alone do not say.
///
/// Source: the classes' meaning and ranges in JASO T 903:2016: MA spans MA1 and MA2, which do not overlap, and MB
/// lies below all of them. MA2 for MA1 and MA for MB are usually accepted (common practice), yet not what the
/// handbook asks, so that only the handbook can say.
fn class_for(asked: JasoClass, used: JasoClass) -> Option<bool> {
    use JasoClass::{Ma, Ma1, Ma2, Mb};
    match (asked, used) {
        (Ma, Ma | Ma1 | Ma2) | (Ma1, Ma1) | (Ma2, Ma2) | (Mb, Mb) => Some(true),
        (Ma | Ma1 | Ma2, Mb) | (Ma2, Ma1) => Some(false),
        (Ma1, Ma | Ma2) | (Ma2, Ma) | (Mb, Ma | Ma1 | Ma2) => None,
    }
}

/// `None` inside when the class is one that is asked for, else what is wrong with it in words.
fn class_fits(asked: &OilText, used: &OilText, kind: Option<MachineKind>) -> Result<Option<String>, Missing> {
    if asked.classes.is_empty() {
        // Nothing is asked, but in a wet clutch these would do harm.
        let doubtful = used.for_cars || used.classes.contains(&JasoClass::Mb);
        return if doubtful && kind.is_none_or(|kind| kind == MachineKind::Motorcycle) {
            Err(Missing::fact("JASO class asked"))
        } else {
            Ok(None)
        };
    }
    let named = |oil: &OilText| oil.classes.iter().map(|class| class.name()).collect::<Vec<_>>().join("/");
    if used.classes.is_empty() {
        // An API or ACEA class alone says nothing: motorcycle oils carry them, too.
        return if used.for_cars {
            Ok(Some(format!("car oil where {} is asked", named(asked))))
        } else {
            Err(Missing::fact("JASO class of the oil"))
        };
    }
    if used.classes.contains(&JasoClass::Mb) && used.classes.len() > 1 {
        // MB lies below all of MA: no oil is both, so that one of them is a slip.
        return Err(Missing::fact("JASO class of the oil"));
    }
    let pairs =
        asked.classes.iter().flat_map(|asked| used.classes.iter().map(|used| class_for(*asked, *used)));
    let answers: Vec<Option<bool>> = pairs.collect();
    if answers.contains(&Some(true)) {
        Ok(None)
    } else if !answers.contains(&None) {
        Ok(Some(format!("{} where {} is asked", named(used), named(asked))))
    } else if asked.classes.contains(&JasoClass::Ma2) {
        Err(Missing::fact("JASO class of the oil"))
    } else {
        Err(Missing(vec![format!("whether the handbook allows {} for {}", named(used), named(asked))]))
    }
}

/// `None` inside when the grade is one that is asked for, else what is wrong with it in words.
fn grade_fits(asked: &OilText, used: &OilText) -> Result<Option<String>, Missing> {
    if asked.viscosities.is_empty() {
        return if asked.no_such_grade { Err(Missing::fact("oil asked")) } else { Ok(None) };
    }
    let known = !used.viscosities.is_empty() && !used.no_such_grade;
    let fitting = used.viscosities.intersection(&asked.viscosities).count();
    let named = |oil: &OilText| oil.viscosities.iter().map(ToString::to_string).collect::<Vec<_>>().join("/");
    if known && fitting == used.viscosities.len() {
        Ok(None)
    } else if known && fitting == 0 {
        Ok(Some(format!("{} where {} is asked", named(used), named(asked))))
    } else {
        Err(Missing::fact("SAE J300 grade of the oil"))
    }
}
