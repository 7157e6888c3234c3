//! Programs that print a token, and programs that do not.

use std::path::Path;
use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};

use super::secret::Secret;
use super::token::token;

/// Long enough for a shell to start on a busy PC.
const PATIENT: Duration = Duration::from_secs(20);

/// What comes of a small shell program, or why nothing does.
fn printed_by(script: &str, limit: Duration) -> Result<String, String> {
    let command = ["sh", "-c", script].map(str::to_owned);
    let found = token(&command, Path::new("/"), limit, &AtomicBool::new(false));
    found.as_ref().map(|secret: &Secret| secret.revealed().to_owned()).map_err(|fault| fault.what.clone())
}

#[test]
fn what_the_program_prints_is_the_token_and_its_error_stream_goes_nowhere() {
    let failed = |why: &str| Err(format!("the program that prints the sign-in token failed: {why}"));
    for (script, expected) in [
        ("echo ya29.token", Ok("ya29.token".to_owned())),
        ("printf '\\n ya29.token \\n\\n'; echo s3cret >&2", Ok("ya29.token".to_owned())),
        ("echo s3cret >&2; exit 3", failed("it ended with an error")),
        ("echo ya29.token; exit 1", failed("it ended with an error")),
        ("true", failed("it prints something, but it is empty")),
        ("echo one; echo two", failed("it prints something, but it is more than one line, or no plain text")),
        ("while :; do echo xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx; done", failed("it prints too much")),
    ] {
        assert_eq!(printed_by(script, PATIENT), expected, "{script}");
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
            "the program that prints the sign-in token failed: it does not start (No such file or directory (os error 2))",
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
    let script = "echo \"[$CARGO_MANIFEST_DIR][$TICKOVER_MAIL_PASSWORD][$CREDENTIALS_DIRECTORY]\"";
    assert_eq!(printed_by(script, PATIENT), Ok("[][][]".to_owned()));
}
