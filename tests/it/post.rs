//! Letters as mails and files: read back by Python's `email`, which knows nothing of how they were written.

use std::fs;
use std::path::Path;
use std::process::Command;

use serde_json::{Value, json};
use tickover::digest::{Letter, compose};
use tickover::post::{CopyName, Envelope, as_eml, deliver_to_folder};

use super::mornings::{TODAY, crowd, full, hostile, quiet, small};
use super::program::repository;

/// What Python's `email` finds in a mail. Without Python there is no second reader, and the test fails.
pub(crate) fn read(eml: &[u8]) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("letter.eml");
    fs::write(&path, eml).unwrap();
    let output = Command::new("python3")
        .arg(repository().join("tests/mail/read_mail.py"))
        .arg(&path)
        .output()
        .expect("this test reads mails with Python 3: install python3");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

/// The day's first morning letter.
const FIRST: CopyName = CopyName { day: TODAY, at_once: false, edition: 1 };

fn envelope() -> Envelope {
    Envelope {
        from: "Tickover <desk@shop.example>".to_owned(),
        to: vec![
            "Zoë Alder <zoe@shop.example>".to_owned(),
            "\"Łukasz, front desk\" <l@shop.example>".to_owned(),
        ],
        message_id: "<morning.2026-03-02.1@shop.example>".to_owned(),
        date_seconds: 1_772_436_600,
    }
}

/// The texts in a mail, with a letter's line ends; a mail's own are `\r\n`.
pub(crate) fn contents(mail: &Value) -> Vec<String> {
    let contents = mail["contents"].as_array().unwrap();
    contents.iter().map(|content| content.as_str().unwrap().replace("\r\n", "\n")).collect()
}

#[test]
fn a_mail_reads_back_as_it_was_written() {
    let letter = compose(&small());
    let mail = read(&as_eml(&letter, &envelope()).unwrap());
    assert_eq!(
        mail["headers"],
        json!([
            ["Message-ID", "<morning.2026-03-02.1@shop.example>"],
            ["Date", "Mon, 02 Mar 2026 07:30:00 +0000"],
            ["From", "Tickover <desk@shop.example>"],
            ["Subject", "1 stays in the yard, 1 to ring"],
            ["Auto-Submitted", "auto-generated"],
            ["X-Auto-Response-Suppress", "OOF, AutoReply"],
            ["List-Id", "Morning letter <tickover.shop.example>"],
            ["To", "Zoë Alder <zoe@shop.example>, Łukasz, front desk <l@shop.example>"],
            ["MIME-Version", "1.0"],
            ["Content-Type", "multipart/alternative; boundary=\"=_tickover_letter\""],
        ])
    );
    assert_eq!(mail["date"], "2026-03-02T07:30:00+00:00");
    assert_eq!(mail["tree"], json!(["multipart/alternative", "text/plain", "text/html"]));
    assert_eq!(contents(&mail), [letter.text, letter.html]);
    assert_eq!(mail["faults"], json!([]));
}

#[test]
fn a_letter_that_left_something_out_carries_the_full_list() {
    let letter = compose(&crowd(2_000));
    let list = letter.full_list.clone().unwrap();
    let mail = read(&as_eml(&letter, &envelope()).unwrap());
    assert_eq!(
        mail["tree"],
        json!(["multipart/mixed", "multipart/alternative", "text/plain", "text/html", "text/plain"])
    );
    assert_eq!(mail["names"], json!([null, null, "2026-03-02-full.txt"]));
    assert_eq!(contents(&mail), [letter.text, letter.html, list]);
    assert_eq!(mail["faults"], json!([]));
}

#[test]
fn a_list_that_mail_servers_would_refuse_is_left_in_the_folder() {
    let letter = Letter { full_list: Some("one line\n".repeat(500_000)), ..compose(&small()) };
    let mail = read(&as_eml(&letter, &envelope()).unwrap());
    assert_eq!(mail["tree"], json!(["multipart/alternative", "text/plain", "text/html"]));
}

