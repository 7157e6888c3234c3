//! Programs that print a token, and programs that do not.

use std::path::Path;
use std::process::Command;
use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};

use super::secret::Secret;
use super::token::{ended_within, token};

/// Long enough for a shell to start on a busy PC.
const PATIENT: Duration = Duration::from_secs(20);

/// What comes of a small shell program, or why nothing does.
fn printed_by(script: &str, limit: Duration) -> Result<String, String> {
    let command = ["sh", "-c", script].map(str::to_owned);
    let found = token(&command, Path::new("/"), limit, &AtomicBool::new(false));
    found.as_ref().map(|secret: &Secret| secret.revealed().to_owned()).map_err(|fault| fault.what.clone())
}

#[test]
fn what_the_program_prints_is_the_token_and_its_error_stream_is_no_part_of_it() {
    let failed = |why: &str| Err(format!("the program that prints the sign-in token failed: {why}"));
    let no_token = |why: &str| failed(&format!("what it prints is no token: {why}"));
    let no_sign = "it has signs that no token has";
    for (script, expected) in [
        ("echo ya29.token", Ok("ya29.token".to_owned())),
        ("printf '\\n ya29.token \\n\\n'; echo s3cret >&2", Ok("ya29.token".to_owned())),
        // RFC 6750, 2.1 and its examples: these signs, and `=` at the end alone.
        ("echo mF_9.B5f-4.1JqM", Ok("mF_9.B5f-4.1JqM".to_owned())),
        ("echo a-b._~+/c==", Ok("a-b._~+/c==".to_owned())),
        ("echo a=b", no_token(no_sign)),
        ("echo ==", no_token(no_sign)),
        ("echo 'correct horse'", no_token(no_sign)),
        ("echo 'hunter2!'", no_token(no_sign)),
        ("echo '{\"access_token\":\"ya29.token\"}'", no_token(no_sign)),
        ("echo s3cret >&2; exit 3", failed("it ended with exit code 3")),
        ("echo ya29.token; exit 1", failed("it ended with exit code 1")),
        ("kill -9 $$", failed("the system ended it")),
        ("true", failed("it prints nothing")),
        ("echo", failed("it prints nothing")),
        ("echo one; echo two", no_token("it is more than one line, or no plain text")),
        ("while :; do echo xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx; done", failed("it prints too much")),
    ] {
        assert_eq!(printed_by(script, PATIENT), expected, "{script}");
    }
}

#[test]
fn what_to_do_fits_what_the_program_did_and_nothing_that_it_printed_is_shown() {
    let command = |script: &str| ["sh", "-c", script].map(str::to_owned).to_vec();
    let by_hand = "Run it by hand, as the account that runs Tickover";
    for (command, limit, help) in [
        (
            vec!["no-such-program".to_owned()],
            PATIENT,
            "Install it, or write its whole path in `token_command`",
        ),
        (vec!["/".to_owned()], PATIENT, "Let the account that runs Tickover run it"),
        (command("exit 1"), PATIENT, by_hand),
        (command("true"), PATIENT, by_hand),
        (command("exec sleep 100"), Duration::from_millis(300), "It must end within 30 seconds."),
        (command("echo 'hunter2!'"), PATIENT, "It must print the token alone"),
        (command("echo 'hunter2!'; exit 1"), PATIENT, by_hand),
        (command("echo hunter2; echo hunter3"), PATIENT, "It must print the token alone"),
    ] {
        let fault = token(&command, Path::new("/"), limit, &AtomicBool::new(false)).unwrap_err();
        assert!(fault.help.starts_with(help), "{command:?}: {}", fault.help);
        assert!(!format!("{fault} {fault:?}").contains("hunter"), "{fault:?}");
    }
}

#[test]
fn a_program_that_does_not_end_is_ended() {
    let begun = Instant::now();
    for script in ["exec sleep 100", "echo ya29.token; exec sleep 100", "exec sleep 100 >&-"] {
        let expected = "the program that prints the sign-in token failed: it took too long";
        assert_eq!(printed_by(script, Duration::from_millis(300)), Err(expected.to_owned()), "{script}");
    }
    assert!(begun.elapsed() < PATIENT, "{:?}", begun.elapsed());
}

#[test]
fn a_program_that_does_not_go_is_waited_for_no_longer_than_the_limit() {
    let begun = Instant::now();
    let mut child = Command::new("sleep").arg("100").spawn().unwrap();
    assert_eq!(ended_within(&mut child, Duration::from_millis(100)), None);
    assert!(begun.elapsed() < PATIENT, "{:?}", begun.elapsed());
    child.kill().unwrap();
    assert!(ended_within(&mut child, PATIENT).is_some());
}

#[test]
fn a_stop_ends_the_wait_for_the_program() {
    let command = ["sh", "-c", "exec sleep 100"].map(str::to_owned);
    let fault = token(&command, Path::new("/"), PATIENT, &AtomicBool::new(true)).unwrap_err();
    assert_eq!(fault.what, "the program that prints the sign-in token failed: the sending was stopped");
}

#[test]
fn a_program_that_is_not_there_is_said() {
    for (command, expected) in [
        (vec![], "the program that prints the sign-in token failed: none is named"),
        (
            vec!["no/such/program".to_owned()],
            "the program that prints the sign-in token failed: `no/such/program` is not there",
        ),
    ] {
        let fault = token(&command, Path::new("/"), PATIENT, &AtomicBool::new(false)).unwrap_err();
        assert_eq!(fault.what, expected);
    }
}

#[test]
fn the_program_is_given_none_of_our_secrets() {
    // Cargo sets this for every test; it stands for whatever else is in our environment.
    assert!(std::env::var_os("CARGO_MANIFEST_DIR").is_some());
    let script = "echo \"/$CARGO_MANIFEST_DIR/$TICKOVER_MAIL_PASSWORD/$CREDENTIALS_DIRECTORY/\"";
    assert_eq!(printed_by(script, PATIENT), Ok("////".to_owned()));
}
