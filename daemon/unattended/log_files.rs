//! The log of the long run: a few files of bounded size, written line by line; a full disk never stops the run.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::PathBuf;

use crate::problem::counted;

/// The size from which a file makes room for the next, in bytes: any editor opens it.
const FILE_BYTES: u64 = 1024 * 1024;
/// How many files there are at the most, the one that is written among them: months of ordinary rounds.
const FILES: usize = 5;

/// The log's files: `tickover.log`, and the older `tickover.1.log` to `tickover.4.log`. The file is opened anew for
/// each line, so that one that was deleted, or a disk that was full, is no trouble for the line after.
#[derive(Debug)]
pub struct LogFiles {
    folder: PathBuf,
    file_bytes: u64,
    /// How many lines could not be written since the last that could.
    lost: usize,
}

impl LogFiles {
    /// The log in a folder, which is made where it is missing.
    pub fn in_folder(folder: impl Into<PathBuf>) -> LogFiles {
        LogFiles { folder: folder.into(), file_bytes: FILE_BYTES, lost: 0 }
    }

    fn path(&self, age: usize) -> PathBuf {
        self.folder.join(if age == 0 { "tickover.log".to_owned() } else { format!("tickover.{age}.log") })
    }

    fn append(&self, line: &[u8]) -> io::Result<()> {
        fs::create_dir_all(&self.folder)?;
        let path = self.path(0);
        let written = fs::metadata(&path).map_or(0, |file| file.len());
        let torn = written > 0 && self.lost > 0;
        if written > 0 && written + line.len() as u64 > self.file_bytes {
            self.make_room();
        }
        let mut file = File::options().create(true).append(true).open(&path)?;
        let mut text = Vec::with_capacity(line.len());
        if torn {
            let missing = counted(self.lost, "line");
            text.extend(format!("\n(the disk took no log: {missing} missing here)\n").bytes());
        }
        text.extend(line);
        file.write_all(&text)
    }

    /// Gives each file the name of the next older; the oldest goes. What cannot be renamed is overwritten later.
    fn make_room(&self) {
        let _ = fs::remove_file(self.path(FILES - 1));
        for age in (0..FILES - 1).rev() {
            let _ = fs::rename(self.path(age), self.path(age + 1));
        }
    }
}

impl Write for LogFiles {
    fn write(&mut self, line: &[u8]) -> io::Result<usize> {
        match self.append(line) {
            Ok(()) => self.lost = 0,
            Err(_) => self.lost += 1,
        }
        Ok(line.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Whether the error stream goes to the system's journal, which is then told the log, too (systemd.exec(5),
/// `$JOURNAL_STREAM`).
#[cfg(unix)]
pub fn journal_listens() -> bool {
    use std::os::fd::AsFd;
    use std::os::unix::fs::MetadataExt;
    let Some(stream) = std::env::var_os("JOURNAL_STREAM") else { return false };
    let Ok(errors) = std::io::stderr().as_fd().try_clone_to_owned() else { return false };
    let metadata = File::from(errors).metadata();
    metadata.is_ok_and(|it| stream.to_str() == Some(&format!("{}:{}", it.dev(), it.ino())))
}

/// Other systems have no journal.
#[cfg(not(unix))]
pub fn journal_listens() -> bool {
    false
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::io::Write;

    use super::LogFiles;

    #[test]
    fn a_log_keeps_its_newest_lines_in_files_of_bounded_size() {
        let folder = tempfile::tempdir().unwrap();
        let mut log = LogFiles { file_bytes: 100, ..LogFiles::in_folder(folder.path()) };
        for number in 0..100 {
            log.write_all(format!("line {number:03} of the log\n").as_bytes()).unwrap();
        }
        let mut names: Vec<String> = fs::read_dir(folder.path())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        let expected =
            ["tickover.1.log", "tickover.2.log", "tickover.3.log", "tickover.4.log", "tickover.log"];
        assert_eq!(names, expected);
        let whole: String =
            ["tickover.4.log", "tickover.3.log", "tickover.2.log", "tickover.1.log", "tickover.log"]
                .iter()
                .map(|name| fs::read_to_string(folder.path().join(name)).unwrap())
                .collect();
        assert!(whole.ends_with("line 099 of the log\n"));
        let lines: Vec<&str> = whole.lines().collect();
        let first: usize = lines[0][5..8].parse().unwrap();
        let expected: Vec<String> =
            (first..100).map(|number| format!("line {number:03} of the log")).collect();
        assert_eq!(lines, expected, "no line between the oldest kept and the newest is missing");
        assert!(names.iter().all(|name| fs::metadata(folder.path().join(name)).unwrap().len() <= 100));
    }

    #[test]
    fn a_log_that_cannot_be_written_stops_nobody_and_says_what_is_missing() {
        let folder = tempfile::tempdir().unwrap();
        let logs = folder.path().join("log");
        let mut log = LogFiles::in_folder(&logs);
        log.write_all(b"before\n").unwrap();
        let aside = folder.path().join("aside");
        fs::rename(&logs, &aside).unwrap();
        fs::write(&logs, "a file stands where the folder should").unwrap();
        log.write_all(b"lost\n").unwrap();
        log.write_all(b"lost\n").unwrap();
        fs::remove_file(&logs).unwrap();
        fs::rename(&aside, &logs).unwrap();
        log.write_all(b"after\n").unwrap();
        log.lost = 1;
        log.write_all(b"in the end\n").unwrap();
        let text = fs::read_to_string(logs.join("tickover.log")).unwrap();
        let expected = "before\n\n(the disk took no log: 2 lines missing here)\nafter\n\
                        \n(the disk took no log: 1 line missing here)\nin the end\n";
        assert_eq!(text, expected);
    }
}
