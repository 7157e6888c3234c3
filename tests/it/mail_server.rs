//! A mail server on loopback that misbehaves as it is told, one way at a time; all that was said to it is kept.

use std::io::{self, Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::{Arc, Mutex, OnceLock};
use std::thread;
use std::time::Duration;

use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::PemObject as _;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};
use tokio_rustls::rustls::{ServerConfig, ServerConnection, StreamOwned};

/// What the server does when it should answer.
#[derive(Debug, Clone, Copy)]
pub(super) enum Act {
    /// Says these bytes.
    Say(&'static [u8]),
    /// Says them after so many milliseconds.
    Late(u64, &'static [u8]),
    /// Says one byte of them after another, so many milliseconds apart.
    Drip(u64, &'static [u8]),
    /// Says the same bytes for ever.
    Endless(&'static [u8]),
    /// Says nothing and keeps the connection.
    Silence,
    /// Closes the connection in good order.
    HangUp,
    /// Says these bytes, then closes.
    SayAndHangUp(&'static [u8]),
    /// Tears the connection down (TCP reset).
    Reset,
}

/// How the server secures a connection, with which of the certificates.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Secured {
    Never,
    FromTheFirstByte(&'static str),
    OnRequest(&'static str),
}

/// What the server does at each step.
#[derive(Debug, Clone, Copy)]
pub(super) struct Script {
    pub(super) secured: Secured,
    pub(super) greeting: Act,
    /// The reply to EHLO before the connection is secured, or where it never is.
    pub(super) hello: Act,
    /// The reply to EHLO once the connection is secured.
    pub(super) hello_secured: Act,
    pub(super) start_tls: Act,
    /// The replies to what belongs to a sign-in, in order; the last one stays.
    pub(super) sign_in: &'static [Act],
    pub(super) sender: Act,
    /// For a receiver whose address begins so.
    pub(super) receiver: (&'static str, Act),
    pub(super) data: Act,
    /// Whether it acts at the first byte of the message instead of after its end.
    pub(super) in_the_middle: bool,
    pub(super) message: Act,
    pub(super) goodbye: Act,
}

/// A server that does everything right.
pub(super) const GOOD: Script = Script {
    secured: Secured::Never,
    greeting: Act::Say(b"220 mail.shop.example ready\r\n"),
    hello: Act::Say(b"250 mail.shop.example\r\n"),
    hello_secured: Act::Say(b"250-mail.shop.example\r\n250 AUTH PLAIN LOGIN\r\n"),
    start_tls: Act::Say(b"220 go ahead\r\n"),
    sign_in: &[Act::Say(b"235 2.7.0 welcome\r\n")],
    sender: Act::Say(b"250 2.1.0 ok\r\n"),
    receiver: ("nobody has this name", Act::Silence),
    data: Act::Say(b"354 go on\r\n"),
    in_the_middle: false,
    message: Act::Say(b"250 2.0.0 stored\r\n"),
    goodbye: Act::Say(b"221 bye\r\n"),
};

/// What the server has heard.
#[derive(Debug, Default)]
pub(super) struct Heard {
    /// The commands, and the lines of a sign-in.
    pub(super) lines: Vec<String>,
    /// The whole messages, without the line that ends each.
    pub(super) messages: Vec<Vec<u8>>,
}

/// A running server; it ends with the test program.
pub(super) struct Server {
    pub(super) port: u16,
    heard: Arc<Mutex<Heard>>,
}

impl Server {
    /// Starts one that treats every call by the same script.
    pub(super) fn start(script: Script) -> Server {
        Server::start_in_turn(&[script])
    }

    /// Starts one that treats the first call by the first script, and so on; the last one stays.
    pub(super) fn start_in_turn(scripts: &[Script]) -> Server {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        let heard = Arc::new(Mutex::new(Heard::default()));
        let (scripts, kept) = (scripts.to_vec(), Arc::clone(&heard));
        thread::spawn(move || {
            for (number, stream) in listener.incoming().enumerate() {
                let (script, kept) = (scripts[number.min(scripts.len() - 1)], Arc::clone(&kept));
                // A client that goes away in the middle is what many of the cases are about.
                thread::spawn(move || stream.and_then(|stream| serve(stream, &script, &kept)));
            }
        });
        Server { port, heard }
    }

    pub(super) fn lines(&self) -> Vec<String> {
        self.heard.lock().unwrap().lines.clone()
    }

    pub(super) fn messages(&self) -> Vec<Vec<u8>> {
        self.heard.lock().unwrap().messages.clone()
    }
}

/// The folder with the certificates, made once for all tests of this run.
pub(super) fn certificates() -> &'static Path {
    static FOLDER: OnceLock<PathBuf> = OnceLock::new();
    FOLDER.get_or_init(|| {
        let repository = Path::new(env!("CARGO_MANIFEST_DIR"));
        let folder = repository.join("target/mail-faults");
        let own = repository.join("target/python/bin/python");
        let python = if own.is_file() { own } else { "python3".into() };
        let script = repository.join("tests/mail/make_certificates.py");
        let made = Command::new(python).arg(script).arg(&folder).output();
        let made =
            made.expect("these tests make certificates with Python 3: install python3, or run tests/run");
        assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
        folder
    })
}

/// A connection, secured or not.
trait Stream: Read + Write + Send {}
impl<S: Read + Write + Send> Stream for S {}

/// What a reset needs of a connection: its bytes below any security.
struct Connection {
    stream: Box<dyn Stream>,
    bare: TcpStream,
}

/// Holds one conversation.
fn serve(bare: TcpStream, script: &Script, heard: &Mutex<Heard>) -> io::Result<()> {
    let mut connection = Connection { stream: Box::new(bare.try_clone()?), bare };
    let mut is_secured = false;
    if let Secured::FromTheFirstByte(certificate) = script.secured {
        connection = secure(connection, certificate)?;
        is_secured = true;
    }
    connection.act(script.greeting)?;
    let (mut signing_in, mut sign_in_replies) = (false, script.sign_in.iter());
    let mut sign_in_reply = script.sign_in[0];
    loop {
        let line = connection.line()?;
        heard.lock().unwrap().lines.push(line.clone());
        let verb = line.split([' ', ':']).next().unwrap_or_default().to_ascii_uppercase();
        let act = match verb.as_str() {
            _ if signing_in || verb == "AUTH" => {
                sign_in_reply = sign_in_replies.next().copied().unwrap_or(sign_in_reply);
                signing_in = matches!(sign_in_reply, Act::Say(said) if said.starts_with(b"334"));
                sign_in_reply
            }
            "EHLO" if is_secured => script.hello_secured,
            "EHLO" => script.hello,
            "STARTTLS" => script.start_tls,
            "MAIL" => script.sender,
            "RCPT" if line.starts_with(&format!("RCPT TO:<{}", script.receiver.0)) => script.receiver.1,
            "RCPT" | "RSET" => Act::Say(b"250 2.1.5 ok\r\n"),
            "DATA" => script.data,
            "QUIT" => script.goodbye,
            _ => Act::Say(b"500 5.5.2 what?\r\n"),
        };
        if !matches!(act, Act::Reset) {
            connection.byte()?;
        }
        connection.act(act)?;
        match (verb.as_str(), act, script.secured) {
            ("STARTTLS", Act::Say(said), Secured::OnRequest(certificate)) if said.starts_with(b"220") => {
                connection = secure(connection, certificate)?;
                is_secured = true;
            }
            ("DATA", Act::Say(said), _) if said.starts_with(b"354") => {
                if script.in_the_middle {
                    connection.byte()?;
                } else {
                    let message = connection.message(matches!(script.message, Act::Reset))?;
                    heard.lock().unwrap().messages.push(message);
                }
                connection.act(script.message)?;
            }
            ("QUIT", _, _) => return Ok(()),
            _ => {}
        }
    }
}

impl Connection {
    fn act(&mut self, act: Act) -> io::Result<()> {
        let ended = Err(io::Error::other("the script ends here"));
        match act {
            Act::Say(bytes) => self.say(bytes),
            Act::Late(after, bytes) => {
                thread::sleep(Duration::from_millis(after));
                self.say(bytes)
            }
            Act::Drip(apart, bytes) => bytes.iter().try_for_each(|byte| {
                thread::sleep(Duration::from_millis(apart));
                self.say(&[*byte])
            }),
            Act::Endless(bytes) => loop {
                self.say(bytes)?;
            },
            Act::Silence => {
                // Until the other side goes away.
                while self.byte().is_ok() {}
                ended
            }
            Act::HangUp => {
                self.bare.shutdown(Shutdown::Both)?;
                ended
            }
            Act::SayAndHangUp(bytes) => {
                self.say(bytes)?;
                self.act(Act::HangUp)
            }
            // Linux resets a connection that is closed while something of it is unread; `line` and `message` leave
            // the last byte.
            Act::Reset => {
                self.bare.peek(&mut [0])?;
                ended
            }
        }
    }

    fn say(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.stream.write_all(bytes)?;
        self.stream.flush()
    }

    fn byte(&mut self) -> io::Result<u8> {
        let mut byte = [0];
        self.stream.read_exact(&mut byte)?;
        Ok(byte[0])
    }

    /// One line up to the last byte of its end.
    fn line(&mut self) -> io::Result<String> {
        let mut line = Vec::new();
        loop {
            match self.byte()? {
                b'\r' => return Ok(String::from_utf8_lossy(&line).into_owned()),
                byte => line.push(byte),
            }
        }
    }

    /// A message up to the line with a single dot, with the doubled dots as they came.
    fn message(&mut self, leaves_the_end: bool) -> io::Result<Vec<u8>> {
        let mut message = Vec::new();
        let end: &[u8] = if leaves_the_end { b"\r\n.\r" } else { b"\r\n.\r\n" };
        loop {
            message.push(self.byte()?);
            if message.ends_with(end) {
                message.truncate(message.len() - end.len() + 2);
                return Ok(message);
            }
        }
    }
}

/// The same connection, secured with one of the certificates.
fn secure(connection: Connection, certificate: &str) -> io::Result<Connection> {
    let file = |ending: &str| certificates().join(format!("{certificate}.{ending}"));
    let chain = CertificateDer::pem_file_iter(file("pem")).unwrap().collect::<Result<_, _>>().unwrap();
    let key = PrivateKeyDer::from_pem_file(file("key")).unwrap();
    let config = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_no_client_auth()
        .with_single_cert(chain, key)
        .unwrap();
    let session = ServerConnection::new(Arc::new(config)).map_err(io::Error::other)?;
    let stream = StreamOwned::new(session, connection.bare.try_clone()?);
    Ok(Connection { stream: Box::new(stream), ..connection })
}
