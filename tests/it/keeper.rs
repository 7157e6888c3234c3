//! The long run with the real program, its processes and its signals.

use std::fs;
use std::io::{BufRead as _, BufReader};
use std::net::TcpListener;
use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _};
use std::os::unix::net::UnixDatagram;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use serde_json::Value;
use tickover::round::YardFolder;
use tickover::unattended::LongRun;

use crate::program::{Yard, printed, repository, said};

/// How long is waited for what takes a second on a PC with nothing else to do: only to show that it comes at all.
const PATIENCE: Duration = Duration::from_secs(90);

/// How long an end may take here: within a second on a PC, and more where all tests run at once.
const END_MOST: Duration = Duration::from_secs(10);

fn demo_yard() -> Yard {
    Yard::with_sheets_of(&repository().join("examples/shop/sheets"))
}

fn wait_for<T>(what: &str, mut look: impl FnMut() -> Option<T>) -> T {
    let started = Instant::now();
    loop {
        if let Some(found) = look() {
            return found;
        }
        assert!(started.elapsed() < PATIENCE, "{what} did not come");
        thread::sleep(Duration::from_millis(20));
    }
}

/// The long run as the program of a yard; killed when the test is over.
struct Running {
    child: Child,
}

impl Running {
    fn in_yard(yard: &Yard, environment: &[(&str, &str)]) -> Running {
        let child = Command::new(env!("CARGO_BIN_EXE_tickover"))
            .args(["run".as_ref(), "--yard".as_ref(), yard.path().as_os_str()])
            .env_remove("NOTIFY_SOCKET")
            .env_remove("JOURNAL_STREAM")
            .envs(environment.iter().copied())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        Running { child }
    }

    fn signal(&self, name: &str) {
        let sent = Command::new("kill").args([&format!("-{name}"), &self.child.id().to_string()]).status();
        assert!(sent.unwrap().success());
    }

    fn ended(&mut self) -> (ExitStatus, Duration) {
        let started = Instant::now();
        let status = wait_for("the end", || self.child.try_wait().unwrap());
        (status, started.elapsed())
    }

