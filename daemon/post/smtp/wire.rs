//! The bytes to and from a mail server: every reply and every wait has a limit, and nothing is believed after a
//! limit was passed.

use std::future::poll_fn;
use std::io;
use std::pin::{Pin, pin};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::time::timeout;

use crate::problem::harmless;

/// The longest line of a reply, in bytes. RFC 5321, 4.5.3.1.5 allows 512; servers with long explanations need more.
const LINE_BYTES_MOST: usize = 2_000;
/// The longest reply with all its lines, in bytes.
const REPLY_BYTES_MOST: usize = 64 * 1024;
/// The most that is shown of what a server said, in characters.
const WORDS_MOST: usize = 300;
/// What is said of a connection that ended in good order, though at the wrong time.
const HUNG_UP: &str = "the server hung up";
/// How often a wait looks whether it is to stop.
const LOOK_EVERY: Duration = Duration::from_millis(50);

/// A connection, secured or not.
pub(super) trait Stream: AsyncRead + AsyncWrite + Unpin {}
impl<S: AsyncRead + AsyncWrite + Unpin> Stream for S {}

/// Why a conversation cannot go on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Break {
    /// The server did not answer within the step's limit.
    TooLate,
    /// We were told to stop.
    Stopped,
    /// The connection is gone; what the system says.
    Gone(String),
    /// What the server said is no reply of a mail server; its words.
    Nonsense(String),
}

impl Break {
    /// What happened, for a person.
    pub(super) fn words(&self) -> String {
        match self {
            Break::TooLate => "the server did not answer in time".to_owned(),
            Break::Stopped => "the sending was stopped".to_owned(),
            Break::Gone(why) => format!("the connection broke off ({why})"),
            Break::Nonsense(said) => format!("the server's answer makes no sense: `{said}`"),
        }
    }
}

impl From<io::Error> for Break {
    fn from(cause: io::Error) -> Break {
        Break::Gone(match cause.kind() {
            io::ErrorKind::UnexpectedEof => HUNG_UP.to_owned(),
            io::ErrorKind::ConnectionReset | io::ErrorKind::ConnectionAborted | io::ErrorKind::BrokenPipe => {
                "it was torn down".to_owned()
            }
            _ => shown(&cause.to_string()),
        })
    }
}

/// How long the whole may take, and whether it is to stop.
pub(super) struct Pace<'a> {
    end: Instant,
    stop: &'a AtomicBool,
}

impl<'a> Pace<'a> {
    /// Everything from now on within `total`, or until `stop`.
    pub(super) fn new(total: Duration, stop: &'a AtomicBool) -> Pace<'a> {
        Pace { end: Instant::now() + total, stop }
    }

    /// One step, cut off at its limit, at the end of the whole, or soon after we are told to stop.
    pub(super) async fn within<T>(
        &self,
        limit: Duration,
        step: impl Future<Output = Result<T, Break>>,
    ) -> Result<T, Break> {
        let end = self.end.min(Instant::now() + limit);
        let mut step = pin!(step);
        loop {
            if self.stop.load(Ordering::Relaxed) {
                return Err(Break::Stopped);
            }
            let left = end.saturating_duration_since(Instant::now());
            if left.is_zero() {
                return Err(Break::TooLate);
            }
            if let Ok(done) = timeout(left.min(LOOK_EVERY), step.as_mut()).await {
                return done;
            }
        }
    }
}

/// What a server answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Reply {
    /// The three figures.
    pub(super) code: u16,
    /// The texts of its lines.
    pub(super) lines: Vec<String>,
}

impl Reply {
    /// Taken, done (RFC 5321, 4.2.1: 2yz).
    pub(super) fn is_good(&self) -> bool {
        self.code / 100 == 2
    }

    /// Refused for good (5yz).
    pub(super) fn is_refusal(&self) -> bool {
        self.code / 100 == 5
    }

    /// Whether the mail is larger than the server, or the receiver's mailbox, takes (552: RFC 1870, 6; 5.2.3 and 5.3.4:
    /// RFC 3463, 3.3 and 3.4).
    pub(super) fn is_about_size(&self) -> bool {
        let is_so = matches!(self.status(), Some("5.2.3" | "5.3.4"));
        // 5.2.2 is a mailbox that is full.
        self.is_refusal() && (is_so || self.code == 552 && self.status() != Some("5.2.2"))
    }

