//! The process that makes a round: started, heard to its end, and ended when it must be.

use std::io::{self, BufRead, BufReader, Read};
use std::process::{Child, ChildStdin, Command, ExitStatus, Stdio};
use std::sync::mpsc::Sender;
use std::thread;
use std::time::{Duration, Instant};

use super::keeper::{Ending, Work};
use super::long_run::Happening;
use super::service_manager;
use crate::round::YardFolder;

/// The hidden subcommand by which this program makes one round for the long run.
pub const SUBCOMMAND: &str = "do-round";

/// The most of an answer that is read: ours is less than eight kilobytes, with ten things wrong in words.
const ANSWER_BYTES_MOST: u64 = 64 * 1024;
/// The most lines of a round's error stream that are logged, so that one round cannot push the others out of the log.
const LINES_MOST: usize = 200;
/// The most bytes of such a line: ours are far shorter.
const LINE_BYTES_MOST: u64 = 2_000;
/// How long a round that was asked to end is waited for. Ending it the hard way loses nothing, so it is short.
const ASKED_FOR: Duration = Duration::from_millis(700);
/// How long a round that has said everything is waited for: nothing is left to do but to end.
const LAST_STEPS: Duration = Duration::from_millis(200);
/// How long one that was killed is waited for: what hangs in the system, as on a dead share, may never go.
const KILLED: Duration = Duration::from_secs(5);
/// How often it is looked whether it has ended: an end takes milliseconds.
const LOOK_EVERY: Duration = Duration::from_millis(5);

/// Windows' own number for a group of its own (Microsoft, 'Process Creation Flags').
#[cfg(windows)]
const CREATE_NEW_PROCESS_GROUP: u32 = 0x0000_0200;

/// The process of a round at work.
#[derive(Debug)]
pub(super) struct RoundProcess {
    number: u64,
    child: Child,
    /// Closed to ask for the end.
    input: Option<ChildStdin>,
}

impl RoundProcess {
    /// Starts a round in a process of its own. That it has said everything is told as a happening with its number.
    pub(super) fn start(
        program: &std::path::Path,
        folder: &YardFolder,
        work: &Work,
        number: u64,
        tell: Sender<Happening>,
    ) -> io::Result<RoundProcess> {
        let mut command = Command::new(program);
        command.arg(SUBCOMMAND).arg("--yard").arg(folder.root());
        command.args(["--tells", work.tells.word(), "--today", &work.day.to_string(), "--until-input-ends"]);
        for note in &work.trouble {
            command.args(["--trouble", note]);
        }
        for name in service_manager::ENVIRONMENT {
            command.env_remove(name);
        }
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        // A group of its own, so that what it has started ends with it, and Ctrl-C at the terminal reaches us alone.
        #[cfg(unix)]
        std::os::unix::process::CommandExt::process_group(&mut command, 0);
        #[cfg(windows)]
        std::os::windows::process::CommandExt::creation_flags(&mut command, CREATE_NEW_PROCESS_GROUP);
        let mut child = command.spawn()?;
        let input = child.stdin.take();
        let (output, errors) = (child.stdout.take(), child.stderr.take());
        thread::spawn(move || {
            let mut answer = Vec::new();
            if let Some(output) = output {
                // What was heard until then is judged as it is.
                let _ = output.take(ANSWER_BYTES_MOST).read_to_end(&mut answer);
            }
            // The long run may be over.
            let _ = tell.send(Happening::Answered { number, answer });
        });
        thread::spawn(move || errors.map(log_lines));
        Ok(RoundProcess { number, child, input })
    }

    /// Whether a happening is about this round.
    pub(super) fn is(&self, number: u64) -> bool {
        self.number == number
    }

    /// How it ended, once it has said everything.
    pub(super) fn ending(mut self, answer: &[u8]) -> Ending {
        let status = self.wait(LAST_STEPS);
        if status.is_none() {
            self.kill();
        }
        if let Ok(answer) = serde_json::from_slice(answer) {
            return Ending::Answered(answer);
        }
        if let Ok(no_round) = serde_json::from_slice(answer) {
            return Ending::NotMade(no_round);
        }
        Ending::BrokeOff(status.map_or_else(|| "it said no answer and did not end".to_owned(), how))
    }

    /// Asks it to end, and ends it when it has not a moment later.
    pub(super) fn end(mut self) {
        drop(self.input.take());
        if self.wait(ASKED_FOR).is_none() {
            self.kill();
        }
    }

    /// Its status, if it ends within that time.
    fn wait(&mut self, most: Duration) -> Option<ExitStatus> {
        let started = Instant::now();
        loop {
            match self.child.try_wait() {
                Ok(Some(status)) => return Some(status),
                Ok(None) if started.elapsed() < most => thread::sleep(LOOK_EVERY),
                Ok(None) | Err(_) => return None,
            }
        }
    }

    /// Ends it and everything that it has started, and takes its status so that nothing of it stays behind.
    fn kill(&mut self) {
        #[cfg(unix)]
        if let Some(group) = rustix::process::Pid::from_raw(self.child.id().cast_signed()) {
            let _ = rustix::process::kill_process_group(group, rustix::process::Signal::KILL);
        }
        // It fails only for a process that has ended already.
        let _ = self.child.kill();
        let _ = self.wait(KILLED);
    }
}

/// How a process without an answer ended, in words.
fn how(status: ExitStatus) -> String {
    #[cfg(unix)]
    if let Some(signal) = std::os::unix::process::ExitStatusExt::signal(&status) {
        return format!("the system ended it with signal {signal}");
    }
    match status.code() {
        Some(code) => format!("it ended with exit code {code} and gave no answer"),
        None => "it ended and gave no answer".to_owned(),
    }
}

/// Puts a round's error stream into the log, line by line. It is read to its end in any case, so that the round never
/// waits for us.
fn log_lines(errors: impl Read) {
    let mut errors = BufReader::new(errors);
    let mut line = Vec::new();
    for count in 0.. {
        line.clear();
        match (&mut errors).take(LINE_BYTES_MOST).read_until(b'\n', &mut line) {
            Ok(0) | Err(_) => return,
            Ok(_) if count < LINES_MOST => {
                tracing::warn!("round: {}", String::from_utf8_lossy(&line).trim_end());
            }
            Ok(_) if count == LINES_MOST => tracing::warn!("round: more lines follow and are left out"),
            Ok(_) => {}
        }
    }
}
