//! A small yard folder whose rules are so simple that anybody can say what they find.

use std::fs;
use std::path::Path;
use std::time::Duration;

use jiff::Timestamp;
use jiff::civil::Date;
use tempfile::TempDir;
use tickover::round::{Run, Tells, YardFolder};
use tickover::sheets::Reader;

/// A rule that finds a note.
fn rule(title: &str, note: &str, answer: &str, expected: &str, caution: &str) -> String {
    format!(
        "// {title}: somebody noted `{note}`.\nconst TITLE = \"{title}\";\nconst WHY = \"It was noted.\";\n{caution}\n\
         // ------\nfn applies_to(machine) {{ true }}\n\nfn judge(machine) {{\n    \
         if (machine.maybe.note ?? \"\") == \"{note}\" {{ return {answer}(`Noted: {note}.`).by(machine.today); }}\n    \
         clear()\n}}\n\nconst EXAMPLES = [\n    \
         given(\"noted\", #{{ today: \"2024-03-04\", mark: \"AB24 AAA\", note: \"{note}\" }}).expect(\"{expected}\"),\n    \
         given(\"fine\", #{{ today: \"2024-03-04\", mark: \"AB24 AAA\", note: \"ok\" }}).expect(\"clear\"),\n];\n"
    )
}

/// A new yard folder with the two rules, an account at a port of this PC, and more settings of its days; in memory, where there is a place for
/// that, since a year of commits would wait for the disk.
pub(crate) fn new(port: u16, days: &str) -> (TempDir, YardFolder) {
    let memory = Path::new("/dev/shm");
    let folder = if memory.is_dir() { tempfile::tempdir_in(memory) } else { tempfile::tempdir() }.unwrap();
    let root = folder.path();
    for part in ["sheets", "rules", "handbook", "digests", "kept"] {
        fs::create_dir(root.join(part)).unwrap();
    }
    let caution = "const CAUTION = \"Do not release it: a technician decides.\";";
    let held = rule("Held back", "brakes open", "keep_in_yard", "keep in yard", caution);
    fs::write(root.join("rules/held-back.rhai"), held).unwrap();
    fs::write(root.join("rules/bench.rhai"), rule("Bench", "mirror wanted", "bench", "bench", "")).unwrap();
    for file in ["models.csv", "service.csv", "running-in.csv"] {
        let example = crate::program::repository().join("examples/shop/handbook").join(file);
        // Of one model, which is all that the machines are of.
        let text = fs::read_to_string(example).unwrap();
        let of_one: Vec<&str> = text.lines().take(2).collect();
        fs::write(root.join("handbook").join(file), of_one.join("\n")).unwrap();
    }
    let settings = format!(
        "folders = [\"sheets\"]\n[shop]\nname = \"Fenwick Lane Motorcycles\"\n\
         [letter]\nfrom = \"tickover@shop.example\"\nto = [\"owner@shop.example\", \"desk@shop.example\"]\n\
         [letter.in_part]\n\"bench@shop.example\" = [\"On the bench\"]\n\
         [days]\n{days}\ntell_at_once = true\n\
         [[sheet]]\nfile = \"machines*.csv\"\nrows = \"machine\"\n[sheet.columns]\n\"Reg\" = \"mark\"\n\
         \"Make\" = \"make\"\n\"Model\" = \"model\"\n\"Note\" = \"note\"\n\
         [[sheet]]\nfile = \"mileages*.csv\"\nrows = \"reading\"\n[sheet.columns]\n\"Reg\" = \"mark\"\n\
         \"Mileage\" = \"clock\"\n\"Date\" = \"day\"\n\
         [mail]\nserver = \"127.0.0.1\"\nport = {port}\nsecurity = \"none\"\nsign_in = \"none\"\n"
    );
    fs::write(root.join("tickover.toml"), settings).unwrap();
    let yard = YardFolder::at(root);
    (folder, yard)
}

/// A round of a moment.
pub(crate) fn run(folder: &YardFolder, now: Timestamp, today: Date, tells: Tells, trouble: &[String]) -> Run {
    Run {
        folder: folder.clone(),
        now,
        today: Some(today),
        keeps: true,
        tells,
        trouble: trouble.to_vec(),
        reader: Reader::Here,
        patience: Duration::ZERO,
    }
}