#[test]
fn nothing_from_outside_reaches_the_headers() {
    let nasty = [
        "a\r\nBcc: all@shop.example\r\n\r\n<script>",
        "\u{202e}\0\u{7}🏍 Zoë",
        "\"quoted\" \\ (comment), group: ;",
    ];
    for nasty in nasty {
        let name = nasty.replace(['"', '\\', '<', '>', ',', ';', ':', '(', ')', '@'], "");
        let letter = Letter { subject: nasty.repeat(30), ..compose(&hostile(3)) };
        let envelope = Envelope {
            from: format!("{name} <desk@shop.example>"),
            to: vec![format!("{} <zoe@shop.example>", name.repeat(4))],
            ..envelope()
        };
        let mail = read(&as_eml(&letter, &envelope).unwrap());
        let headers: Vec<&str> =
            mail["headers"].as_array().unwrap().iter().map(|header| header[0].as_str().unwrap()).collect();
        assert_eq!(
            headers,
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
        assert_eq!(mail["from"][0][1], "desk@shop.example");
        assert_eq!(mail["to"].as_array().unwrap().len(), 1);
        assert_eq!(mail["to"][0][1], "zoe@shop.example");
        assert_eq!(mail["faults"], json!([]));
    }
}

#[test]
fn a_subject_and_a_name_read_back_as_they_were_meant() {
    let long = "a".repeat(120);
    let cases = [
        ("4 stay in the yard – 15 to ring", "4 stay in the yard – 15 to ring"),
        ("Zoë rings Łukasz, then Zoë", "Zoë rings Łukasz, then Zoë"),
        ("a \r\n b\t\0c", "a b c"),
        (
            "機車機車機車機車機車機車機車 機車 🏍 機車機車機車機車",
            "機車機車機車機車機車機車機車 機車 🏍 機車機車機車機車",
        ),
        // What looks like an encoded word must not be decoded into other words (RFC 2047, 2).
        ("=?utf-8?q?All_is_well?=", "= ?utf-8?q?All_is_well?="),
        ("ring =?utf-8?b?WmXDqw==?= Zoë", "ring = ?utf-8?b?WmXDqw== ?= Zoë"),
        (&long, &format!("{}…", "a".repeat(99))),
    ];
    for (given, expected) in cases {
        let letter = Letter { subject: given.to_owned(), ..compose(&small()) };
        let name = format!("\"{given}\" <zoe@shop.example>");
        let mail = read(&as_eml(&letter, &Envelope { to: vec![name], ..envelope() }).unwrap());
        let header = |wanted: &str| {
            let headers = mail["headers"].as_array().unwrap();
            let found = headers.iter().find(|header| header[0] == wanted).unwrap();
            found[1].as_str().unwrap().to_owned()
        };
        assert_eq!(header("Subject"), expected);
        if given.len() < 100 {
            assert_eq!(header("To").replace('"', ""), format!("{expected} <zoe@shop.example>"));
        }
    }
}

#[test]
fn every_letter_keeps_the_standards_of_mail() {
    let mornings = [quiet(), small(), full(), crowd(1), crowd(40), crowd(2_000), hostile(1), hostile(300)];
    for letter in mornings.iter().map(compose) {
        let mail = read(&as_eml(&letter, &envelope()).unwrap());
        assert_eq!(mail["faults"], json!([]), "{}", letter.subject);
        assert_eq!(contents(&mail)[..2], [letter.text, letter.html]);
    }
}

#[test]
fn the_same_letter_is_the_same_bytes() {
    let letter = compose(&full());
    assert_eq!(as_eml(&letter, &envelope()).unwrap(), as_eml(&letter, &envelope()).unwrap());
}

#[test]
fn an_envelope_that_no_mail_can_carry_is_said_with_what_to_do() {
    let letter = compose(&small());
    let from = |from: &str| Envelope { from: from.to_owned(), ..envelope() };
    let to = |to: &[&str]| Envelope { to: to.iter().map(|to| (*to).to_owned()).collect(), ..envelope() };
    let id = |id: &str| Envelope { message_id: id.to_owned(), ..envelope() };
    let cases = [
        (
            from("the desk"),
            "use `the desk` as the sender's address: it has not the form of an address; write it as desk@shop.example or \
             Name <desk@shop.example>",
        ),
        (
            to(&["zoe@shop.example", "łukasz@shop.example"]),
            "use `łukasz@shop.example` as a receiver's address: it has letters that many mail servers do not take; \
             write it as desk@shop.example or Name <desk@shop.example>",
        ),
        (to(&[]), "address the letter: there is no receiver; give at least one in the settings"),
        (
            id("morning.1@shop.example"),
            "name the letter `morning.1@shop.example`: a message id has the form <name@domain>, in plain letters",
        ),
        (
            id("<a@b>\r\nBcc: all@shop.example"),
            "name the letter `<a@b> Bcc: all@shop.example`: a message id has the form <name@domain>, in plain letters",
        ),
        (
            Envelope { date_seconds: i64::MIN, ..envelope() },
            "date the letter: -9223372036854775808 seconds after 1970 is no moment that a mail can carry",
        ),
    ];
    for (envelope, expected) in cases {
        assert_eq!(as_eml(&letter, &envelope).unwrap_err().to_string(), expected);
    }
}

#[test]
fn a_letter_in_a_folder_is_whole_and_replaces_the_same_days() {
    let yard = tempfile::tempdir().unwrap();
    let folder = yard.path().join("digests");
    let long = compose(&crowd(2_000));
    let eml = as_eml(&long, &envelope()).unwrap();
    let written = deliver_to_folder(&folder, FIRST, &long, &eml).unwrap();
    let names = ["2026-03-02-full.txt", "2026-03-02.txt", "2026-03-02.html", "2026-03-02.eml"];
    assert_eq!(written, names.map(|name| folder.join(name)));
    assert_eq!(
        names_in(&folder),
        ["2026-03-02-full.txt", "2026-03-02.eml", "2026-03-02.html", "2026-03-02.txt"]
    );
    assert_eq!(fs::read_to_string(&written[0]).unwrap(), long.full_list.clone().unwrap());

    let short = compose(&small());
    let eml = as_eml(&short, &envelope()).unwrap();
    let written = deliver_to_folder(&folder, FIRST, &short, &eml).unwrap();
    assert_eq!(fs::read_to_string(&written[0]).unwrap(), short.text);
    assert_eq!(fs::read_to_string(&written[1]).unwrap(), short.html);
    assert_eq!(fs::read(&written[2]).unwrap(), eml);
    assert_eq!(names_in(&folder), ["2026-03-02.eml", "2026-03-02.html", "2026-03-02.txt"]);
}

#[test]
fn a_folder_that_cannot_be_written_to_is_said_and_nothing_half_written_stays() {
    let yard = tempfile::tempdir().unwrap();
    let letter = compose(&small());
    let taken = yard.path().join("digests");
    fs::write(&taken, "a file of that name").unwrap();
    let failure = deliver_to_folder(&taken, FIRST, &letter, b"").unwrap_err().to_string();
    let expected =
        format!("write `{}`: something of that name is in the way; move it elsewhere", taken.display());
    assert!(failure.starts_with(&expected), "{failure}");

    let folder = yard.path().join("other");
    fs::create_dir_all(folder.join("2026-03-02.html")).unwrap();
    let failure = deliver_to_folder(&folder, FIRST, &letter, b"").unwrap_err().to_string();
    assert!(
        failure.starts_with(&format!("write `{}`: ", folder.join("2026-03-02.html").display())),
        "{failure}"
    );
    assert_eq!(names_in(&folder), ["2026-03-02.html", "2026-03-02.txt"]);
}

/// The names of a folder's files, hidden ones too, sorted.
fn names_in(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}
