//! A limit that was deleted and is still asked for: its line as it last was, to be put back.

use super::shipped::shipped_text;

/// The texts in which a limit may stand that is not in a file any more: the last good one, and the rule as it ships.
pub(super) fn texts(name: &str, accepted: Option<&String>) -> Vec<String> {
    [accepted.map(String::as_str), shipped_text(name)].into_iter().flatten().map(str::to_owned).collect()
}

/// What to write where nothing has a name that a constant of one of those texts has; with what may be meant by it now.
pub(super) fn offered(name: &str, near: Option<&str>, texts: &[String]) -> Option<String> {
    let last = |name: &str| texts.iter().find_map(|text| line_of(text, name));
    let line = last(name)?;
    // A name that looks like it and was not there is rather the slip.
    Some(match near.filter(|near| last(near).is_none()) {
        Some(near) => format!("`{near}` was called `{name}`: name it so again, as it last was: `{line}`"),
        None => format!("put its line back, as it last was: `{line}`"),
    })
}

/// The line of a text that sets a constant, up to the end of its sentence.
fn line_of<'t>(text: &'t str, name: &str) -> Option<&'t str> {
    let sets = |line: &&str| {
        let rest = line.strip_prefix("const ").map(str::trim_start).and_then(|rest| rest.strip_prefix(name));
        rest.is_some_and(|rest| rest.trim_start().starts_with('='))
    };
    let line = text.lines().find(sets)?;
    line.find(';').map(|end| &line[..=end])
}

#[cfg(test)]
mod tests {
    use crate::rules::{RuleFile, SHIPPED};

    #[test]
    fn a_limit_that_was_deleted_is_offered_as_it_last_was() {
        let (_, text) = SHIPPED.iter().find(|(file, _)| *file == "mot-due.rhai").unwrap();
        let kept: Vec<&str> = text.lines().filter(|line| !line.starts_with("const LOOK_BACK")).collect();
        let file = RuleFile { name: "mot-due".to_owned(), text: Ok(kept.join("\n")) };
        let said: Vec<String> = file.vet("rules").err().unwrap().into_iter().map(|slip| slip.help).collect();
        assert_eq!(said, ["put its line back, as it last was: `const LOOK_BACK  = 180.days;`"]);

        // Misspelt where it stands, and not deleted.
        let text_now = text.replace("const LOOK_BACK ", "const LOOK_BAK ");
        let misspelt = RuleFile { name: "mot-due".to_owned(), text: Ok(text_now) };
        let said: Vec<String> =
            misspelt.vet("rules").err().unwrap().into_iter().map(|slip| slip.help).collect();
        let again = "`LOOK_BAK` was called `LOOK_BACK`: name it so again, as it last was: `const LOOK_BACK  = 180.days;`";
        assert_eq!(said, [again]);

        let accepted = [("mot-due".to_owned(), text.replace("180.days", "90.days"))].into();
        let problems = crate::rules::RuleBook::from_files(&[file], "rules", &accepted).1;
        assert_eq!(problems[1].help, "put its line back, as it last was: `const LOOK_BACK  = 90.days;`");
    }
}
