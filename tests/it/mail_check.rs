//! `tickover post check`: the mail account tried from the command line, against a server of ours.

use std::io::{BufRead as _, BufReader};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

use jiff::tz::TimeZone;
use tickover::today;

use super::mail_server::{Act, GOOD, Script, Secured, Server, certificates};
use super::program::{Yard, printed, said};

/// Runs the check in a yard, with a password in the environment or none.
fn check(yard: &Yard, password: Option<&str>, more: &[&str]) -> Output {
    let mut program = Command::new(env!("CARGO_BIN_EXE_tickover"));
    program.args(["post", "check", "--yard"]).arg(yard.path()).args(more);
    program.env_remove("TICKOVER_MAIL_PASSWORD").env_remove("CREDENTIALS_DIRECTORY");
    program.envs(password.map(|password| ("TICKOVER_MAIL_PASSWORD", password)));
    program.output().expect("the program was built")
}

/// A yard whose account is at a port of ours.
fn yard_with_account(port: u16) -> Yard {
    yard_with("to = [\"zoe@shop.example\", \"gone@shop.example\"]", port, "")
}

/// The same, with these receivers and these lines about the account besides.
fn yard_with(to: &str, port: u16, more: &str) -> Yard {
    let yard = Yard::empty();
    let authority = certificates().join("ca.pem");
    let authority = authority.display();
    yard.put(
        "tickover.toml",
        format!(
            "[letter]\nfrom = \"desk@shop.example\"\n{to}\n\n[mail]\nserver = \"localhost\"\nport = {port}\n\
             security = \"tls\"\nuser = \"garage\"\nca_file = '{authority}'\n{more}\n"
        ),
    );
    yard
}

/// What is said while the server looks at a mail.
const HANDED_OVER: &str = "The short mail is handed over; the server's answer may take up to 10 minutes.\n";

const SECURED: Script = Script { secured: Secured::FromTheFirstByte("server"), ..GOOD };

#[test]
fn without_an_account_it_is_said_where_letters_go_and_how_to_have_them_sent() {
    let yard = Yard::empty();
    let output = check(&yard, None, &[]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    assert!(
        printed(&output).starts_with("Letters go to the folder digests/ alone: no mail account is set.\n")
    );
}

#[test]
fn a_mail_that_was_asked_for_and_cannot_be_sent_for_want_of_an_account_is_no_success() {
    let output = check(&Yard::empty(), None, &["--send", "you@shop.example"]);
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
    assert!(said(&output).contains("error: nothing was sent to you@shop.example"), "{}", said(&output));
}

#[test]
fn where_there_is_no_yard_nothing_is_tried() {
    let folder = tempfile::tempdir().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_tickover"))
        .args(["post", "check", "--yard"])
        .arg(folder.path())
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).starts_with("error: this is no yard folder"), "{}", said(&output));
}

#[test]
fn each_step_is_told_and_nothing_is_sent_unless_asked_for() {
    let server = Server::start(SECURED);
    let yard = yard_with_account(server.port);
    let output = check(&yard, Some("s3cret"), &[]);
    let steps = format!(
        "Trying localhost, port {}, secured from the first byte; each step may take up to 1 minute.
  the password comes from the environment variable TICKOVER_MAIL_PASSWORD of this terminal, which a service that starts with the PC does not have
  connected
  secured: its certificate is the right one
  greeted: it is a mail server
  signed in, or no sign-in is set
  it takes mail from our sender
  it answers for each receiver:
  zoe@shop.example: the server takes mail for it
  gone@shop.example: the server takes mail for it
",
        server.port
    );
    assert_eq!(printed(&output), steps);
    assert_eq!((output.status.code(), said(&output)), (Some(0), String::new()));
    assert_eq!(server.messages(), Vec::<Vec<u8>>::new());

    let output = check(&yard, Some("s3cret"), &["--send", "zoe@shop.example"]);
    assert_eq!(
        printed(&output),
        format!("{steps}{HANDED_OVER}A short mail is on its way to zoe@shop.example: 250 2.0.0 stored\n")
    );
    assert_eq!((output.status.code(), said(&output)), (Some(0), String::new()));
    let mail = String::from_utf8(server.messages().concat()).unwrap();
    assert!(mail.contains("\r\nSubject: Tickover can send mail\r\n"), "{mail}");
    assert!(mail.contains("\r\nTo: zoe@shop.example\r\n"), "{mail}");
}

