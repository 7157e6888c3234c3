//! Files that are no readable text, each with the whole message that its owner gets.

use std::path::Path;

use super::RuleBook;

/// What is said of one file of a folder, after what stays in force.
fn said(folder: &Path, name: &str) -> String {
    let (book, problems) = RuleBook::load(folder, "rules");
    assert_eq!(book.not_in_force(), [name]);
    let shown: Vec<String> = problems.iter().skip(1).map(ToString::to_string).collect();
    assert_eq!(shown.len(), 1, "{shown:?}");
    shown.concat()
}

fn said_of(bytes: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("odd.rhai"), bytes).unwrap();
    said(folder.path(), "odd")
}

const TEXT: &str = "// A rule.\nconst TITLE = \"caf\u{e9}\";\n";
const UTF_16: &str = "error: the rule file is saved as UTF-16\n  --> rules/odd.rhai\n\
                      help: save it again as UTF-8: most editors ask for the encoding in `Save as`";

#[test]
fn a_file_in_utf_16_is_named_so_with_its_mark_and_without() {
    let little: Vec<u8> = TEXT.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let big: Vec<u8> = TEXT.encode_utf16().flat_map(u16::to_be_bytes).collect();
    for bytes in [
        little.clone(),
        big.clone(),
        [&[0xff, 0xfe], little.as_slice()].concat(),
        [&[0xfe, 0xff], big.as_slice()].concat(),
    ] {
        assert_eq!(said_of(&bytes), UTF_16);
    }
}

#[test]
fn a_file_of_a_word_processor_is_named_so_whatever_its_ending() {
    let help = "help: save it as plain text: most such programs ask for the kind of file in `Save as`; or copy what it says \
                into a plain editor";
    for (bytes, what) in [
        (&b"{\\rtf1\\ansi\\deff0 {\\fonttbl}const TITLE = \"MOT\";\\par}"[..], "a word processor's file"),
        (b"PK\x03\x04\x14\x00\x06\x00[Content_Types].xml", "a word processor's file"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "a word processor's file"),
        (b"%PDF-1.7\n", "a PDF"),
        (b"\xef\xbb\xbf<!DOCTYPE html><p>const", "a web page"),
        (b"<HTML><body>const", "a web page"),
    ] {
        assert_eq!(
            said_of(bytes),
            format!("error: this is {what}, and no plain text\n  --> rules/odd.rhai\n{help}")
        );
    }
}

#[test]
fn a_file_in_windows_1252_is_named_so_with_the_first_sign_that_shows_it() {
    let expected = "error: the rule file is not saved as UTF-8, but most likely Windows-1252: this is the first sign that shows it
  --> rules/odd.rhai:2:19
  |
2 | const TITLE = \"caf\u{fffd}\";
  |                   ^
help: save it again as UTF-8: most editors ask for the encoding in `Save as`";
    for ends in ["\n", "\r\n", "\r"] {
        let bytes: Vec<u8> = TEXT.replace('\n', ends).chars().map(|letter| letter as u8).collect();
        assert_eq!(said_of(&bytes), expected);
    }
    let neither = said_of(b"const TITLE = \"\x81\";");
    assert!(neither.starts_with("error: the rule file is not saved as UTF-8: this"), "{neither}");
}

#[test]
fn a_file_that_is_too_large_is_told_its_size_and_the_limit() {
    let expected = "error: the rule file is 69 KiB large, and a rule may have 64 KiB at most\n  --> rules/odd.rhai\n\
                    help: take out what is no part of the rule, or make two rules of it";
    assert_eq!(said_of(&vec![b' '; 70_000]), expected);
}

#[test]
fn a_folder_that_is_named_like_a_rule_is_no_rule() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("odd.rhai")).unwrap();
    let expected = "error: this is a folder, and not a file\n  --> rules/odd.rhai\nhelp: move it out of the folder of rules";
    assert_eq!(said(folder.path(), "odd"), expected);
}