    /// Whether it names the sender's address as what is wrong (5.1.7, 5.1.8; RFC 3463, 3.2), or that the sender's domain
    /// does not stand for mails of this account (5.7.20 to 5.7.24, 5.7.26; RFC 7372, 3), or takes no answers (5.7.27; RFC
    /// 7505, 4.2).
    pub(super) fn is_against_the_sender(&self) -> bool {
        let statuses =
            ["5.1.7", "5.1.8", "5.7.20", "5.7.21", "5.7.22", "5.7.23", "5.7.24", "5.7.26", "5.7.27"];
        self.is_refusal() && self.status().is_some_and(|status| statuses.contains(&status))
    }

    /// Whether it names a receiver's address or mailbox as what is wrong (5.1.z, 5.2.z; RFC 3463, 3.2 and 3.3).
    pub(super) fn is_against_a_receiver(&self) -> bool {
        let is_so = |status: &str| status.starts_with("5.1.") || status.starts_with("5.2.");
        self.is_refusal() && self.status().is_some_and(is_so)
    }

    /// Whether what it refuses a receiver may be meant for the sender: a sign-in is wanted (530; RFC 4954, 6), the
    /// sender's address is not taken, or policy forbids it (5.1.7, 5.1.8 and 5.7.z; RFC 3463, 3.2 and 3.8).
    pub(super) fn may_be_against_the_sender(&self) -> bool {
        let status = self.status().unwrap_or_default();
        let is_so = matches!(status, "5.1.7" | "5.1.8") || status.starts_with("5.7.");
        self.code == 530 || self.is_refusal() && is_so
    }

    /// The enhanced status code that it begins with (RFC 2034), such as `5.1.1`.
    fn status(&self) -> Option<&str> {
        self.lines.first().and_then(|line| line.split(' ').next()).filter(|word| is_status(word))
    }

    /// What was said on one line. An enhanced status code (RFC 2034) that each line repeats is shown once.
    pub(super) fn words(&self) -> String {
        let mut words = self.code.to_string();
        let status = self.status();
        for (number, line) in self.lines.iter().enumerate() {
            let repeated = status.filter(|_| number > 0).and_then(|status| line.strip_prefix(status));
            words.push(' ');
            words.push_str(repeated.unwrap_or(line).trim());
        }
        shown(&words)
    }
}

/// Whether a word has the form of an enhanced status code, such as `5.1.1`.
fn is_status(word: &str) -> bool {
    let figures = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    word.split('.').count() == 3 && word.split('.').all(figures)
}

/// Text from outside, harmless and not too long.
pub(super) fn shown(text: &str) -> String {
    harmless(text.trim()).chars().take(WORDS_MOST).collect()
}

/// The conversation's bytes.
pub(super) struct Wire {
    stream: Box<dyn Stream>,
    /// What was received and not yet read.
    unread: Vec<u8>,
    /// What must not be shown when the server says it.
    hidden: Vec<String>,
    /// A reply that comes late would be taken for that of the next command, so nothing is said after a failure.
    is_broken: bool,
}

impl Wire {
    pub(super) fn new(stream: Box<dyn Stream>) -> Wire {
        Wire { stream, unread: Vec::new(), hidden: Vec::new(), is_broken: false }
    }

    /// The connection itself, to be secured; `None` where the server has said something already that would then be
    /// taken for secured (RFC 3207, 4.2 asks to forget all that was said before).
    pub(super) fn into_stream(self) -> Option<Box<dyn Stream>> {
        self.unread.is_empty().then_some(self.stream)
    }

    /// From now on, these are never shown, whatever the server says.
    pub(super) fn hide(&mut self, secrets: impl IntoIterator<Item = String>) {
        self.hidden.extend(secrets.into_iter().filter(|secret| !secret.is_empty()));
    }

    /// Says something, such as a command with its line end, and hears the reply.
    pub(super) async fn ask(&mut self, line: &str, limit: Duration, pace: &Pace<'_>) -> Result<Reply, Break> {
        if !self.unread.is_empty() {
            // It would be taken for the reply.
            self.is_broken = true;
            return Err(self.nonsense(&String::from_utf8_lossy(&self.unread)));
        }
        self.say(line.as_bytes(), limit, pace).await?;
        self.hear(limit, pace).await
    }

    /// Hands bytes over to the system.
    pub(super) async fn say(&mut self, bytes: &[u8], limit: Duration, pace: &Pace<'_>) -> Result<(), Break> {
        self.refuse_if_broken()?;
        let said = pace.within(limit, self.write(bytes)).await;
        self.is_broken = said.is_err();
        said
    }

    /// Hears a reply.
    pub(super) async fn hear(&mut self, limit: Duration, pace: &Pace<'_>) -> Result<Reply, Break> {
        self.refuse_if_broken()?;
        let heard = pace.within(limit, self.read_reply()).await;
        self.is_broken = heard.is_err();
        heard
    }

