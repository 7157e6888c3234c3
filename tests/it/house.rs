//! The house as a test: which room may use which, who may name an outside door, and what stays out of all rooms.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// The rooms in the order of a row's journey; a room uses only rooms above it.
const ROOMS: [&str; 17] = [
    "units",
    "origin",
    "problem",
    "today",
    "settings",
    "sheets",
    "yard",
    "reckon",
    "findings",
    "rules",
    "ledger",
    "digest",
    "post",
    "watch",
    "round",
    "unattended",
    "command",
];

/// The rooms that know no clock, file, network or environment.
const PURE: [&str; 7] = ["units", "origin", "problem", "yard", "reckon", "findings", "digest"];

/// What a pure room may not name.
const IMPURE: [&str; 12] = [
    "std::fs",
    "std::env",
    "std::net",
    "std::process",
    "std::thread",
    "std::time",
    "SystemTime",
    "Instant",
    "Timestamp::now",
    "ZonedDateTime",
    "tracing::",
    "crate::today",
];

/// The crates that are doors to the outside, and the rooms that alone may name them.
const DOORS: [(&str, &[&str]); 28] = [
    ("askama", &["digest"]),
    ("blake3", &["ledger", "watch"]),
    ("calamine", &["sheets"]),
    ("cap", &["sheets"]),
    ("clap", &["command"]),
    ("csv", &["sheets", "ledger"]),
    ("ctrlc", &["unattended"]),
    // The owner names encodings in the settings, and may name any that can be read.
    ("encoding_rs", &["settings", "sheets"]),
    ("lettre", &["post"]),
    ("libc", &["watch", "rules"]),
    ("memchr", &["sheets"]),
    ("notify", &["watch"]),
    ("quick_xml", &["sheets"]),
    ("rhai", &["rules"]),
    ("rusqlite", &["ledger"]),
    ("rustix", &["sheets", "rules", "unattended"]),
    ("rustls_native_certs", &["post"]),
    ("serde_json", &["ledger", "unattended", "command"]),
    ("signal_hook", &["unattended"]),
    (
        "std::fs",
        &["settings", "sheets", "rules", "ledger", "post", "watch", "round", "unattended", "command"],
    ),
    ("strsim", &["problem", "yard"]),
    ("tokio", &["post"]),
    ("tokio_rustls", &["post"]),
    ("toml", &["settings"]),
    ("tracing_subscriber", &["command"]),
    ("win32job", &["sheets"]),
    ("windows_service", &["unattended"]),
    ("zip", &["sheets"]),
];

/// What may stand at the top of the repository.
const TOP: [&str; 9] = [
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "daemon",
    "examples",
    "rules",
    "tests",
];

/// A file longer than this has two subjects.
const LINES_MAX: usize = 600;

/// One source file of the house.
struct Source {
    /// Below `daemon/`, with forward slashes.
    path: String,
    text: String,
}

impl Source {
    /// The room that the file belongs to; `None` for `lib.rs` and `main.rs`.
    fn room(&self) -> Option<&str> {
        let first = self.path.split('/').next()?;
        let room = first.strip_suffix(".rs").unwrap_or(first);
        (room != "lib" && room != "main").then_some(room)
    }

    fn is_test(&self) -> bool {
        self.path.ends_with("tests.rs") || self.path.contains("/tests/") || self.path.contains("trials")
    }

    /// The lines that the compiled program is made of, numbered from 1: no comments, and nothing from the
    /// file's test module on.
    fn code(&self) -> impl Iterator<Item = (usize, &str)> {
        self.text
            .lines()
            .enumerate()
            .take_while(|(_, line)| line.trim() != "#[cfg(test)]" || !self.ends_in_tests())
            .map(|(index, line)| (index + 1, line))
            .filter(|(_, line)| !line.trim_start().starts_with("//"))
    }

    /// Whether the file's `#[cfg(test)]` opens a module that ends the file, and not one declaration.
    fn ends_in_tests(&self) -> bool {
        self.text.contains("#[cfg(test)]\nmod tests {")
    }
}