#[test]
fn an_address_that_is_refused_needs_a_person() {
    let refusal = Act::Say(b"550 5.1.1 No such user\r\n");
    let server = Server::start(Script { receiver: ("gone", refusal), ..SECURED });
    let output = check(&yard_with_account(server.port), Some("s3cret"), &[]);
    assert!(
        printed(&output).ends_with("  gone@shop.example: refused, 550 5.1.1 No such user\n"),
        "{}",
        printed(&output)
    );
    assert_eq!(output.status.code(), Some(1));
    let help =
        "help: Correct the address under [letter] in tickover.toml, or ask whoever runs that mailbox.\n";
    assert_eq!(said(&output), help);
}

#[test]
fn a_fault_of_the_account_is_told_with_what_to_do_and_the_password_nowhere() {
    let wrong = Script { sign_in: &[Act::Say(b"535 5.7.8 s3cret is wrong\r\n")], ..SECURED };
    let server = Server::start(wrong);
    let yard = yard_with_account(server.port);
    let output = check(&yard, Some("s3cret"), &["--send", "zoe@shop.example"]);
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(
        said(&output),
        "error: the mail server does not take this sign-in: 535 5.7.8 (hidden) is wrong\n\
         help: Check user name and password. Many providers take no account password from programs but an app password, \
         made in the account's security settings; it ends when the account's own password is changed.\n"
    );
    assert!(!printed(&output).contains("s3cret"), "{}", printed(&output));
    assert_eq!(server.messages(), Vec::<Vec<u8>>::new());

    let output = check(&yard, None, &[]);
    assert_eq!(output.status.code(), Some(1));
    assert!(
        said(&output).starts_with("error: there is no password for the mail account\nhelp: "),
        "{}",
        said(&output)
    );
}

