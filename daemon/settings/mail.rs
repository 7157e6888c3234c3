//! The account under `[mail]`: its keys are read one by one and then checked together, since one decides what
//! another may be.

use std::collections::{BTreeMap, BTreeSet};
use std::net::IpAddr;
use std::ops::Range;

use super::read::{Name, unknown};
use super::text::{Fault, is_secret, secret_fault};
use super::values::{Value, choice, chosen, count, entries, quoted, quoted_list, words, yes_or_no};
use super::{MailAccount, Security, Settings, SignIn};

/// The heading.
pub(super) const MAIL: &str = "mail";

/// One key under `[mail]`.
pub(super) struct MailKey {
    /// The key as it is written.
    pub(super) name: &'static str,
    /// What it settles and what is allowed, for the comment above it.
    pub(super) explained: &'static str,
    /// Reads its value; what cannot be used becomes a fault and leaves the key unset.
    read: fn(&Value<'_>, &mut Written, &mut Vec<Fault>),
    /// What counts until a fault is put right, as the end of `Until then …`.
    until: &'static str,
    /// Its value in an account, as TOML; `None` where it is not set.
    pub(super) written: fn(&MailAccount) -> Option<String>,
    /// A value that shows how it is written, for the comment while it is not set.
    pub(super) example: &'static str,
}

/// What stands under `[mail]`, key by key.
#[derive(Default)]
struct Written {
    server: Option<String>,
    port: Option<u16>,
    security: Option<Security>,
    user: Option<String>,
    sign_in: Option<Way>,
    password_file: Option<String>,
    token_command: Option<Vec<String>>,
    hello_name: Option<String>,
    ca_file: Option<String>,
    insist_on_plain: Option<bool>,
}

/// A way to sign in, without what it needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    None,
    Password,
    Token,
}

const SECURITIES: [(&str, Security); 3] =
    [("tls", Security::Tls), ("starttls", Security::StartTls), ("none", Security::Plain)];
const WAYS: [(&str, Way); 3] = [("password", Way::Password), ("token", Way::Token), ("none", Way::None)];

/// What a mistake in a key means without which an account is a guess.
const NOTHING_SENT: &str = "no mail goes out";