    fn refuse_if_broken(&self) -> Result<(), Break> {
        if self.is_broken { Err(Break::Gone("an earlier step failed".to_owned())) } else { Ok(()) }
    }

    async fn write(&mut self, mut bytes: &[u8]) -> Result<(), Break> {
        while !bytes.is_empty() {
            let written = poll_fn(|context| Pin::new(&mut self.stream).poll_write(context, bytes)).await?;
            if written == 0 {
                return Err(Break::Gone("it takes nothing more".to_owned()));
            }
            bytes = &bytes[written..];
        }
        Ok(poll_fn(|context| Pin::new(&mut self.stream).poll_flush(context)).await?)
    }

    async fn read_reply(&mut self) -> Result<Reply, Break> {
        let (mut code, mut lines, mut bytes) = (None, Vec::new(), 0);
        loop {
            let line = self.read_line().await?;
            // A byte more for each, so that empty lines count, too.
            bytes += line.len() + 1;
            let text = String::from_utf8_lossy(&line);
            let text = text.trim_end_matches(['\r', '\n']);
            let Some((figures, is_last, rest)) = reply_line(text) else { return Err(self.nonsense(text)) };
            if bytes > REPLY_BYTES_MOST || code.is_some_and(|code| code != figures) {
                return Err(self.nonsense(text));
            }
            code = Some(figures);
            lines.push(self.without_secrets(rest));
            if is_last {
                return Ok(Reply { code: figures, lines });
            }
        }
    }

    /// One line with its end.
    async fn read_line(&mut self) -> Result<Vec<u8>, Break> {
        loop {
            if let Some(end) = self.unread.iter().position(|byte| *byte == b'\n') {
                let rest = self.unread.split_off(end + 1);
                return Ok(std::mem::replace(&mut self.unread, rest));
            }
            if self.unread.len() > LINE_BYTES_MOST {
                let said = String::from_utf8_lossy(&self.unread).into_owned();
                return Err(self.nonsense(&said));
            }
            let mut room = [0; 1024];
            let mut taken = ReadBuf::new(&mut room);
            poll_fn(|context| Pin::new(&mut self.stream).poll_read(context, &mut taken)).await?;
            if taken.filled().is_empty() {
                return Err(Break::Gone(HUNG_UP.to_owned()));
            }
            self.unread.extend_from_slice(taken.filled());
        }
    }

    fn nonsense(&self, said: &str) -> Break {
        Break::Nonsense(shown(&self.without_secrets(said)).chars().take(80).collect())
    }

    fn without_secrets(&self, text: &str) -> String {
        self.hidden.iter().fold(text.to_owned(), |text, secret| text.replace(secret.as_str(), "(hidden)"))
    }
}

/// A reply line's figures, whether it is the last, and its text (RFC 5321, 4.2).
pub fn reply_line(line: &str) -> Option<(u16, bool, &str)> {
    let figures = line.get(..3).filter(|figures| figures.bytes().all(|byte| byte.is_ascii_digit()))?;
    let code = figures.parse().ok().filter(|code| (200..600).contains(code))?;
    match line.as_bytes().get(3) {
        None => Some((code, true, "")),
        Some(b' ') => Some((code, true, &line[4..])),
        Some(b'-') => Some((code, false, &line[4..])),
        Some(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reply_line_is_three_figures_and_a_text() {
        for (line, expected) in [
            ("250 2.0.0 stored", Some((250, true, "2.0.0 stored"))),
            ("250-mail.shop.example", Some((250, false, "mail.shop.example"))),
            ("354", Some((354, true, ""))),
            ("250 ", Some((250, true, ""))),
            ("HTTP/1.1 400 Bad Request", None),
            ("25", None),
            ("2500 what", None),
            ("099 low", None),
            ("600 high", None),
            ("2\u{e9}0 ok", None),
            ("", None),
        ] {
            assert_eq!(reply_line(line), expected, "{line}");
        }
    }

    #[test]
    fn a_reply_of_several_lines_is_said_on_one() {
        let reply = |code, lines: &[&str]| Reply {
            code,
            lines: lines.iter().map(|line| (*line).to_owned()).collect(),
        };
        for (reply, expected) in [
            (
                reply(550, &["5.7.509 first line", "5.7.509 second line"]),
                "550 5.7.509 first line second line",
            ),
            (reply(550, &["first line", "second\u{1b}[31m line"]), "550 first line second\u{fffd}[31m line"),
            (reply(354, &[""]), "354"),
        ] {
            assert_eq!(reply.words(), expected);
        }
    }
}