#[test]
fn with_nobody_to_get_the_letter_the_account_is_tried_and_that_is_said() {
    let server = Server::start(SECURED);
    let yard = yard_with("to = []", server.port, "");
    let output = check(&yard, Some("s3cret"), &[]);
    assert_eq!(output.status.code(), Some(1));
    let end = "\n  it takes mail from our sender\n  nobody is named to get the letter\n";
    assert!(printed(&output).ends_with(end), "{}", printed(&output));
    let what = "error: `to`: nobody is named, so no letter can be sent\n";
    let help = "help: Name at least one address: to = [\"workshop@shop.example\"]. Until then nobody gets the letter.\n";
    assert!(said(&output).starts_with(what) && said(&output).ends_with(help), "{}", said(&output));
    // The mail that was asked for goes out all the same.
    let output = check(&yard, Some("s3cret"), &["--send", "zoe@shop.example"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(printed(&output).contains("A short mail is on its way to zoe@shop.example"));
    assert_eq!(server.messages().len(), 1);
}

#[test]
fn what_is_refused_is_told_apart_and_each_has_its_own_advice() {
    let size = Script {
        hello_secured: Act::Say(b"250-mail.shop.example\r\n250-SIZE 100\r\n250 AUTH PLAIN\r\n"),
        ..SECURED
    };
    let server = Server::start(size);
    let yard = yard_with_account(server.port);
    let day = today::now().to_zoned_datetime(TimeZone::UTC).date();
    yard.put(&format!("digests/{day}.eml"), "x".repeat(101));
    let output = check(&yard, Some("s3cret"), &[]);
    let too_large = "a letter as large as the last one is refused, the mail has 101 bytes, and the server takes at most 100";
    let expected = format!("  zoe@shop.example: {too_large}\n  gone@shop.example: {too_large}\n");
    assert!(printed(&output).ends_with(&expected), "{}", printed(&output));
    let help = "help: No address is wrong. Ask the mail provider to take larger mails, or name receivers that get only some \
                sections under [letter.in_part] in tickover.toml.\n";
    assert_eq!((output.status.code(), said(&output).as_str()), (Some(1), help));

    let unwanted = Script { message: Act::Say(b"554 5.7.1 looks like advertising\r\n"), ..SECURED };
    let output = check(
        &yard_with_account(Server::start(unwanted).port),
        Some("s3cret"),
        &["--send", "zoe@shop.example"],
    );
    let refused =
        "The server refuses the short mail itself, for zoe@shop.example: 554 5.7.1 looks like advertising\n";
    assert!(printed(&output).ends_with(refused), "{}", printed(&output));
    let help = "help: No address is wrong. Ask the mail provider about these words: mostly a filter for unwanted mail, or a \
                limit on how much the account may send.\n";
    assert_eq!((output.status.code(), said(&output).as_str()), (Some(1), help));

    let sender = Script { sender: Act::Say(b"553 5.7.1 not owned by user garage\r\n"), ..SECURED };
    let output = check(&yard_with_account(Server::start(sender).port), Some("s3cret"), &[]);
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(
        said(&output),
        "error: the mail server takes nothing from this sender: 553 5.7.1 not owned by user garage\n\
         help: Set `from` under [letter] to the mail account's own address. If it is that, ask the mail provider about \
         these words.\n"
    );

    let not_now = Script { receiver: ("gone", Act::Say(b"451 4.7.1 greylisted\r\n")), ..SECURED };
    let output = check(&yard_with_account(Server::start(not_now).port), Some("s3cret"), &[]);
    assert!(printed(&output).ends_with("  gone@shop.example: not now, 451 4.7.1 greylisted\n"));
    let help =
        "help: The server may take it later. If it stays so, ask the mail provider about these words.\n";
    assert_eq!((output.status.code(), said(&output).as_str()), (Some(1), help));
}

#[test]
fn nothing_that_the_check_says_sends_a_person_to_the_check() {
    let faults = [
        Script { greeting: Act::SayAndHangUp(b"421 busy\r\n"), ..SECURED },
        Script { sign_in: &[Act::Say(b"454 4.7.0 later\r\n")], ..SECURED },
        Script { sender: Act::HangUp, ..SECURED },
        Script { receiver: ("", Act::Say(b"550 5.7.1 no\r\n")), ..SECURED },
        Script { message: Act::Say(b"552 5.3.4 too large\r\n"), ..SECURED },
        Script { message: Act::HangUp, ..SECURED },
    ];
    for script in faults {
        let yard = yard_with_account(Server::start(script).port);
        let output = check(&yard, Some("s3cret"), &["--send", "zoe@shop.example"]);
        let words = said(&output);
        assert_eq!(output.status.code(), Some(1), "{words}");
        assert!(words.contains("help: ") && !words.contains("post check"), "{words}");
        assert!(!words.contains("by itself. Try") && !words.contains("letter waits"), "{words}");
    }
}

#[cfg(unix)]
#[test]
fn a_token_that_cannot_be_had_or_is_refused_is_told_with_what_to_do_and_no_word_of_it() {
    let token = |command: &str| format!("sign_in = \"token\"\ntoken_command = [{command}]");
    let script = Script {
        hello_secured: Act::Say(b"250-mail.shop.example\r\n250 AUTH XOAUTH2\r\n"),
        sign_in: &[Act::Say(b"535 5.7.8 hunter2 has run out\r\n")],
        ..SECURED
    };
    let server = Server::start(script);
    let failed = "error: the program that prints the sign-in token failed: ";
    for (command, what, help) in [
        (
            "\"no/such\"",
            format!("{failed}`no/such` is not there\n"),
            "help: Install it, or write its whole path",
        ),
        (
            "\"sh\", \"-c\", \"echo hunter2 >&2; exit 9\"",
            format!("{failed}it ended with exit code 9\n"),
            "help: Run it by hand, as the account that runs Tickover",
        ),
        ("\"true\"", format!("{failed}it prints nothing\n"), "help: Run it by hand"),
        (
            "\"echo\", \"hunter2!\"",
            format!("{failed}what it prints is no token: it has signs that no token has\n"),
            "help: It must print the token alone",
        ),
        (
            "\"echo\", \"hunter2\"",
            "error: the mail server does not take this sign-in token: 535 5.7.8 (hidden) has run out\n"
                .to_owned(),
            "help: The token may have run out, be for another user",
        ),
    ] {
        let yard = yard_with("to = [\"zoe@shop.example\"]", server.port, &token(command));
        let output = check(&yard, None, &[]);
        let words = said(&output);
        assert_eq!(output.status.code(), Some(1), "{command}: {words}");
        assert!(words.starts_with(&format!("{what}{help}")), "{command}: {words}");
        assert!(!format!("{words}{}", printed(&output)).contains("hunter2"), "{command}: {words}");
    }
}

#[cfg(unix)]
#[test]
fn an_empty_environment_variable_is_said_and_the_file_counts() {
    use std::os::unix::fs::PermissionsExt as _;
    let server = Server::start(SECURED);
    let yard = yard_with("to = [\"zoe@shop.example\"]", server.port, "password_file = \"secret\"");
    let path = yard.path().join("secret");
    yard.put("secret", "s3cret\n");
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o600)).unwrap();
    let output = check(&yard, Some(""), &[]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let expected = format!(
        "\n  TICKOVER_MAIL_PASSWORD is set with nothing in it, which counts as none\n  the password comes from the file `{}`\n",
        path.display()
    );
    assert!(printed(&output).contains(&expected), "{}", printed(&output));

    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o644)).unwrap();
    let output = check(&yard, None, &[]);
    assert_eq!(output.status.code(), Some(1));
    assert!(said(&output).contains("others may read"), "{}", said(&output));
    assert!(said(&output).contains("If others may have read it, change the password."), "{}", said(&output));
}

