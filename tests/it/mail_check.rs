//! `tickover post check`: the mail account tried from the command line, against a server of ours.

use std::process::{Command, Output};

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
    let yard = Yard::empty();
    let authority = certificates().join("ca.pem");
    let authority = authority.display();
    yard.put(
        "tickover.toml",
        format!(
            "[letter]\nfrom = \"desk@shop.example\"\nto = [\"zoe@shop.example\", \"gone@shop.example\"]\n\n\
             [mail]\nserver = \"localhost\"\nport = {port}\nsecurity = \"tls\"\nuser = \"garage\"\nca_file = '{authority}'\n"
        ),
    );
    yard
}

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
        "Trying localhost, port {}, secured from the first byte.
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
        format!("{steps}A short mail is on its way to zoe@shop.example: 250 2.0.0 stored\n")
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
    assert_eq!(said(&output), "help: Correct the address, or ask the mail provider about these words.\n");
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