fn repository() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn rust_files(folder: &Path, found: &mut Vec<PathBuf>) {
    let mut entries: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            rust_files(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

fn sources() -> Vec<Source> {
    let daemon = repository().join("daemon");
    let mut files = Vec::new();
    rust_files(&daemon, &mut files);
    assert!(files.len() > 20, "the house has more than 20 files; found {}", files.len());
    files
        .into_iter()
        .map(|path| Source {
            text: fs::read_to_string(&path).unwrap(),
            path: path.strip_prefix(&daemon).unwrap().to_string_lossy().replace('\\', "/"),
        })
        .collect()
}

/// The rooms that a line names through `crate::`, alone or in braces.
fn rooms_named(line: &str) -> Vec<&str> {
    let mut rooms = Vec::new();
    for (start, found) in line.match_indices("crate::") {
        let rest = &line[start + found.len()..];
        match rest.strip_prefix('{') {
            Some(list) => {
                let list = list.split('}').next().unwrap_or_default();
                rooms.extend(list.split(',').map(|path| first_word(path.trim())));
            }
            None => rooms.push(first_word(rest)),
        }
    }
    rooms
}

fn first_word(path: &str) -> &str {
    let end = path.find(|letter: char| !letter.is_alphanumeric() && letter != '_').unwrap_or(path.len());
    &path[..end]
}

fn place_in_flow(room: &str) -> Option<usize> {
    ROOMS.iter().position(|candidate| *candidate == room)
}

/// Rooms that a file uses although they do not stand above its own.
fn wrong_way(source: &Source) -> Vec<String> {
    let Some(room) = source.room() else { return Vec::new() };
    let Some(own) = place_in_flow(room) else {
        return vec![format!("{}: the room `{room}` is not in the list of rooms", source.path)];
    };
    let mut wrong = Vec::new();
    for (number, line) in source.code() {
        for named in rooms_named(line) {
            match place_in_flow(named) {
                Some(other) if other <= own => {}
                Some(_) => wrong.push(format!("{}:{number}: `{room}` may not use `{named}`", source.path)),
                None => wrong.push(format!("{}:{number}: `{named}` is not a room", source.path)),
            }
        }
    }
    wrong
}

/// Whether a line names a crate: `rhai::` or `use rhai`, but not `crate::rhai::` or `my_rhai::`.
fn names_crate(line: &str, name: &str) -> bool {
    let path = format!("{name}::");
    line.match_indices(&path).any(|(start, _)| {
        let before = line[..start].chars().next_back();
        !before.is_some_and(|letter| letter.is_alphanumeric() || letter == '_' || letter == ':')
    }) || line.trim() == format!("use {name};")
}

/// Outside doors that a file names although another room keeps them.
fn wrong_door(source: &Source) -> Vec<String> {
    let Some(room) = source.room().filter(|_| !source.is_test()) else { return Vec::new() };
    let mut wrong = Vec::new();
    for (number, line) in source.code() {
        for (door, keepers) in DOORS {
            if names_crate(line, door) && !keepers.contains(&room) {
                wrong.push(format!("{}:{number}: only {keepers:?} may name `{door}`", source.path));
            }
        }
    }
    wrong
}

/// What a pure file names of the outside.
fn impure(source: &Source) -> Vec<String> {
    let Some(room) = source.room() else { return Vec::new() };
    if !PURE.contains(&room) || source.is_test() {
        return Vec::new();
    }
    let mut wrong = Vec::new();
    for (number, line) in source.code() {
        for word in IMPURE.iter().filter(|word| line.contains(**word)) {
            wrong.push(format!("{}:{number}: a pure room may not name `{word}`", source.path));
        }
    }
    wrong
}

/// What no file may hold: no opening sentence, too many lines, something left over.
fn untidy(source: &Source) -> Vec<String> {
    let mut wrong = Vec::new();
    if !source.text.starts_with("//! ") {
        wrong.push(format!("{}:1: open the file with a `//!` sentence on what it is for", source.path));
    }
    let lines = source.text.lines().count();
    if lines > LINES_MAX {
        wrong.push(format!("{}: {lines} lines; more than {LINES_MAX} means two subjects", source.path));
    }
    for (index, line) in source.text.lines().enumerate() {
        for leftover in ["FIXME", concat!("TO", "DO"), "dbg!(", "../shared"] {
            if line.contains(leftover) {
                wrong.push(format!("{}:{}: `{leftover}` was left over", source.path, index + 1));
            }
        }
    }
    wrong
}

/// Runs a check over the whole house and shows everything it found at once.
fn demand(check: fn(&Source) -> Vec<String>) {
    let found: Vec<String> = sources().iter().flat_map(check).collect();
    let mut shown = String::new();
    for line in &found {
        let _ = writeln!(shown, "error: {line}");
    }
    assert!(found.is_empty(), "\n{shown}");
}

fn planted(path: &str, text: &str) -> Source {
    Source { path: path.to_owned(), text: text.to_owned() }
}

#[test]
fn a_room_uses_only_rooms_above_it() {
    demand(wrong_way);
}

#[test]
fn only_its_room_names_an_outside_door() {
    demand(wrong_door);
}

#[test]
fn the_pure_rooms_use_no_clock_file_network_or_environment() {
    demand(impure);
}

#[test]
fn every_file_is_tidy() {
    demand(untidy);
}

#[test]
fn the_rooms_stand_in_the_library_in_the_order_of_the_journey() {
    let library = fs::read_to_string(repository().join("daemon/lib.rs")).unwrap();
    let listed: Vec<&str> =
        library.lines().filter_map(|line| line.strip_prefix("pub mod ")?.strip_suffix(';')).collect();
    assert_eq!(listed, ROOMS);
}

#[test]
fn nothing_else_stands_at_the_top() {
    let mut top: Vec<String> = fs::read_dir(repository())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .filter(|name| !name.starts_with('.') && !name.starts_with("target") && name != "tickover-demo")
        .collect();
    top.sort();
    assert_eq!(top, TOP);
}

#[test]
fn a_room_that_uses_one_below_it_is_found() {
    let found = wrong_way(&planted(
        "yard/join.rs",
        "//! Joins.\nuse crate::rules::Rule;\nuse crate::{post, units::Days};\n",
    ));
    let expected =
        ["yard/join.rs:2: `yard` may not use `rules`", "yard/join.rs:3: `yard` may not use `post`"];
    assert_eq!(found, expected);
}

#[test]
fn a_room_that_nobody_listed_is_found() {
    let found = wrong_way(&planted("attic.rs", "//! Attic.\n"));
    assert_eq!(found, ["attic.rs: the room `attic` is not in the list of rooms"]);
}

#[test]
fn a_door_named_in_the_wrong_room_is_found() {
    let found =
        wrong_door(&planted("digest/mod.rs", "//! Digest.\nfn f() { rhai::Engine::new(); my_rhai::g(); }\n"));
    assert_eq!(found, ["digest/mod.rs:2: only [\"rules\"] may name `rhai`"]);
}

#[test]
fn a_file_opened_in_a_pure_room_is_found() {
    let found =
        impure(&planted("reckon/mot.rs", "//! MOT.\n// std::fs is only spoken of here.\nuse std::fs;\n"));
    assert_eq!(found, ["reckon/mot.rs:3: a pure room may not name `std::fs`"]);
}

#[test]
fn what_was_left_over_is_found() {
    let found = untidy(&planted("units/speed.rs", concat!("use a;\n// TO", "DO: later\n")));
    assert_eq!(
        found,
        [
            "units/speed.rs:1: open the file with a `//!` sentence on what it is for".to_owned(),
            format!("units/speed.rs:2: `{}` was left over", concat!("TO", "DO")),
        ]
    );
}