/// What a check says on the error stream, of an account with these lines besides, and that it needs a person.
#[track_caller]
fn said_of(script: Script, more: &str, arguments: &[&str]) -> String {
    let yard = yard_with("to = [\"zoe@shop.example\"]", Server::start(script).port, more);
    let output = check(&yard, Some("s3cret"), arguments);
    assert_eq!(output.status.code(), Some(1), "{}", said(&output));
    said(&output)
}

#[test]
fn what_will_not_pass_by_itself_is_told_from_what_will() {
    let greeted = |greeting| said_of(Script { greeting: Act::SayAndHangUp(greeting), ..SECURED }, "", &[]);
    let away = "error: the mail server sends us away: ";
    let for_good = "help: It will not pass by itself. Ask the mail provider about these words, or, where they speak of this \
                    PC's address, the broadband provider; and check that `server` and `port` under [mail] are the ones for \
                    programs that sign in.\n";
    let listed = "554 5.7.1 your address is on a block list";
    assert_eq!(
        greeted(b"554 5.7.1 your address is on a block list\r\n"),
        format!("{away}{listed}\n{for_good}")
    );
    let busy = "help: It mostly passes by itself. If it stays so, ask the mail provider about these words.\n";
    assert_eq!(greeted(b"421 busy\r\n"), format!("{away}421 busy\n{busy}"));
    let hello_secured = Act::Say(b"554 5.7.1 your address is on a block list\r\n");
    let said = said_of(Script { hello_secured, ..SECURED }, "", &[]);
    assert_eq!(said, format!("{away}{listed}\n{for_good}"));
}

#[test]
fn the_server_that_mail_is_fetched_from_is_known_by_its_greeting() {
    // The examples of RFC 9051, 7.1.1 to 7.1.5, and RFC 1939, 4.
    for (greeting, words) in [
        (&b"* OK IMAP4rev2 server ready\r\n"[..], "* OK IMAP4rev2 server ready"),
        (
            b"* PREAUTH IMAP4rev2 server logged in as Smith\r\n",
            "* PREAUTH IMAP4rev2 server logged in as Smith",
        ),
        (b"+OK POP3 server ready\r\n", "+OK POP3 server ready"),
    ] {
        let said = said_of(Script { greeting: Act::Say(greeting), ..SECURED }, "", &[]);
        let expected = format!(
            "error: what answers is the server for incoming mail, which sends none: it says `{words}`\n\
             help: Write the server for outgoing mail (SMTP) as `server` under [mail], with its own `port`: mostly 465 with \
             \"tls\", or 587 with \"starttls\".\n"
        );
        assert_eq!(said, expected);
    }
}

