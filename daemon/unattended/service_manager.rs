//! Tells the service manager how the long run stands, in the words of sd_notify(3): one datagram each.

use std::time::Duration;

/// The environment of the service manager; a round must not speak in the keeper's name.
pub(super) const ENVIRONMENT: [&str; 3] = ["NOTIFY_SOCKET", "WATCHDOG_USEC", "WATCHDOG_PID"];

/// The service manager that started this process, if one did.
#[derive(Debug)]
pub(super) struct ServiceManager {
    #[cfg(unix)]
    socket: Option<std::os::unix::net::UnixDatagram>,
    watchdog: Option<Duration>,
}

impl ServiceManager {
    /// As the environment names it. A manager that cannot be reached is as none at all: it ends us itself then.
    pub(super) fn of_environment() -> ServiceManager {
        let text = |name: &str| std::env::var(name).ok();
        let ours = text("WATCHDOG_PID").is_none_or(|pid| pid == std::process::id().to_string());
        let watchdog = text("WATCHDOG_USEC").filter(|_| ours).and_then(|usec| usec.parse().ok());
        ServiceManager {
            #[cfg(unix)]
            socket: std::env::var_os("NOTIFY_SOCKET").and_then(|name| connect(&name).ok()),
            watchdog: watchdog.map(Duration::from_micros).filter(|pause| !pause.is_zero()),
        }
    }

    /// How often it wants to hear at the latest: half its limit, as sd_watchdog_enabled(3) advises.
    pub(super) fn wants_word_every(&self) -> Option<Duration> {
        self.watchdog.map(|limit| limit / 2)
    }

    /// The first turn has been made.
    pub(super) fn ready(&self) {
        self.tell("READY=1");
    }

    /// A turn has been made. Never said from anywhere but the one loop, so that its silence means that it hangs.
    pub(super) fn alive(&self) {
        if self.watchdog.is_some() {
            self.tell("WATCHDOG=1");
        }
    }

    /// How things stand, in one line without anything personal.
    pub(super) fn status(&self, line: &str) {
        self.tell(&format!("STATUS={}", line.replace('\n', " ")));
    }

    /// The end has begun.
    pub(super) fn stopping(&self) {
        self.tell("STOPPING=1");
    }

    #[cfg(unix)]
    fn tell(&self, word: &str) {
        if let Some(socket) = &self.socket {
            // A manager that does not listen is no reason to stop.
            let _ = socket.send(word.as_bytes());
        }
    }

    #[cfg(not(unix))]
    fn tell(&self, _word: &str) {}
}

/// A socket that sends to the manager's: a path, or an abstract name behind an `@`. It never waits: a manager whose
/// queue is full misses a word.
#[cfg(unix)]
fn connect(name: &std::ffi::OsStr) -> std::io::Result<std::os::unix::net::UnixDatagram> {
    use std::os::unix::ffi::OsStrExt;
    use std::os::unix::net::{SocketAddr, UnixDatagram};
    let socket = UnixDatagram::unbound()?;
    socket.set_nonblocking(true)?;
    let address = match name.as_bytes().strip_prefix(b"@") {
        Some(bare) => abstract_address(bare)?,
        None => SocketAddr::from_pathname(name)?,
    };
    socket.connect_addr(&address)?;
    Ok(socket)
}

#[cfg(target_os = "linux")]
fn abstract_address(bare: &[u8]) -> std::io::Result<std::os::unix::net::SocketAddr> {
    use std::os::linux::net::SocketAddrExt;
    std::os::unix::net::SocketAddr::from_abstract_name(bare)
}

#[cfg(all(unix, not(target_os = "linux")))]
fn abstract_address(_bare: &[u8]) -> std::io::Result<std::os::unix::net::SocketAddr> {
    Err(std::io::ErrorKind::Unsupported.into())
}