    /// Waits for the word that it is at work.
    fn is_at_work(&mut self) {
        let mut line = String::new();
        BufReader::new(self.child.stderr.take().unwrap()).read_line(&mut line).unwrap();
        assert!(line.starts_with("Tickover is at work in "), "{line}");
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn status_of(yard: &Path) -> Option<Value> {
    serde_json::from_slice(&fs::read(yard.join("kept/status.json")).ok()?).ok()
}

fn first_round(yard: &Path) -> Value {
    wait_for("the first round", || {
        status_of(yard).map(|status| status["last_round"].clone()).filter(|round| !round.is_null())
    })
}

fn log_of(yard: &Yard) -> String {
    fs::read_to_string(yard.path().join("kept/log/tickover.log")).unwrap_or_default()
}

/// The service manager's end of the socket, as sd_notify(3) describes it.
struct Manager(UnixDatagram);

impl Manager {
    fn word(&self) -> String {
        let mut bytes = [0; 4096];
        let length = self.0.recv(&mut bytes).expect("a word from the long run");
        String::from_utf8(bytes[..length].to_vec()).unwrap()
    }

    fn hears(&self, word: &str) {
        let mut heard = Vec::new();
        while heard.last().is_none_or(|last| last != word) {
            heard.push(self.word());
            assert!(heard.len() < 1_000, "{word} is not among {heard:?}");
        }
    }
}

#[test]
fn it_makes_a_round_tells_how_it_stands_and_ends_when_told_to() {
    let yard = demo_yard();
    let place = yard.path().join("manager");
    let manager = Manager(UnixDatagram::bind(&place).unwrap());
    manager.0.set_read_timeout(Some(PATIENCE)).unwrap();
    let mut running = Running::in_yard(&yard, &[("NOTIFY_SOCKET", place.to_str().unwrap())]);
    manager.hears("READY=1");
    let round = first_round(yard.path());
    assert_eq!(round["sheets"], 8, "{round}");
    let word = wait_for("the status", || Some(manager.word()).filter(|word| word.contains("last round 2")));
    assert!(word.starts_with("STATUS=last round "), "{word}");

    let status = yard.run("status", &[]);
    let text = printed(&status);
    assert!(text.starts_with("Running since "), "{text}");
    assert!(text.contains("\nNext letter: "), "{text}");
    let own = own_kilobytes(running.child.id());
    assert!(own < 8 * 1024, "the keeper rests in {own} kB");

    running.signal("HUP");
    running.signal("TERM");
    let (ended, took) = running.ended();
    assert_eq!(ended.code(), Some(0));
    assert!(took < END_MOST, "{took:?}");
    manager.hears("STOPPING=1");
    let status = yard.run("status", &[]);
    assert!(printed(&status).starts_with("Not running. It was last at work on "), "{}", printed(&status));
    assert_eq!(status.status.code(), Some(1));
}

fn own_kilobytes(process: u32) -> u64 {
    let status = fs::read_to_string(format!("/proc/{process}/status")).unwrap();
    let line = status.lines().find_map(|line| line.strip_prefix("RssAnon:")).unwrap();
    line.trim().trim_end_matches(" kB").parse().unwrap()
}

#[cfg(target_os = "linux")]
#[test]
fn its_watchdog_hears_of_it_also_by_an_abstract_name() {
    use std::os::linux::net::SocketAddrExt as _;
    let name = format!("tickover-test-{}", std::process::id());
    let address = std::os::unix::net::SocketAddr::from_abstract_name(&name).unwrap();
    let manager = Manager(UnixDatagram::bind_addr(&address).unwrap());
    manager.0.set_read_timeout(Some(PATIENCE)).unwrap();
    let yard = Yard::empty();
    let socket = format!("@{name}");
    let environment = [("NOTIFY_SOCKET", socket.as_str()), ("WATCHDOG_USEC", "400000")];
    let mut running = Running::in_yard(&yard, &environment);
    manager.hears("READY=1");
    for _ in 0..5 {
        manager.hears("WATCHDOG=1");
    }
    running.signal("INT");
    assert_eq!(running.ended().0.code(), Some(0));
}

#[test]
fn a_yard_has_one_long_run_and_a_killed_one_leaves_no_lock() {
    let yard = Yard::empty();
    let mut first = Running::in_yard(&yard, &[]);
    first.is_at_work();
    let second = yard.run("run", &[]);
    assert_eq!(second.status.code(), Some(2));
    assert!(said(&second).contains("another long run is at work in this yard folder"), "{}", said(&second));
    first.signal("KILL");
    first.ended();
    let mut third = Running::in_yard(&yard, &[]);
    third.is_at_work();
    third.signal("TERM");
    assert_eq!(third.ended().0.code(), Some(0));
}

#[test]
fn a_folder_that_is_no_yard_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    for verb in ["run", "status"] {
        let output = crate::program::tickover([verb, "--yard", folder.path().to_str().unwrap()]);
        assert_eq!(output.status.code(), Some(2), "{verb}");
        assert!(said(&output).contains("this is no yard folder"), "{}", said(&output));
        assert!(fs::read_dir(folder.path()).unwrap().next().is_none(), "{verb} leaves nothing there");
    }
    // What a round says goes into the log, where the whole path has no place: it may hold a person's name.
    let path = folder.path().to_str().unwrap();
    let output = crate::program::tickover(["do-round", "--yard", path, "--tells", "nothing"]);
    assert_eq!(output.status.code(), Some(2));
    let answer = printed(&output);
    assert!(answer.starts_with("{\"why\":\"the yard folder: this is no yard folder: "), "{answer}");
    assert!(!said(&output).contains(path), "{}", said(&output));
}

/// A round of the test's own: a script in the place of the program.
fn script(yard: &Yard, text: &str) -> PathBuf {
    let path = yard.path().join("round.sh");
    fs::write(&path, format!("#!/bin/sh\n{text}\n")).unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o755)).unwrap();
    path
}

fn is_alive(process: &str) -> bool {
    let status = fs::read_to_string(format!("/proc/{}/status", process.trim())).unwrap_or_default();
    status.lines().any(|line| line.starts_with("State:") && !line.contains('Z'))
}

#[test]
fn a_round_that_hangs_ends_with_the_long_run_and_so_does_what_it_started() {
    let yard = Yard::empty();
    let at_work = yard.path().join("at-work");
    let program = script(
        &yard,
        &format!("sleep 600 & echo $$ $! > {0}.part; mv {0}.part {0}; wait", at_work.display()),
    );
    let run = LongRun::of(YardFolder::at(yard.path()), program).unwrap();
    let handle = run.handle();
    let thread = thread::spawn(move || run.go());
    let processes = wait_for("the round", || fs::read_to_string(&at_work).ok());
    let started = Instant::now();
    handle.stop();
    thread.join().unwrap();
    assert!(started.elapsed() < END_MOST, "{:?}", started.elapsed());
    for process in processes.split_whitespace() {
        wait_for("its end", || (!is_alive(process)).then_some(()));
    }
    assert_eq!(status_of(yard.path()).unwrap()["notes"], Value::Array(Vec::new()));
}