#[test]
fn a_way_to_sign_in_that_cannot_help_is_not_advised() {
    let offers =
        |hello_secured| said_of(Script { hello_secured: Act::Say(hello_secured), ..SECURED }, "", &[]);
    let none_fits = "error: the mail server offers no way to sign in that fits the settings: it offers ";
    let said = offers(b"250-mail.shop.example\r\n250 AUTH XOAUTH2\r\n");
    let token = "help: It takes a token alone, and no password: set `sign_in = \"token\"` under [mail]";
    assert!(said.starts_with(&format!("{none_fits}XOAUTH2\n{token}")), "{said}");
    let said = offers(b"250 mail.shop.example\r\n");
    assert!(
        said.starts_with(&format!("{none_fits}nothing\nhelp: Programs mostly sign in at port 587")),
        "{said}"
    );
    let said = offers(b"250-mail.shop.example\r\n250 AUTH GSSAPI\r\n");
    assert!(said.starts_with(&format!("{none_fits}GSSAPI\nhelp: Ask the mail provider how")), "{said}");
    let by_token = "sign_in = \"token\"\ntoken_command = [\"echo\", \"abc\"]";
    let said = said_of(SECURED, by_token, &[]);
    let password = "help: It takes a password alone, and no token: set `sign_in = \"password\"`";
    assert!(said.starts_with(&format!("{none_fits}PLAIN, LOGIN\n{password}")), "{said}");

    let disabled = &[Act::Say(b"535 5.7.139 unsuccessful, basic authentication is disabled\r\n")];
    let said = said_of(Script { sign_in: disabled, ..SECURED }, "", &[]);
    assert!(
        said.contains("\nhelp: The provider takes no passwords from programs for this account"),
        "{said}"
    );
    assert!(!said.contains("app password"), "{said}");
}

#[test]
fn a_server_that_wants_a_sign_in_is_answered_by_what_was_done() {
    let wanted = Act::Say(b"530 5.7.0 Authentication required\r\n");
    let what = "error: the mail server wants a sign-in: 530 5.7.0 Authentication required\nhelp: ";
    let after = "The sign-in went well, and it wants another one all the same. Check `server` and `port` under [mail], and \
                 ask the mail provider whether this account may send by it.\n";
    for script in [Script { sender: wanted, ..SECURED }, Script { receiver: ("", wanted), ..SECURED }] {
        assert_eq!(said_of(script, "", &[]), format!("{what}{after}"));
    }
    let at_the_mail = [Script { data: wanted, ..SECURED }, Script { message: wanted, ..SECURED }];
    for script in at_the_mail {
        assert_eq!(said_of(script, "", &["--send", "zoe@shop.example"]), format!("{what}{after}"));
    }

    let port = Server::start(Script { sender: wanted, ..SECURED }).port;
    let yard = yard_with("to = [\"zoe@shop.example\"]", port, "sign_in = \"none\"");
    let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
    yard.put("tickover.toml", settings.replace("user = \"garage\"\n", ""));
    let said = said(&check(&yard, None, &[]));
    let help =
        "Take the line `sign_in = \"none\"` under [mail] out, set `user` there, and give its password.\n";
    assert_eq!(said, format!("{what}{help}"));
}