/// The keys in the file's order.
pub(super) const KEYS: &[MailKey] = &[
    MailKey {
        name: "server",
        explained: "The name of the server that takes your outgoing mail, as your mail provider gives it.",
        read: |value, written, faults| put(&mut written.server, server_name(value), faults),
        until: NOTHING_SENT,
        written: |account| Some(quoted(&account.server)),
        example: "\"mail.shop.example\"",
    },
    MailKey {
        name: "security",
        explained: "How the connection is kept from others' eyes: \"tls\" (from the start, mostly port 465), \
                    \"starttls\" (after a greeting, mostly port 587), or \"none\", to a server on this PC alone.",
        read: |value, written, faults| put(&mut written.security, choice(value, &SECURITIES), faults),
        until: "it is \"tls\"",
        written: |account| Some(chosen(&SECURITIES, &account.security)),
        example: "\"tls\"",
    },
    MailKey {
        name: "port",
        explained: "The server's port; left out, 465 for \"tls\", 587 for \"starttls\" and 25 for \"none\".",
        read: |value, written, faults| {
            let port = count(value, 1..=u16::MAX.into());
            put(&mut written.port, port.map(|port| u16::try_from(port).unwrap_or(u16::MAX)), faults);
        },
        until: "it is the usual one",
        written: |account| Some(account.port.to_string()),
        example: "465",
    },
    MailKey {
        name: "sign_in",
        explained: "How to sign in: with a \"password\", with a \"token\" (OAuth) that a program of yours prints, or \
                    \"none\". The secret never stands here.",
        read: |value, written, faults| put(&mut written.sign_in, choice(value, &WAYS), faults),
        until: NOTHING_SENT,
        written: |account| Some(chosen(&WAYS, &Way::of(&account.sign_in))),
        example: "\"password\"",
    },
    MailKey {
        name: "user",
        explained: "The user's name there, mostly the whole address.",
        read: |value, written, faults| put(&mut written.user, words(value), faults),
        until: NOTHING_SENT,
        written: |account| match &account.sign_in {
            SignIn::None => None,
            SignIn::Password { user, .. } | SignIn::Token { user, .. } => Some(quoted(user)),
        },
        example: "\"workshop@shop.example\"",
    },
    MailKey {
        name: "password_file",
        explained: "A file that holds nothing but the password and that only Tickover's account may read. It may be \
                    left out: the environment variable TICKOVER_MAIL_PASSWORD counts first, then the service \
                    manager's credential mail-password, then this file.",
        read: |value, written, faults| put(&mut written.password_file, words(value), faults),
        until: NOTHING_SENT,
        written: |account| match &account.sign_in {
            SignIn::Password { file: Some(file), .. } => Some(quoted(file)),
            _ => None,
        },
        example: "\"/etc/tickover/mail-password\"",
    },
    MailKey {
        name: "token_command",
        explained: "For \"token\": the program that prints a token, and its arguments.",
        read: |value, written, faults| put(&mut written.token_command, command(value, faults), faults),
        until: NOTHING_SENT,
        written: |account| match &account.sign_in {
            SignIn::Token { command, .. } => Some(quoted_list(command)),
            _ => None,
        },
        example: "[\"/usr/local/bin/mail-token\", \"workshop\"]",
    },
    MailKey {
        name: "hello_name",
        explained: "What this PC calls itself to the server; left out, the domain of the sender's address.",
        read: |value, written, faults| put(&mut written.hello_name, server_name(value), faults),
        until: "it is the domain of the sender's address",
        written: |account| account.hello_name.as_deref().map(quoted),
        example: "\"workshop-pc.shop.example\"",
    },
    MailKey {
        name: "ca_file",
        explained: "A file with the certificate (PEM) that signs the server's, where the system does not know it.",
        read: |value, written, faults| put(&mut written.ca_file, words(value), faults),
        until: "only what the system knows counts",
        written: |account| account.ca_file.as_deref().map(quoted),
        example: "\"our-own-ca.pem\"",
    },
    MailKey {
        name: "insist_on_plain",
        explained: "true sends unencrypted even to another PC: whoever is on the way reads the letter, with \
                    customers' names and numbers, and the password.",
        read: |value, written, faults| put(&mut written.insist_on_plain, yes_or_no(value), faults),
        until: "it is false",
        written: |account| account.insist_on_plain.then(|| "true".to_owned()),
        example: "false",
    },
];

/// Takes a value over, or notes what is wrong with it.
fn put<T>(setting: &mut Option<T>, read: Result<T, Fault>, faults: &mut Vec<Fault>) {
    match read {
        Ok(value) => *setting = Some(value),
        Err(fault) => faults.push(fault),
    }
}

impl Way {
    fn of(sign_in: &SignIn) -> Way {
        match sign_in {
            SignIn::None => Way::None,
            SignIn::Password { .. } => Way::Password,
            SignIn::Token { .. } => Way::Token,
        }
    }
}

/// The keys that stand there, with their places, and those that could not be read.
struct Places {
    heading: Range<usize>,
    keys: BTreeMap<&'static str, Range<usize>>,
    faulty: BTreeSet<&'static str>,
}

impl Places {
    /// Where a key stands, or the heading where it does not.
    fn of(&self, key: &str) -> Range<usize> {
        self.keys.get(key).unwrap_or(&self.heading).clone()
    }
}

