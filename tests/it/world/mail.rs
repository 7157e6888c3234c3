//! A mail server on loopback that has moods; what it was handed is kept.

use std::collections::BTreeSet;
use std::io::{self, BufRead as _, BufReader, Read as _, Write as _};
use std::net::{TcpListener, TcpStream};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::Duration;

/// How a server treats those who call.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mood {
    /// Takes everything.
    Good,
    /// Hangs up on every call.
    HangsUp,
    /// Greets with 421.
    Busy,
    /// Puts every receiver off with 450.
    NotNow,
    /// Puts each receiver off once, as a greylist does.
    Greylists,
    /// Refuses the receivers whose address begins so, for good.
    Refuses(&'static str),
    /// Puts them off.
    PutsOff(&'static str),
    /// Hangs up in the middle of the message.
    DropsInBody,
    /// Keeps the message, and hangs up instead of saying so.
    StoresAndDrops,
    /// Hangs up at the end of the message, and has lost it.
    LosesAndDrops,
    /// Answers 452 to the message.
    NoRoom,
}

/// A message that a server was handed.
#[derive(Debug, Clone)]
pub(crate) struct Handed {
    /// Its Message-ID with the angle brackets.
    pub(crate) message_id: String,
    pub(crate) bytes: Vec<u8>,
    /// The receivers that the server took.
    pub(crate) receivers: Vec<String>,
    /// Whether the server read it to its end.
    pub(crate) is_whole: bool,
    /// Whether the server has it.
    pub(crate) stored: bool,
    /// Whether the client was told that it has it not.
    pub(crate) denied: bool,
}

/// What is to be done when a call reaches a step.
type AtStep = Arc<dyn Fn() + Send + Sync>;

struct State {
    mood: Mood,
    greylisted: BTreeSet<String>,
    handed: Vec<Handed>,
    /// The port of a call that only waits for its turn.
    waiting: Option<u16>,
    /// At which of its answers, in a call that comes so far, something is done; the greeting does not count.
    at_step: Option<(usize, AtStep)>,
}

/// A running server; it ends with the test program.
pub(crate) struct Server {
    pub(crate) port: u16,
    state: Arc<Mutex<State>>,
}

impl Server {
    pub(crate) fn start() -> Server {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        let state = State {
            mood: Mood::Good,
            greylisted: BTreeSet::new(),
            handed: Vec::new(),
            waiting: None,
            at_step: None,
        };
        let state = Arc::new(Mutex::new(state));
        let own = Arc::clone(&state);
        // One call after another, so that a call which is answered has all before it behind it.
        thread::spawn(move || {
            for stream in listener.incoming() {
                // A client that goes away in the middle is what this is about.
                let _ = stream.and_then(|stream| serve(stream, &own));
            }
        });
        Server { port, state }
    }

    pub(crate) fn set(&self, mood: Mood) {
        let mut state = self.state.lock().unwrap();
        state.mood = mood;
        state.greylisted.clear();
    }

    /// Does something once, before the answer with a number, of the next call that comes so far.
    pub(crate) fn at_step(&self, step: usize, act: impl Fn() + Send + Sync + 'static) {
        self.state.lock().unwrap().at_step = Some((step, Arc::new(act)));
    }

    /// Waits until every call so far is over.
    pub(crate) fn settle(&self) {
        let mut call = {
            let mut state = self.state.lock().unwrap();
            let call = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
            state.waiting = Some(call.local_addr().unwrap().port());
            call
        };
        call.set_read_timeout(Some(Duration::from_secs(30))).unwrap();
        assert_eq!(call.read(&mut [0]).unwrap(), 0, "the mail server hangs up when it is this call's turn");
    }

    pub(crate) fn count(&self) -> usize {
        self.state.lock().unwrap().handed.len()
    }

    /// What was handed over since a count.
    pub(crate) fn since(&self, count: usize) -> Vec<Handed> {
        self.state.lock().unwrap().handed[count..].to_vec()
    }
}

fn serve(mut stream: TcpStream, state: &Mutex<State>) -> io::Result<()> {
    let mood = {
        let mut state = state.lock().unwrap();
        if state.waiting == Some(stream.peer_addr()?.port()) {
            state.waiting = None;
            return Ok(());
        }
        state.mood
    };
    stream.set_read_timeout(Some(Duration::from_secs(30)))?;
    let mut lines = BufReader::new(stream.try_clone()?);
    match mood {
        Mood::HangsUp => return Ok(()),
        Mood::Busy => return stream.write_all(b"421 4.3.2 too busy\r\n"),
        _ => stream.write_all(b"220 mail.shop.example ready\r\n")?,
    }
    let mut receivers = Vec::new();
    let mut answers = 0;
    loop {
        let line = line(&mut lines)?;
        let text = String::from_utf8_lossy(&line).trim_end().to_owned();
        let verb = text.split([' ', ':']).next().unwrap_or_default().to_ascii_uppercase();
        let reply: &[u8] = match verb.as_str() {
            "MAIL" => {
                receivers.clear();
                b"250 2.1.0 ok\r\n"
            }
            "RCPT" => {
                let address = text.split(['<', '>']).nth(1).unwrap_or_default().to_owned();
                let reply = receiver(mood, &address, state);
                if reply.starts_with(b"250") {
                    receivers.push(address);
                }
                reply
            }
            "DATA" if receivers.is_empty() => b"503 5.5.1 nobody to send it to\r\n",
            "DATA" => {
                answer(&mut stream, b"354 go on\r\n", &mut answers, state)?;
                let is_whole = mood != Mood::DropsInBody;
                let bytes = message(&mut lines, is_whole)?;
                let denied = mood == Mood::NoRoom;
                let handed = Handed {
                    message_id: message_id(&bytes),
                    bytes,
                    receivers: receivers.clone(),
                    is_whole,
                    stored: is_whole && !denied && mood != Mood::LosesAndDrops,
                    denied,
                };
                state.lock().unwrap().handed.push(handed);
                match mood {
                    Mood::NoRoom => b"452 4.3.1 no room\r\n",
                    Mood::StoresAndDrops | Mood::LosesAndDrops | Mood::DropsInBody => return Ok(()),
                    _ => b"250 2.0.0 stored\r\n",
                }
            }
            "QUIT" => return answer(&mut stream, b"221 bye\r\n", &mut answers, state),
            "EHLO" | "RSET" => b"250 ok\r\n",
            _ => b"500 5.5.2 what?\r\n",
        };
        answer(&mut stream, reply, &mut answers, state)?;
    }
}

/// Answers; before that, does what is to be done at this step.
fn answer(stream: &mut TcpStream, reply: &[u8], answers: &mut usize, state: &Mutex<State>) -> io::Result<()> {
    *answers += 1;
    let act = state.lock().unwrap().at_step.take_if(|(at, _)| at == answers);
    if let Some((_, act)) = act {
        act();
    }
    stream.write_all(reply)
}

fn receiver(mood: Mood, address: &str, state: &Mutex<State>) -> &'static [u8] {
    match mood {
        Mood::NotNow => b"450 4.2.0 not now\r\n",
        Mood::Greylists if state.lock().unwrap().greylisted.insert(address.to_owned()) => {
            b"450 4.2.0 come again\r\n"
        }
        Mood::Refuses(who) if address.starts_with(who) => b"550 5.1.1 nobody of that name\r\n",
        Mood::PutsOff(who) if address.starts_with(who) => b"452 4.2.2 the mailbox is full\r\n",
        _ => b"250 2.1.5 ok\r\n",
    }
}

/// One line with its end.
fn line(lines: &mut BufReader<TcpStream>) -> io::Result<Vec<u8>> {
    let mut line = Vec::new();
    if lines.read_until(b'\n', &mut line)? == 0 || !line.ends_with(b"\n") {
        return Err(io::ErrorKind::UnexpectedEof.into());
    }
    Ok(line)
}

/// A message up to the line with a single dot, without the dots that were doubled (RFC 5321, 4.5.2); or its head alone.
fn message(lines: &mut BufReader<TcpStream>, is_whole: bool) -> io::Result<Vec<u8>> {
    let mut message = Vec::new();
    loop {
        let line = line(lines)?;
        if line == b".\r\n" || (line == b"\r\n" && !is_whole) {
            return Ok(message);
        }
        message.extend_from_slice(line.strip_prefix(b".").unwrap_or(&line));
    }
}

/// The Message-ID of a message, with the angle brackets.
pub(crate) fn message_id(message: &[u8]) -> String {
    let text = String::from_utf8_lossy(message);
    let header = text.split("\r\n\r\n").next().unwrap_or_default();
    let id = header.lines().find_map(|line| line.strip_prefix("Message-ID: "));
    id.unwrap_or_else(|| panic!("no Message-ID in {header}")).to_owned()
}
