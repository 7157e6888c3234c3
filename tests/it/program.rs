//! The program as a person runs it: its output and exit code in a yard folder of the test's own.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;

/// The folder of the repository.
pub(crate) fn repository() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Runs the program.
pub(crate) fn tickover<S: AsRef<std::ffi::OsStr>>(arguments: impl IntoIterator<Item = S>) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tickover")).args(arguments).output().expect("the program was built")
}

/// What a run printed.
pub(crate) fn printed(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("the program prints UTF-8")
}

/// What a run said beside it.
pub(crate) fn said(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("the program prints UTF-8")
}

/// The Python that `tests/run` installs, with the reference libraries.
pub(crate) fn python() -> PathBuf {
    let python = repository().join("target/python/bin/python");
    assert!(python.is_file(), "{} is not there; tests/run installs it", python.display());
    python
}

/// Two machines of one maker, as a shop's sheet lists them.
pub(crate) const MACHINES: &str = "Reg,Make,Model,Type,cc,Registered,Handover,Customer,MOT expiry\n\
    AB12 CDE,Marlow,Spruce,motorcycle,125,01/12/2025,01/12/2025,Ann Other,\n\
    AB13 CDE,Marlow,Spruce,motorcycle,125,15/01/2026,15/01/2026,Bob Other,\n";
/// Their clocks.
pub(crate) const MILEAGES: &str = "Reg,Date,Mileage\nAB12 CDE,20/02/2026,620\nAB13 CDE,25/02/2026,90\n";

/// A yard folder that goes when the test is over.
pub(crate) struct Yard {
    folder: tempfile::TempDir,
}

impl Yard {
    /// An empty folder with `sheets/` in it.
    pub(crate) fn empty() -> Yard {
        let folder = tempfile::tempdir().expect("a temporary folder can be made");
        std::fs::create_dir(folder.path().join("sheets")).expect("it can hold a folder");
        Yard { folder }
    }

    /// Its settings.
    pub(crate) fn settings(&self) -> String {
        std::fs::read_to_string(self.path().join("tickover.toml")).unwrap()
    }

    /// The words of a day's letter, each parted by one blank from the next; nothing is kept of it.
    pub(crate) fn letter_in_a_line(&self, day: &str) -> String {
        let morning = self.run("morning", &["--today", day, "--dry-run"]);
        assert!(morning.status.code() < Some(2), "{}", said(&morning));
        printed(&morning).split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// A yard set up with the sheets of the [`MACHINES`] and their [`MILEAGES`].
    pub(crate) fn of_two_machines() -> Yard {
        let yard = Yard::empty();
        yard.put("sheets/machines.csv", MACHINES);
        yard.put("sheets/mileages.csv", MILEAGES);
        assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
        yard
    }

    /// A yard of these sheets.
    pub(crate) fn with(sheets: &[(&str, &str)]) -> Yard {
        let yard = Yard::empty();
        for (file, text) in sheets {
            yard.put(&format!("sheets/{file}"), text);
        }
        yard
    }

    /// A yard of these sheets, set up, with clocks in miles where that is left open, of which one morning is kept.
    pub(crate) fn in_miles(sheets: &[(&str, &str)], morning: &str) -> Yard {
        let yard = Yard::with(sheets);
        yard.run("setup", &["--accept"]);
        let settings = yard.settings();
        yard.put("tickover.toml", settings.replace("# clock_unit = \"miles\"", "clock_unit = \"miles\""));
        yard.kept_morning(morning);
        yard
    }

    /// A folder with another's sheets and the invented makers' handbook.
    pub(crate) fn with_sheets_of(sheets: &Path) -> Yard {
        let yard = Yard::empty();
        copy(sheets, &yard.path().join("sheets"));
        copy(&repository().join("examples/shop/handbook"), &yard.path().join("handbook"));
        yard
    }

    pub(crate) fn path(&self) -> &Path {
        self.folder.path()
    }

    /// Puts a file into the folder.
    pub(crate) fn put(&self, name: &str, content: impl AsRef<[u8]>) {
        let path = self.path().join(name);
        std::fs::create_dir_all(path.parent().expect("a name below the yard")).expect("it can hold a folder");
        std::fs::write(path, content).expect("it can hold a file");
    }

    /// Puts a file into the folder that was saved on another day.
    pub(crate) fn put_saved_on(&self, name: &str, content: impl AsRef<[u8]>, day: &str) {
        self.put(name, content);
        let saved: jiff::Timestamp = format!("{day}T12:00:00Z").parse().expect("a day as 2026-10-14");
        let file = std::fs::File::options().write(true).open(self.path().join(name)).expect("it is there");
        file.set_modified(std::time::SystemTime::try_from(saved).expect("a time of the system"))
            .expect("a file can be as old as that");
    }

    /// Runs a verb of the program in this yard.
    pub(crate) fn run(&self, verb: &str, arguments: &[&str]) -> Output {
        let place = ["--yard".as_ref(), self.path().as_os_str()];
        let arguments = arguments.iter().map(AsRef::as_ref);
        tickover([verb.as_ref()].into_iter().chain(place).chain(arguments))
    }

    /// The JSON of a morning that keeps nothing, with its exit code.
    pub(crate) fn morning(&self, today: &str) -> (Value, Option<i32>) {
        self.json(&["--json", "--dry-run", "--today", today])
    }

    /// The JSON of a morning that keeps and delivers, with its exit code.
    pub(crate) fn kept_morning(&self, today: &str) -> (Value, Option<i32>) {
        self.json(&["--json", "--today", today])
    }

    fn json(&self, arguments: &[&str]) -> (Value, Option<i32>) {
        let output = self.run("morning", arguments);
        let json = serde_json::from_slice(&output.stdout);
        (json.unwrap_or_else(|_| panic!("no JSON; it said: {}", said(&output))), output.status.code())
    }
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).expect("a temporary folder can hold another");
    for entry in std::fs::read_dir(from).expect("the folder is in the repository") {
        let path = entry.expect("the folder can be listed").path();
        if path.is_file() {
            std::fs::copy(&path, to.join(path.file_name().expect("a file has a name")))
                .expect("it can be copied");
        }
    }
}