/// Reads what stands under `[mail]`; nothing there means that no account is meant.
pub(super) fn read_mail(
    entries: Vec<(Name<'_>, Value<'_>)>,
    heading: &Range<usize>,
    settings: &mut Settings,
    faults: &mut Vec<Fault>,
) {
    if entries.is_empty() {
        return;
    }
    let mut written = Written::default();
    let mut places = Places { heading: heading.clone(), keys: BTreeMap::new(), faulty: BTreeSet::new() };
    for (name, value) in entries {
        let Some(key) = KEYS.iter().find(|key| name.get_ref() == key.name) else {
            faults.extend(unknown(&name, &value, Some(MAIL)));
            continue;
        };
        places.keys.insert(key.name, name.span());
        let known = faults.len();
        (key.read)(&value, &mut written, faults);
        for fault in &mut faults[known..] {
            fault.what = format!("`{}`: {}", key.name, fault.what);
            fault.help.push_str(&format!(" Until then {}.", key.until));
            places.faulty.insert(key.name);
        }
    }
    settings.mail = account(written, &places, faults);
    settings.mail_in_doubt = settings.mail.is_none();
}

/// The account, once all its keys agree; everything on which they do not is told.
fn account(written: Written, places: &Places, faults: &mut Vec<Fault>) -> Option<MailAccount> {
    let security = written.security.unwrap_or(Security::Tls);
    let port = written.port.unwrap_or_else(|| usual_port(security));
    let insist_on_plain = written.insist_on_plain.unwrap_or(false);
    if written.server.is_none() && !places.faulty.contains("server") {
        faults.push(lacking("`server` is missing under [mail]", "server", places));
    }
    let sign_in = sign_in(&written, places, faults);
    note_unused(&written, places, faults);
    note_unusual_port(port, security, places, faults);
    let server = written.server?;
    let may_be_plain = insist_on_plain || is_this_machine(&server);
    if security == Security::Plain && !may_be_plain {
        faults.push(plain_to_another(places));
        return None;
    }
    if KEYS.iter().any(|key| key.until == NOTHING_SENT && places.faulty.contains(key.name)) {
        return None;
    }
    Some(MailAccount {
        server,
        port,
        security,
        sign_in: sign_in?,
        hello_name: written.hello_name,
        ca_file: written.ca_file,
        insist_on_plain,
    })
}

/// What is told of a connection that whoever is on the way could read.
fn plain_to_another(places: &Places) -> Fault {
    let what =
        "`security`: \"none\" is only for a server on this PC, since whoever is on the way could read all";
    let help = format!(
        "Write \"tls\" or \"starttls\", or `insist_on_plain = true` if it must be so. Until then {NOTHING_SENT}."
    );
    Fault::new(places.of("security"), what, help)
}

/// How to sign in, with what that way needs; what is missing is told.
fn sign_in(written: &Written, places: &Places, faults: &mut Vec<Fault>) -> Option<SignIn> {
    let way = written.sign_in.unwrap_or(Way::Password);
    if way != Way::None && written.user.is_none() && !places.faulty.contains("user") {
        let what = "`user` is missing under [mail], and signing in needs it";
        let mut fault = lacking(what, "user", places);
        fault.help.push_str(" A server that asks for no name takes `sign_in = \"none\"`.");
        faults.push(fault);
    }
    match way {
        Way::None => Some(SignIn::None),
        Way::Password => {
            Some(SignIn::Password { user: written.user.clone()?, file: written.password_file.clone() })
        }
        Way::Token => {
            if written.token_command.is_none() && !places.faulty.contains("token_command") {
                let what = "`token_command` is missing under [mail], and signing in by token needs it";
                faults.push(lacking(what, "token_command", places));
            }
            Some(SignIn::Token { user: written.user.clone()?, command: written.token_command.clone()? })
        }
    }
}

/// A key without which nothing can be sent.
fn lacking(what: &str, key: &str, places: &Places) -> Fault {
    let example = KEYS.iter().find(|known| known.name == key).map(|known| known.example).unwrap_or_default();
    let help = format!("Add a line such as `{key} = {example}`. Until then {NOTHING_SENT}.");
    Fault::new(places.heading.clone(), what, help)
}

