//! The shop's exports: what is true, what stands in the files, and all that befalls files.

use std::fs::{self, File};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use jiff::Timestamp;

/// What somebody noted of a machine; the rules of these yards know nothing else.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Note {
    Fine,
    /// It must stay in the yard.
    BrakesOpen,
    /// The bench has something to do.
    MirrorWanted,
}

impl Note {
    fn word(self) -> &'static str {
        match self {
            Note::Fine => "ok",
            Note::BrakesOpen => "brakes open",
            Note::MirrorWanted => "mirror wanted",
        }
    }
}

/// A machine of the shop. No two ever have one mark, and each has at most one problem in its life.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Machine {
    pub(crate) mark: String,
    pub(crate) note: Note,
    /// Whether it has had its problem.
    pub(crate) is_spent: bool,
}

/// How an export's file stands.
#[derive(Debug)]
enum Standing {
    Whole,
    /// Half of it, and its writer has it open.
    BeingWritten(#[expect(dead_code, reason = "it is held, and that is all")] File),
    Missing,
    Emptied,
}

/// One export in the folder of sheets.
#[derive(Debug)]
pub(crate) struct Export<Row> {
    path: PathBuf,
    /// Another name that it goes by at times.
    other: PathBuf,
    standing: Standing,
    /// What it says when it is whole.
    pub(crate) rows: Vec<Row>,
}

impl<Row: Clone> Export<Row> {
    fn of(folder: &Path, name: &str) -> Export<Row> {
        let path = folder.join(format!("{name}.csv"));
        let other = folder.join(format!("{name} (copy).csv"));
        Export { path, other, standing: Standing::Missing, rows: Vec::new() }
    }

    /// The rows, where the file can be read.
    pub(crate) fn whole(&self) -> Option<&[Row]> {
        matches!(self.standing, Standing::Whole).then_some(&self.rows)
    }

    /// Writes it in one go: in place, or under another name first.
    fn save(&mut self, rows: &[Row], text: &str, through_another: bool, at: Timestamp) {
        self.rows = rows.to_vec();
        self.standing = Standing::Whole;
        if through_another {
            let beside = self.path.with_extension("tmp");
            fs::write(&beside, text).unwrap();
            fs::rename(&beside, &self.path).unwrap();
        } else {
            fs::write(&self.path, text).unwrap();
        }
        let file = File::options().write(true).open(&self.path).unwrap();
        file.set_modified(SystemTime::try_from(at).unwrap()).unwrap();
    }

    /// Writes half of it, and keeps it open.
    fn begin(&mut self, text: &str) {
        let mut file = File::create(&self.path).unwrap();
        file.write_all(&text.as_bytes()[..text.len() / 2]).unwrap();
        self.standing = Standing::BeingWritten(file);
    }

    /// Takes it away.
    pub(crate) fn lose(&mut self) {
        self.standing = Standing::Missing;
        match fs::remove_file(&self.path) {
            Err(cause) if cause.kind() != std::io::ErrorKind::NotFound => panic!("{cause}"),
            _ => {}
        }
    }

    /// Leaves nothing in it.
    pub(crate) fn empty(&mut self, at: Timestamp) {
        self.standing = Standing::Emptied;
        let file = File::create(&self.path).unwrap();
        file.set_modified(SystemTime::try_from(at).unwrap()).unwrap();
    }

    /// Gives it its other name from now on.
    pub(crate) fn rename(&mut self) {
        if matches!(self.standing, Standing::Whole) {
            fs::rename(&self.path, &self.other).unwrap();
            std::mem::swap(&mut self.path, &mut self.other);
        }
    }
}

/// The folder of sheets and what is true in the shop.
#[derive(Debug)]
pub(crate) struct Sheets {
    folder: PathBuf,
    away: PathBuf,
    pub(crate) is_away: bool,
    /// What is true.
    pub(crate) machines: Vec<Machine>,
    mileages: Vec<String>,
    named: u32,
    pub(crate) list: Export<Machine>,
    pub(crate) clocks: Export<String>,
}

impl Sheets {
    pub(crate) fn in_yard(yard: &Path) -> Sheets {
        let folder = yard.join("sheets");
        fs::create_dir_all(&folder).unwrap();
        Sheets {
            away: yard.join("elsewhere"),
            is_away: false,
            machines: Vec::new(),
            mileages: Vec::new(),
            named: 0,
            list: Export::of(&folder, "machines"),
            clocks: Export::of(&folder, "mileages"),
            folder,
        }
    }

    /// A machine comes into the shop.
    pub(crate) fn add(&mut self) {
        let letter = |number: u32| char::from(b'A' + u8::try_from(number % 26).unwrap());
        let (first, second, third) = (self.named / 676, self.named / 26, self.named);
        let mark = format!("AB24 {}{}{}", letter(first), letter(second), letter(third));
        self.named += 1;
        self.machines.push(Machine { mark, note: Note::Fine, is_spent: false });
    }

    /// Somebody writes down what the clock of a machine says.
    pub(crate) fn read_clock(&mut self, machine: usize, at: Timestamp) {
        let day = at.to_string()[..10].to_owned();
        let miles = 20 + self.mileages.len() * 7;
        self.mileages.push(format!("{},{miles},{day}", self.machines[machine].mark));
    }

    /// What the record program exports.
    fn text(&self) -> (String, String) {
        let mut list = "Reg,Make,Model,Note\n".to_owned();
        for Machine { mark, note, .. } in &self.machines {
            list.push_str(&format!("{mark},Tarrowby,Fathom 125,{}\n", note.word()));
        }
        let is_here = |row: &&String| self.machines.iter().any(|machine| row.starts_with(&machine.mark));
        let clocks: Vec<&str> = self.mileages.iter().filter(is_here).map(String::as_str).collect();
        let clocks = format!("Reg,Mileage,Date\n{}\n", clocks.join("\n"));
        (list, clocks)
    }

    /// Exports everything that is true; nothing, while the folder is away.
    pub(crate) fn save(&mut self, through_another: bool, at: Timestamp) {
        if self.is_away {
            return;
        }
        let (list, clocks) = self.text();
        self.list.save(&self.machines, &list, through_another, at);
        self.clocks.save(&self.mileages, &clocks, through_another, at);
    }

    /// Begins to write one of the exports; another save ends that.
    pub(crate) fn begin(&mut self, list: bool) {
        if self.is_away {
            return;
        }
        let texts = self.text();
        if list { self.list.begin(&texts.0) } else { self.clocks.begin(&texts.1) }
    }

    /// Takes the folder away, or brings it back.
    pub(crate) fn move_folder(&mut self, is_away: bool) {
        if is_away != self.is_away {
            let (from, to) = if is_away { (&self.folder, &self.away) } else { (&self.away, &self.folder) };
            fs::rename(from, to).unwrap();
            self.is_away = is_away;
        }
    }

    /// The list of machines as it can be read now, if it can.
    pub(crate) fn readable(&self) -> Option<&[Machine]> {
        if self.is_away { None } else { self.list.whole() }
    }
}
