//! A line to the mail server that can be down, or go dead in the midst of a conversation.

use std::io::{Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;

/// The line. It hears until the tests are over.
pub(crate) struct Line {
    port: u16,
    state: Arc<Mutex<LineState>>,
}

/// What becomes of a call.
#[derive(Debug, Clone, Copy)]
pub(crate) enum LineState {
    /// It goes through.
    Up,
    /// It is cut at once.
    Down,
    /// It is cut when the server answers after so many bytes, the answer lost.
    DeadOnceAnsweredAfter {
        /// How many bytes of ours have gone through by then.
        bytes: usize,
    },
}

impl Line {
    /// A line to a port of this PC.
    pub(crate) fn to(server: u16) -> Line {
        let listener = TcpListener::bind("127.0.0.1:0").expect("this PC has a free port");
        let port = listener.local_addr().expect("it is bound").port();
        let state = Arc::new(Mutex::new(LineState::Up));
        let line = Line { port, state: Arc::clone(&state) };
        thread::spawn(move || {
            for call in listener.incoming().flatten() {
                let state = *state.lock().expect("nobody panics with it in hand");
                if !matches!(state, LineState::Down) {
                    pass_on(call, server, state);
                }
            }
        });
        line
    }

    pub(crate) fn port(&self) -> u16 {
        self.port
    }

    /// What becomes of the calls from now on.
    pub(crate) fn set(&self, state: LineState) {
        *self.state.lock().expect("nobody panics with it in hand") = state;
    }
}

/// Passes a call on in both directions until either side, or the line, has had enough.
fn pass_on(call: TcpStream, server: u16, state: LineState) {
    let server = TcpStream::connect(("127.0.0.1", server)).expect("the mail server listens");
    let said = Arc::new(AtomicUsize::new(0));
    let most = match state {
        LineState::DeadOnceAnsweredAfter { bytes } => bytes,
        LineState::Up | LineState::Down => usize::MAX,
    };
    let both = |stream: &TcpStream| stream.try_clone().expect("a connection has two ends");
    let (mut from_us, mut to_us, mut to_server, mut from_server) = (both(&call), call, both(&server), server);
    let counted = Arc::clone(&said);
    thread::spawn(move || {
        pass(&mut from_us, &mut to_server, |length| {
            counted.fetch_add(length, Ordering::SeqCst);
            true
        });
    });
    thread::spawn(move || pass(&mut from_server, &mut to_us, |_| said.load(Ordering::SeqCst) <= most));
}

/// Passes on what comes while it may, then hangs up.
fn pass(from: &mut TcpStream, to: &mut TcpStream, mut may_pass: impl FnMut(usize) -> bool) {
    let mut piece = [0; 4096];
    while let Ok(length @ 1..) = from.read(&mut piece) {
        if !may_pass(length) || to.write_all(&piece[..length]).is_err() {
            break;
        }
    }
    // Whoever has gone already cannot be hung up on.
    let _ = to.shutdown(Shutdown::Both);
    let _ = from.shutdown(Shutdown::Both);
}