/// Tells of keys that the way to sign in does not use: most likely another way was meant.
fn note_unused(written: &Written, places: &Places, faults: &mut Vec<Fault>) {
    let way = written.sign_in.unwrap_or(Way::Password);
    for (key, is_set, used_by) in [
        ("user", written.user.is_some(), [Way::Password, Way::Token].as_slice()),
        ("password_file", written.password_file.is_some(), &[Way::Password]),
        ("token_command", written.token_command.is_some(), &[Way::Token]),
    ] {
        if is_set && !used_by.contains(&way) {
            let what = format!("`{key}` is not used, because `sign_in` is {}", chosen(&WAYS, &way));
            let help = "Take the line out, or change `sign_in`.";
            faults.push(Fault::note(places.of(key), what, help));
        }
    }
}

/// The port that a server mostly listens on for a kind of security.
fn usual_port(security: Security) -> u16 {
    match security {
        Security::Tls => 465,
        Security::StartTls => 587,
        Security::Plain => 25,
    }
}

/// Tells of a port that is mostly another kind's (RFC 8314, section 3.3, for 465; RFC 6409 for 587).
fn note_unusual_port(port: u16, security: Security, places: &Places, faults: &mut Vec<Fault>) {
    let meant = match (port, security) {
        (465, Security::StartTls) => Security::Tls,
        (25 | 587, Security::Tls) => Security::StartTls,
        _ => return,
    };
    let what = format!("port {port} mostly goes with `security` {}", chosen(&SECURITIES, &meant));
    let help = format!(
        "If no mail gets through, change one of the two; {} mostly has port {}.",
        chosen(&SECURITIES, &security),
        usual_port(security)
    );
    let key = if places.keys.contains_key("port") { "port" } else { "security" };
    faults.push(Fault::note(places.of(key), what, help));
}

/// Whether a server is on this PC, so that nobody is on the way.
pub(super) fn is_this_machine(server: &str) -> bool {
    server.eq_ignore_ascii_case("localhost")
        || server.parse().is_ok_and(|address: IpAddr| address.is_loopback())
}

/// The name of a machine, or its number in the network.
fn server_name(value: &Value<'_>) -> Result<String, Fault> {
    /// The longest name that the domain name system knows (RFC 1035, section 2.3.4), without its last dot.
    const NAME_MOST: usize = 253;
    let text = words(value)?;
    let fault = |what: &str, help: &str| Err(Fault::new(value.span(), what, help));
    if text.parse::<IpAddr>().is_ok() {
        return Ok(text);
    }
    let help = "Write the name alone, such as \"mail.shop.example\".";
    if text.contains("://") || text.contains('@') {
        return fault("this is an address, not the name of a server", help);
    }
    if text.contains(':') {
        return fault("a port does not stand here", "Write the name alone; `port` has a line of its own.");
    }
    let is_name = |part: &str| {
        !part.is_empty() && part.chars().all(|letter| letter.is_ascii_alphanumeric() || "-_".contains(letter))
    };
    if text.len() > NAME_MOST || !text.split('.').all(is_name) {
        return fault("a server's name has only letters, digits and hyphens between its dots", help);
    }
    Ok(text)
}

/// A program with its arguments, none of which gives a secret away.
fn command(value: &Value<'_>, faults: &mut Vec<Fault>) -> Result<Vec<String>, Fault> {
    let known = faults.len();
    let argument = |value: &Value<'_>| {
        let text = words(value)?;
        let before = text.split_once('=').map(|(before, _)| before);
        if before.is_some_and(is_secret) { Err(secret_fault(value.span())) } else { Ok(text) }
    };
    let arguments = entries(value, argument, faults).unwrap_or_default();
    if arguments.is_empty() && faults.len() == known {
        return Err(Fault::new(value.span(), "no program is named", "Write [\"program\", \"argument\"]."));
    }
    Ok(arguments.into_iter().map(|(_, argument)| argument).collect())
}