#[test]
fn a_hundred_saved_sheets_make_one_more_round() {
    let yard = Yard::empty();
    let rounds = yard.path().join("rounds");
    let answer = r#"{"today":"2026-03-02","told":[],"told_now":false,"next_mail":null,"unsettled":false,"sheets":1,"machines":1,"findings":0,"complaints":0,"trouble":0,"sent":0}"#;
    let program = script(&yard, &format!("echo round >> {}; echo '{answer}'", rounds.display()));
    // Closed every day, so that no letter is due whatever the day of the test.
    let years: Vec<String> = (2026..2100).map(|year| format!("\"{year}-01-01 to {year}-12-31\"")).collect();
    yard.put("tickover.toml", format!("[days]\nclosed_on = [{}]\n", years.join(", ")));
    let run = LongRun::of(YardFolder::at(yard.path()), program).unwrap();
    let handle = run.handle();
    let thread = thread::spawn(move || run.go());
    let count = || fs::read_to_string(&rounds).unwrap_or_default().lines().count();
    wait_for("the first round", || (count() == 1).then_some(()));
    first_round(yard.path());
    for number in 0..100 {
        yard.put(&format!("sheets/{}.csv", number % 5), format!("Reg,Mileage\nKX25 ABC,{number}\n"));
    }
    wait_for("the round for the changes", || (count() == 2).then_some(()));
    handle.stop();
    thread.join().unwrap();
    assert_eq!(count(), 2);
}

#[test]
fn while_a_mail_server_does_not_answer_it_is_said_that_a_round_is_at_work() {
    let yard = Yard::empty();
    // It takes every call, and never says a word.
    let server = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = server.local_addr().unwrap().port();
    yard.put("sheets/machines.csv", "Reg,Make,Model\nKX25 ABC,Marlow,Spruce\n");
    yard.put(
        "tickover.toml",
        format!(
            "[days]\nletter_at = \"00:00\"\nbank_holidays = \"none\"\n\
             open = [\"Monday\", \"Tuesday\", \"Wednesday\", \"Thursday\", \"Friday\", \"Saturday\", \"Sunday\"]\n\
             [letter]\nfrom = \"desk@shop.example\"\nto = [\"zoe@shop.example\"]\n\
             [mail]\nserver = \"127.0.0.1\"\nport = {port}\nsecurity = \"none\"\nsign_in = \"none\"\n"
        ),
    );
    let mut running = Running::in_yard(&yard, &[]);
    let said = wait_for("the mail", || {
        let said = printed(&yard.run("status", &[]));
        said.contains("\nA mail is with the mail server, which has not answered yet.").then_some(said)
    });
    let lines: Vec<&str> = said.lines().collect();
    assert!(lines[1].starts_with("A round is at work since "), "{said}");
    assert!(lines[4].starts_with("Next letter: due since "), "{said}");
    running.signal("TERM");
    running.ended();
    let said = printed(&yard.run("status", &[]));
    assert!(!said.contains("at work since") && !said.contains("A mail is with"), "{said}");
}

#[test]
fn a_round_that_breaks_off_is_noted_for_the_letter() {
    let yard = Yard::empty();
    let arguments = yard.path().join("arguments");
    let program = script(&yard, &format!("echo \"$@\" >> {}; exit 3", arguments.display()));
    let run = LongRun::of(YardFolder::at(yard.path()), program).unwrap();
    let handle = run.handle();
    let thread = thread::spawn(move || run.go());
    let notes = wait_for("the note", || {
        status_of(yard.path()).map(|status| status["notes"].clone()).filter(|notes| notes[0].is_string())
    });
    handle.stop();
    thread.join().unwrap();
    let note = notes[0].as_str().unwrap();
    assert!(note.contains("it ended with exit code 3 and gave no answer; see kept/log"), "{note}");
    let arguments = fs::read_to_string(arguments).unwrap();
    let first = arguments.lines().next().unwrap();
    assert!(first.starts_with(&format!("do-round --yard {} --tells ", yard.path().display())), "{first}");
    assert!(first.ends_with(" --until-input-ends"), "{first}");
}