#[cfg(unix)]
#[test]
fn a_dead_link_a_socket_and_a_pipe_are_told_of_and_never_waited_for() {
    let folder = tempfile::tempdir().unwrap();
    let odd = folder.path().join("odd.rhai");
    std::os::unix::fs::symlink("gone.rhai", &odd).unwrap();
    let expected = "error: this is a link to a file that is not there\n  --> rules/odd.rhai\n\
                    help: put the file back to where the link points, or delete the link";
    assert_eq!(said(folder.path(), "odd"), expected);

    let ordinary =
        "error: this is no ordinary file\n  --> rules/odd.rhai\nhelp: move it out of the folder of rules";
    std::fs::remove_file(&odd).unwrap();
    let _socket = std::os::unix::net::UnixListener::bind(&odd).unwrap();
    assert_eq!(said(folder.path(), "odd"), ordinary);
    std::fs::remove_file(&odd).unwrap();
    assert!(std::process::Command::new("mkfifo").arg(&odd).status().unwrap().success());
    assert_eq!(said(folder.path(), "odd"), ordinary);
    // The same where somebody names it.
    let problems = super::RuleFile::read(&odd, "rules").vet("rules").err().unwrap();
    assert_eq!(problems.iter().map(ToString::to_string).collect::<String>(), ordinary);
    // One that takes the place of an ordinary file once that was looked at is not waited for either.
    let pipe = super::links::open(&odd, super::links::Followed::Nowhere).unwrap();
    assert!(!pipe.metadata().unwrap().is_file());
}

#[cfg(unix)]
#[test]
fn a_link_is_followed_within_the_folder_of_rules_and_nothing_elsewhere_is_read_or_quoted() {
    use std::os::unix::fs::symlink;
    let folder = tempfile::tempdir().unwrap();
    let elsewhere = tempfile::tempdir().unwrap();
    let secret = elsewhere.path().join("secret.rhai");
    std::fs::write(&secret, "a secret").unwrap();
    let odd = folder.path().join("odd.rhai");
    std::fs::create_dir(folder.path().join("sub")).unwrap();
    std::fs::write(folder.path().join("sub/deep.rhai"), "a secret").unwrap();
    symlink(elsewhere.path(), folder.path().join("way")).unwrap();
    symlink(&secret, folder.path().join("hop.off")).unwrap();
    let expected = "error: this is a link to what does not lie in the folder of rules, and such a link is not followed\n  \
                    --> rules/odd.rhai\nhelp: put the file itself there in place of the link";
    let up = format!("../{}/secret.rhai", elsewhere.path().file_name().unwrap().display());
    for target in [
        secret.to_str().unwrap(),
        &up,
        "/proc/self/environ",
        "/proc/kmsg",
        "/dev/zero",
        "/",
        "sub/deep.rhai",
        "way/secret.rhai",
        "hop.off",
    ] {
        symlink(target, &odd).unwrap();
        assert_eq!(said(folder.path(), "odd"), expected, "{target}");
        std::fs::remove_file(&odd).unwrap();
    }
    symlink("odd.rhai", &odd).unwrap();
    let circle = said(folder.path(), "odd");
    assert!(circle.starts_with("error: this link leads to others without an end\n"), "{circle}");
    std::fs::remove_file(&odd).unwrap();

    // One within the folder is another rule of the same text, and has its own name.
    std::fs::write(folder.path().join("any.rhai"), super::tests::small("clear()", "clear")).unwrap();
    symlink("any.rhai", &odd).unwrap();
    symlink(folder.path().join("odd.rhai"), folder.path().join("third.rhai")).unwrap();
    let (book, problems) = RuleBook::load(folder.path(), "rules");
    assert_eq!(problems, []);
    assert_eq!(book.rules().map(|rule| &*rule.name).collect::<Vec<_>>(), ["any", "odd", "third"]);
}

#[test]
fn a_file_with_another_ending_is_told_how_a_rule_file_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let odd = folder.path().join("odd.txt");
    std::fs::write(&odd, TEXT).unwrap();
    let problems = super::RuleFile::read(&odd, "rules").vet("rules").err().unwrap();
    let expected = format!(
        "error: the name of a rule file ends in `.rhai`\n  --> {}\n\
         help: give it such a name; what has another is never in force",
        odd.display()
    );
    assert_eq!(problems.iter().map(ToString::to_string).collect::<Vec<_>>(), [expected]);
}

