//! Mails of texts that somebody wrote to break them: whatever stands in a cell, it stays in its place.

use jiff::civil::date;

use super::{Envelope, as_eml};
use crate::digest::Letter;

/// What does harm in mails, files and terminals, or has done so in others' programs.
const HOSTILE: [&str; 24] = [
    "\r\nBcc: all@shop.example",
    "\n.\r\n",
    "\r",
    "\n\n",
    "\0",
    "\t",
    "\u{b}\u{c}\u{1b}[2J\u{7f}\u{85}",
    "\u{2028}\u{2029}",
    "\u{202e}drow\u{202c}",
    "\u{200b}\u{feff}\u{ad}",
    "🏍️👩🏽‍🔧",
    "e\u{301}\u{301}\u{301}\u{301}",
    "Łódź",
    "機車",
    "--=_tickover_letter--",
    "--=_tickover_parts\r\nContent-Type: text/html\r\n\r\n",
    "=?utf-8?q?Bcc=3A?=",
    "=0D=0A.",
    "From ",
    "\"\\\"",
    "<script>alert(1)</script>",
    "=HYPERLINK(\"http://shop.example\")",
    ", ; : () @ <>",
    "%s%n{}{{",
];

/// The lines at the head of a mail, each with its continuation lines, by the names before their colons.
fn header_names(mail: &str) -> Vec<&str> {
    let (head, _) = mail.split_once("\r\n\r\n").unwrap();
    head.split("\r\n")
        .filter(|line| !line.starts_with([' ', '\t']))
        .map(|line| line.split_once(':').unwrap().0)
        .collect()
}

/// Holds a mail against what every server takes: RFC 5322, 2.1.1 and 2.3, and only our own headers.
fn assert_harmless(eml: Vec<u8>, is_attached: bool) {
    let mail = String::from_utf8(eml).unwrap();
    let is_plain = |letter: &char| matches!(letter, ' '..='~' | '\t' | '\r' | '\n');
    assert_eq!(mail.chars().find(|letter| !is_plain(letter)), None);
    for line in mail.split("\r\n") {
        assert!(!line.contains(['\r', '\n']), "{line:?}");
        assert!(line.len() <= 998, "{line:?}");
    }
    // A server may take blanks away at a line's end (RFC 2045, 6.7).
    let (_, body) = mail.split_once("\r\n\r\n").unwrap();
    assert_eq!(body.split("\r\n").find(|line| line.ends_with([' ', '\t'])), None);
    assert_eq!(
        header_names(&mail),
        [
            "Message-ID",
            "Date",
            "From",
            "Subject",
            "Auto-Submitted",
            "X-Auto-Response-Suppress",
            "List-Id",
            "To",
            "MIME-Version",
            "Content-Type"
        ]
    );
    // Each boundary opens its parts and closes once, and no text passes for one (RFC 2046, 5.1.1).
    let lines = |boundary: &str| mail.split("\r\n").filter(|line| *line == boundary).count();
    let mixed = usize::from(is_attached);
    assert_eq!((lines("--=_tickover_letter"), lines("--=_tickover_letter--")), (2, 1));
    assert_eq!((lines("--=_tickover_parts"), lines("--=_tickover_parts--")), (2 * mixed, mixed));
}

/// A text of some hostile pieces between plain ones, the same for the same seed.
fn hostile_text(seed: u64) -> String {
    // Knuth's multiplier; any would do.
    let mut state = seed;
    let mut below = |most: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(state >> 33).unwrap() % most
    };
    let mut text = String::new();
    for _ in 0..=below(12) {
        text += HOSTILE[below(HOSTILE.len())];
        text += &"blank ".repeat(below(3));
        text += &"a".repeat(below(2) * below(1_500));
    }
    text
}

fn letter(subject: &str, body: &str, full_list: Option<&str>) -> Letter {
    Letter {
        day: date(2026, 3, 2),
        subject: subject.to_owned(),
        text: body.to_owned(),
        html: body.to_owned(),
        full_list: full_list.map(str::to_owned),
    }
}

fn envelope(name: &str) -> Envelope {
    Envelope {
        from: format!("{name} <desk@shop.example>"),
        to: vec![format!("{name} <workshop@shop.example>"), "owner@shop.example".to_owned()],
        message_id: "<digest.2026-03-02.1@shop.example>".to_owned(),
        date_seconds: 1_772_436_600,
    }
}

#[test]
fn no_text_breaks_out_of_its_place_in_a_mail() {
    for hostile in HOSTILE {
        for text in [hostile.to_owned(), hostile.repeat(5_000 / hostile.len()), format!("A {hostile} B")] {
            for full_list in [None, Some(text.as_str())] {
                let eml = as_eml(&letter(&text, &text, full_list), &envelope("Desk")).unwrap();
                assert_harmless(eml, full_list.is_some());
            }
        }
    }
}

#[test]
fn no_mix_of_texts_breaks_out_of_its_place_either() {
    for seed in 0..1_000 {
        let text = hostile_text(seed);
        let eml = as_eml(&letter(&text, &text, Some(&text)), &envelope("Desk")).unwrap();
        assert_harmless(eml, true);
    }
}

#[test]
fn a_name_is_written_safely_or_refused_in_words() {
    let mut written = 0;
    for seed in 0..2_000 {
        let name: String = hostile_text(seed).chars().take(100).collect();
        let quoted = format!("\"{}\"", name.replace(['"', '\\'], ""));
        for name in [name, quoted] {
            match as_eml(&letter("subject", "text", None), &envelope(&name)) {
                Ok(eml) => {
                    written += 1;
                    assert_harmless(eml, false);
                }
                Err(failure) => assert!(failure.to_string().starts_with("use `"), "{failure}"),
            }
        }
    }
    assert!(written > 400, "only {written} of 4000 names were written");
}