#[test]
fn the_log_tells_of_each_round_and_of_no_person_or_machine() {
    let yard = demo_yard();
    // A row that is complained of, and a rule that is not in force, are where a log is most tempted to quote.
    yard.put(
        "sheets/late.csv",
        "Reg,Customer,Phone,Mileage,Date\nZZ09 QXW,Wilhelmina Quartermain,07700 900555,12x4,31/02/2026\n",
    );
    yard.put("rules/broken.rhai", "let customer = \"Wilhelmina Quartermain\"; )\n");
    let mut running = Running::in_yard(&yard, &[]);
    first_round(yard.path());
    running.signal("TERM");
    assert_eq!(running.ended().0.code(), Some(0));
    let log = log_of(&yard);
    assert_eq!(log.matches("round done").count(), 1, "{log}");
    for wanted in ["the long run begins", "machines=", "findings=", "complaints=", "the long run ends"] {
        assert!(log.contains(wanted), "{wanted} is not in {log}");
    }
    // The same sheets with the shipped rules, which quote most of what is in them.
    let (report, _) = demo_yard().morning("2026-03-02");
    let mut personal = vec!["Wilhelmina".to_owned(), "Quartermain".to_owned(), "ZZ09".to_owned()];
    collect(&report, &mut personal);
    assert!(personal.len() > 100, "{personal:?}");
    personal.extend(["late.csv".to_owned(), ".csv".to_owned(), ".xlsx".to_owned()]);
    for word in personal {
        assert!(!log.contains(&word), "{word} is in {log}");
    }
}

#[test]
fn a_settings_file_that_cannot_be_read_is_logged_without_its_lines() {
    let yard = Yard::empty();
    yard.put("tickover.toml", "[letter\nto = [\"wilhelmina@shop.example\"]\n");
    let mut running = Running::in_yard(&yard, &[]);
    let noted =
        wait_for("the note", || status_of(yard.path()).filter(|status| status["notes"][0].is_string()));
    running.signal("TERM");
    assert_eq!(running.ended().0.code(), Some(0));
    let note = noted["notes"][0].as_str().unwrap();
    assert!(note.starts_with("a round could not be made on "), "{note}");
    assert!(note.contains(" (tickover.toml: this line cannot be read as TOML: "), "{note}");
    assert!(note.ends_with("); Write one `key = value` a line, texts in quotes"), "{note}");
    let status = printed(&yard.run("status", &[]));
    assert!(status.contains(&format!("\nWrong: {note}.")), "{status}");
    let log = log_of(&yard);
    assert!(log.contains("round: ") && log.contains("a round could not be made: tickover.toml: "), "{log}");
    assert!(!log.contains("wilhelmina"), "{log}");
}

#[test]
fn the_log_stands_in_its_files_also_where_the_systems_journal_has_it() {
    let yard = Yard::empty();
    let outside = tempfile::tempdir().unwrap();
    let journal = outside.path().join("journal");
    let stream = fs::File::create(&journal).unwrap();
    // systemd.exec(5), $JOURNAL_STREAM: the device and the inode of the stream that the journal hears.
    let metadata = stream.metadata().unwrap();
    let child = Command::new(env!("CARGO_BIN_EXE_tickover"))
        .args(["run".as_ref(), "--yard".as_ref(), yard.path().as_os_str()])
        .env_remove("NOTIFY_SOCKET")
        .env("JOURNAL_STREAM", format!("{}:{}", metadata.dev(), metadata.ino()))
        .stderr(stream)
        .spawn()
        .unwrap();
    let mut running = Running { child };
    first_round(yard.path());
    running.signal("TERM");
    assert_eq!(running.ended().0.code(), Some(0));
    let (log, journal) = (log_of(&yard), fs::read_to_string(journal).unwrap());
    for wanted in ["the long run begins", "round done", "the long run ends"] {
        assert!(log.contains(wanted), "{wanted} is not in {log}");
        assert!(journal.contains(wanted), "{wanted} is not in {journal}");
    }
}

/// The marks, numbers, names and telephone numbers of a run: every text in it that is long enough to mean something, but
/// for those of the files, rules and sections themselves.
fn collect(value: &Value, personal: &mut Vec<String>) {
    const ABOUT_PERSONS: [&str; 6] = ["mark", "frame_no", "stock_no", "value", "text", "key"];
    match value {
        Value::Array(values) => values.iter().for_each(|value| collect(value, personal)),
        Value::Object(fields) => {
            for (name, value) in fields {
                match value.as_str() {
                    Some(text) if ABOUT_PERSONS.contains(&name.as_str()) => {
                        let words = text.split([',', ';', '(', ')']).map(str::trim);
                        personal.extend(words.filter(|word| word.len() >= 5).map(str::to_owned));
                    }
                    Some(_) => {}
                    None => collect(value, personal),
                }
            }
        }
        _ => {}
    }
}