/// A rule that works.
const WORKS: &str = "const TITLE = \"Any\";\nconst WHY = \"None.\";\nfn judge(machine) { clear() }\n\
                     const EXAMPLES = [given(\"any\", #{ today: \"2026-03-02\" }).expect(\"clear\")];\n";

#[test]
fn a_rule_file_that_an_editor_has_named_otherwise_is_not_passed_over_in_silence() {
    for (name, meant) in [
        ("mot-due.rhai.txt", Some("mot-due")),
        ("mot-due.rhai.docx", Some("mot-due")),
        ("mot-due.RHAI.TXT", Some("mot-due")),
        ("mot-due.RHAI", Some("mot-due")),
        ("mot-due.rhia", Some("mot-due")),
        ("mot-due.rha", Some("mot-due")),
        ("mot-due.rhai - Copy", Some("mot-due - Copy")),
        ("mot-due.rhai (1)", Some("mot-due (1)")),
        // By what stands in it.
        ("mot-due", Some("mot-due")),
        ("mot-due.txt", Some("mot-due")),
        // What is set aside on purpose, or lies beside for people, is nobody's slip.
        ("mot-due.rhai.off", None),
        ("mot-due.rhai.bak", None),
        ("mot-due.rhai~", None),
        ("WORDS.md", None),
        (".mot-due.rhai.txt", None),
    ] {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join(name), WORKS).unwrap();
        let (book, problems) = RuleBook::load(folder.path(), "rules");
        assert_eq!(book.rules().count(), 0, "{name}");
        let shown: Vec<String> = problems.iter().map(ToString::to_string).collect();
        let expected = meant.map(|meant| {
            format!(
                "error: this file is not read, since its name does not end in `.rhai`\n  --> rules/{name}\n\
                 help: name it `{meant}.rhai` if it is a rule, or move it out of the folder"
            )
        });
        assert_eq!(shown, Vec::from_iter(expected), "{name}");
    }
}

#[test]
fn notes_beside_the_rules_are_nobody_s_slip_and_many_misnamed_files_are_counted() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
    for name in ["notes.txt", "notes", "README", "letter.rtf", "table.csv", "mot-due.rhai.rar"] {
        write(name, "Ring earlier about the MOT from May on.");
    }
    std::fs::create_dir(folder.path().join("old")).unwrap();
    let (_, problems) = RuleBook::load(folder.path(), "rules");
    assert_eq!(problems, []);

    for number in 0..13 {
        write(&format!("{number}.rhia"), "");
    }
    let (_, problems) = RuleBook::load(folder.path(), "rules");
    assert_eq!(problems.len(), 11);
    let expected = "error: 3 more files in it are not read, since their names do not end in `.rhai`\n  --> rules\n\
                    help: name them so if they are rules, or move them out of the folder";
    assert_eq!(problems[10].to_string(), expected);
}

#[test]
fn a_copy_with_blanks_and_brackets_in_its_name_is_a_rule_of_that_name() {
    let folder = tempfile::tempdir().unwrap();
    let names = ["Copy of mot-due", "MOT-DUE", "mot-due (1)", "mot-due - Copy"];
    for name in names {
        std::fs::write(folder.path().join(format!("{name}.rhai")), WORKS).unwrap();
    }
    let (book, problems) = RuleBook::load(folder.path(), "rules");
    assert_eq!(problems, []);
    let found: Vec<&str> = book.rules().map(|rule| &*rule.name).collect();
    assert_eq!(found, names);
}

#[test]
fn a_file_with_tabs_a_mark_at_its_start_or_other_line_ends_is_the_same_rule() {
    for text in [
        format!("\u{feff}{WORKS}"),
        WORKS.replace('\n', "\r\n"),
        WORKS.replace('\n', "\r"),
        WORKS.replace("fn judge(machine) { ", "fn judge(machine) {\n\t\t"),
    ] {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("any.rhai"), text).unwrap();
        let (book, problems) = RuleBook::load(folder.path(), "rules");
        assert_eq!(problems, []);
        assert_eq!(book.rule("any").unwrap().title, "Any");
    }
}