#[test]
fn what_is_wrong_elsewhere_in_the_settings_needs_a_person_though_the_mail_goes() {
    let server = Server::start(SECURED);
    for (line, error) in [
        ("password = \"s3cret\"", "error: a secret must not stand in the settings"),
        ("secuirty = \"tls\"", "error: there is no setting `secuirty`"),
    ] {
        let yard = yard_with("to = [\"zoe@shop.example\"]", server.port, line);
        let output = check(&yard, Some("s3cret"), &["--send", "zoe@shop.example"]);
        assert!(printed(&output).contains("\nA short mail is on its way to zoe@shop.example: "), "{line}");
        assert_eq!(output.status.code(), Some(1), "{line}");
        assert!(said(&output).contains(error), "{}", said(&output));
    }
    // So it is without an account.
    let yard = Yard::empty();
    yard.put("tickover.toml", "[shop]\nnaem = \"Mill Lane\"\n");
    assert_eq!(check(&yard, None, &[]).status.code(), Some(1));
}

#[test]
fn an_address_behind_send_that_is_refused_is_not_looked_for_in_the_settings() {
    let refusal = Act::Say(b"550 5.1.1 No such user\r\n");
    let said = said_of(Script { receiver: ("bob", refusal), ..SECURED }, "", &["--send", "bob@shop.example"]);
    assert_eq!(said, "help: Correct the address behind `--send`, or ask whoever runs that mailbox.\n");
}

#[test]
fn while_a_server_looks_at_the_mail_it_is_said_how_long_that_may_take() {
    // What is said must stand there before the answer comes, or it would help nobody.
    let script = Script { message: Act::Late(1_500, b"250 2.0.0 stored\r\n"), ..SECURED };
    let yard = yard_with("to = [\"zoe@shop.example\"]", Server::start(script).port, "");
    let mut program = Command::new(env!("CARGO_BIN_EXE_tickover"))
        .args(["post", "check", "--send", "zoe@shop.example", "--yard"])
        .arg(yard.path())
        .env("TICKOVER_MAIL_PASSWORD", "s3cret")
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(program.stdout.take().unwrap()).lines().map(Result::unwrap);
    assert!(lines.any(|line| format!("{line}\n") == HANDED_OVER));
    let said = Instant::now();
    let answer = "A short mail is on its way to zoe@shop.example: 250 2.0.0 stored";
    assert_eq!(lines.next().as_deref(), Some(answer));
    assert!(said.elapsed() > Duration::from_millis(500), "{:?}", said.elapsed());
    assert!(program.wait().unwrap().success());
}

#[test]
fn a_certificate_that_is_not_taken_is_said_in_words_of_ours() {
    let shown = |certificate| {
        let script = Script { secured: Secured::FromTheFirstByte(certificate), ..GOOD };
        let said = said_of(script, "", &[]);
        said.lines().next().unwrap().to_owned()
    };
    let of = |offset: i64| {
        let day = today::now().to_zoned_datetime(TimeZone::UTC).date() + jiff::Span::new().days(offset);
        day.strftime("%-d %B %Y").to_string()
    };
    assert_eq!(
        shown("wrong"),
        "error: the certificate is another server's: it is for `mail.elsewhere.example`"
    );
    let expired = shown("expired");
    let expected = |offset| {
        format!(
            "error: the mail server's certificate is not valid today: it ran out on {}, and by this PC it is {}",
            of(offset - 1),
            of(offset)
        )
    };
    // Midnight may have passed since the certificate was made.
    assert!([expected(0), expected(-1)].contains(&expired), "{expired}");
    let self_signed = shown("self");
    let unknown = "error: nobody that this PC trusts has signed the mail server's certificate";
    assert_eq!(self_signed, unknown);
    let authority = "it is an authority's own, and not one for a server";
    assert_eq!(shown("ca"), format!("{unknown}: {authority}"));
}

#[cfg(unix)]
#[test]
fn what_a_token_program_says_is_shown_in_its_plain_words_and_without_a_secret() {
    let command = "echo 'error: refresh token expired (ya29.hunter2)' >&2; exit 9";
    let by_token = format!("sign_in = \"token\"\ntoken_command = [\"sh\", \"-c\", \"{command}\"]");
    let said = said_of(SECURED, &by_token, &[]);
    let expected = "error: the program that prints the sign-in token failed: it ended with exit code 9\n\
                    it says: error: refresh token expired …\nhelp: Run it by hand";
    assert!(said.starts_with(expected), "{said}");
}