#[test]
fn a_file_of_noughts_or_in_utf_32_is_not_called_utf_16() {
    let little: Vec<u8> = TEXT.chars().flat_map(|letter| u32::from(letter).to_le_bytes()).collect();
    let big: Vec<u8> = TEXT.chars().flat_map(|letter| u32::from(letter).to_be_bytes()).collect();
    for bytes in [little.clone(), big, [&[0xff, 0xfe, 0, 0], little.as_slice()].concat()] {
        assert_eq!(said_of(&bytes), UTF_16.replace("UTF-16", "UTF-32"));
    }
    assert_eq!(
        said_of(&[0; 4096]),
        "error: nothing is left in this file: every sign of it is nought\n  --> rules/odd.rhai\n\
         help: put a copy of it back; a PC that was switched off while it was saved leaves such a file"
    );
}

#[test]
fn a_word_processor_s_file_beside_the_rule_of_its_name_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let rule = crate::rules::SHIPPED.iter().find(|(file, _)| *file == "mot-due.rhai").unwrap().1;
    for (name, content) in [
        ("mot-due.rhai", rule),
        ("mot-due.docx", "PK\u{3}\u{4}word"),
        ("mot-due.odt", "PK\u{3}\u{4}text"),
        // No rule has its name.
        ("prices.docx", "PK\u{3}\u{4}word"),
        // A word processor's own note that it has the file open.
        ("~$mot-due.rhai", "\u{6}Ann\0\0"),
    ] {
        std::fs::write(folder.path().join(name), content).unwrap();
    }
    let (_, problems) = RuleBook::load(folder.path(), "rules");
    let said: Vec<(&str, &str)> =
        problems.iter().map(|problem| (problem.place.file.as_str(), problem.help.as_str())).collect();
    let help =
        "save what you changed in it as plain text, over `mot-due.rhai`; then move it out of the folder";
    assert_eq!(said, [("rules/mot-due.docx", help), ("rules/mot-due.odt", help)]);
}

#[test]
fn what_is_dropped_into_the_folder_takes_no_room_from_the_rules_in_force() {
    let folder = tempfile::tempdir().unwrap();
    let small = super::tests::small("clear()", "clear");
    let large = |name: &str, kib: usize| {
        let text = format!("{small}// {}\n", "x".repeat(kib * 1024));
        std::fs::write(folder.path().join(format!("{name}.rhai")), text).unwrap();
    };
    let names = |book: &RuleBook| book.rules().map(|rule| rule.name.to_string()).collect::<Vec<_>>();
    large("z-own", 60);
    let accepted = RuleBook::load(folder.path(), "rules").0.accepted();
    (0..20).for_each(|number| large(&format!("a{number:02}"), 60));
    let (book, problems) = RuleBook::load_with(folder.path(), "rules", &accepted);
    assert_eq!(names(&book), ["a00", "a01", "a02", "a03", "a04", "a05", "a06", "z-own"]);
    let said: Vec<String> = problems.iter().map(ToString::to_string).collect();
    let room = "all rule files together may have 512 KiB, and those in force go first";
    let help = "help: take out what is no part of a rule, or move away the rules that nobody needs";
    let expected = format!(
        "error: there is no room for `a07`, `a08`, `a09`, `a10`, `a11` and 8 more: {room}\n  --> rules\n{help}"
    );
    assert_eq!(said, [expected]);

    // Those that were in force and have grown stay as they were.
    let accepted = (0..20).map(|number| (format!("a{number:02}"), small.clone())).collect();
    std::fs::remove_file(folder.path().join("z-own.rhai")).unwrap();
    let (book, problems) = RuleBook::load_with(folder.path(), "rules", &accepted);
    assert_eq!(names(&book).len(), 20);
    assert!(problems.iter().any(|it| it.what == format!("there is no room for this file: {room}")));
    assert_eq!(problems[0].what, "`a08` stays in force as it last was");
}
