//! systemd is told of the yard folder: by the PC's own manager as root, else by the person's.

use std::fs;
use std::io;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};
use std::process::Command;

use super::mail_password::lacking;
use super::systemd_unit::{Unit, Whose};
use super::{Report, Wanted};
use crate::post;
use crate::problem::{Place, Problem};

/// The unit's name.
const UNIT: &str = "tickover.service";

/// Where the mail password is looked for; a file that only root can read.
const MAIL_PASSWORD: &str = "/etc/tickover/mail-password";

/// One of systemd's managers.
pub(super) struct Systemd {
    /// Whether it is the PC's and not one person's.
    pub(super) is_the_pcs: bool,
    /// Where its units lie.
    pub(super) units: PathBuf,
    /// Where those of the PC's own manager lie.
    pub(super) pcs_units: PathBuf,
    /// The program that speaks to it, with its first arguments; `None` where no systemd runs.
    pub(super) control: Option<Vec<String>>,
    /// The list of accounts.
    pub(super) accounts: PathBuf,
    /// The mail password's file, if there is one.
    pub(super) mail_password: PathBuf,
    /// The folders of which the PC's service gets empty ones of its own (`PrivateTmp`, systemd.exec(5)).
    pub(super) hidden: Vec<PathBuf>,
}

impl Systemd {
    /// The one that this process's account may speak to.
    pub(super) fn of_this_pc() -> Result<Systemd, Problem> {
        let is_the_pcs = fs::metadata("/proc/self").is_ok_and(|process| process.uid() == 0);
        let folder_of =
            |name: &str| std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from);
        let pcs_units = PathBuf::from("/etc/systemd/system");
        let units = if is_the_pcs {
            pcs_units.clone()
        } else {
            folder_of("XDG_CONFIG_HOME")
                .or_else(|| folder_of("HOME").map(|home| home.join(".config")))
                .ok_or_else(|| {
                    cannot("the person's own folder is not known", "Set HOME, or run it with `sudo`.")
                })?
                .join("systemd/user")
        };
        let whose = if is_the_pcs { "--system" } else { "--user" };
        // sd_booted(3): the folder is there where systemd runs the PC.
        let runs = Path::new("/run/systemd/system").is_dir();
        Ok(Systemd {
            is_the_pcs,
            units,
            pcs_units,
            control: runs.then(|| vec!["systemctl".to_owned(), whose.to_owned()]),
            accounts: PathBuf::from("/etc/passwd"),
            mail_password: PathBuf::from(MAIL_PASSWORD),
            hidden: ["/tmp", "/var/tmp"].map(PathBuf::from).to_vec(),
        })
    }

    pub(super) fn install(&self, wanted: &Wanted) -> Result<Report, Problem> {
        self.leave_to_the_pcs()?;
        self.refuse_what_is_hidden(wanted)?;
        let mut report = Report::default();
        let unit = Unit {
            yard: &wanted.yard,
            program: &wanted.program,
            reader_bytes: wanted.settings.limits.reader_bytes,
            whose: self.whose(&wanted.yard, &mut report)?,
        };
        let path = self.path();
        if let Some(standing) = self.standing()?
            && !standing.text.contains(&unit.mark()?)
        {
            return Err(of_another_yard(&path, &standing.yard));
        }
        report.problems.extend(self.lacks_password(wanted, &unit.whose));
        report.problems.extend(self.exports_out_of_sight(wanted));
        let text = unit.text()?;
        fs::create_dir_all(&self.units).map_err(|cause| self.refused(&self.units, &cause))?;
        post::write_whole(&path, text.as_bytes()).map_err(|cause| self.refused(&path, &cause))?;
        report.said.push(format!("Written: {}", path.display()));
        if self.control.is_none() {
            report.problems.push(Problem::error(
                Place::file(path.to_string_lossy()),
                "no systemd runs this PC, so nothing was started",
                "Have `tickover run --yard DIR` started by what does run it.",
            ));
            return Ok(report);
        }
        self.tell(&["daemon-reload"])?;
        self.tell(&["enable", UNIT])?;
        // Also takes a changed unit into force.
        self.tell(&["restart", UNIT])?;
        report.said.push(format!("Tickover keeps {} from now on.", wanted.yard.display()));
        report.said.push(match self.is_the_pcs {
            true => "It starts with this PC, whoever is logged on.".to_owned(),
            false => {
                "It starts when you log on; `loginctl enable-linger` lets it start with this PC.".to_owned()
            }
        });
        Ok(report)
    }

    pub(super) fn remove(&self) -> Result<Report, Problem> {
        let path = self.path();
        let mut report = Report::default();
        if self.standing()?.is_none() {
            self.leave_to_the_pcs()?;
            report.said.push(format!("{}; there was nothing to remove.", self.not_installed()));
            return Ok(report);
        }
        if self.control.is_some() {
            self.tell(&["disable", "--now", UNIT])?;
        }
        fs::remove_file(&path).map_err(|cause| self.refused(&path, &cause))?;
        if self.control.is_some() {
            self.tell(&["daemon-reload"])?;
        }
        report.said.push(format!("Removed: {}", path.display()));
        report.said.push(format!("{} any more. The yard folder stays as it is.", self.not_installed()));
        Ok(report)
    }

    pub(super) fn status(&self) -> Result<Report, Problem> {
        let path = self.path();
        let mut report = Report::default();
        let Some(standing) = self.standing()? else {
            self.leave_to_the_pcs()?;
            let what = self.not_installed();
            report.problems.push(cannot(what, "Run `tickover autostart install --yard DIR`."));
            return Ok(report);
        };
        report.said.push(format!("Installed for the yard folder {}, by {}", standing.yard, path.display()));
        if self.control.is_none() {
            report.problems.push(cannot(
                "no systemd runs this PC, so it is not running",
                "Have `tickover run --yard DIR` started by what does run it.",
            ));
            return Ok(report);
        }
        let shown =
            self.tell(&["show", UNIT, "--property=ActiveState,ActiveEnterTimestamp,UnitFileState"])?;
        let property = |name: &str| {
            shown.lines().find_map(|line| line.strip_prefix(name)?.strip_prefix('=')).unwrap_or_default()
        };
        if property("UnitFileState") != "enabled" {
            report.problems.push(cannot(
                "it was told not to start with this PC",
                "Run `tickover autostart install --yard DIR` again.",
            ));
        }
        match property("ActiveState") {
            "active" => report.said.push(format!("Running since {}.", property("ActiveEnterTimestamp"))),
            state => report.problems.push(cannot(
                &format!("it is not running (systemd says `{state}`)"),
                &format!("`{} status {UNIT}` says why.", self.control().join(" ")),
            )),
        }
        Ok(report)
    }

    fn path(&self) -> PathBuf {
        self.units.join(UNIT)
    }

    /// Tickover's unit as it stands; `None` where there is nothing of that name.
    ///
    /// A unit that somebody else wrote is an error whatever was to be done: it is neither replaced nor removed.
    fn standing(&self) -> Result<Option<Standing>, Problem> {
        let path = self.path();
        match fs::read_to_string(&path) {
            Ok(text) => match yard_of(&text) {
                Some(yard) => Ok(Some(Standing { yard: yard.to_owned(), text })),
                None => Err(somebody_elses(&path)),
            },
            Err(cause) if cause.kind() != io::ErrorKind::NotFound => Err(self.refused(&path, &cause)),
            // A link that leads nowhere is somebody's, too.
            Err(_) if fs::symlink_metadata(&path).is_ok() => Err(somebody_elses(&path)),
            Err(_) => Ok(None),
        }
    }

    /// A person's manager leaves a yard folder to the PC's where that starts Tickover: two would be in each other's way.
    fn leave_to_the_pcs(&self) -> Result<(), Problem> {
        let path = self.pcs_units.join(UNIT);
        if self.is_the_pcs || fs::symlink_metadata(&path).is_err() {
            return Ok(());
        }
        Err(Problem::error(
            Place::file(path.to_string_lossy()),
            "a unit of the whole PC is there, which only root may change",
            "Run it with `sudo`.",
        ))
    }

    /// What is so where nothing is installed.
    fn not_installed(&self) -> &'static str {
        match self.is_the_pcs {
            true => "Tickover does not start with this PC",
            false => "Tickover does not start when you log on",
        }
    }

    /// Whose unit it will be: the PC's runs under the account that the yard folder belongs to.
    fn whose(&self, yard: &Path, report: &mut Report) -> Result<Whose, Problem> {
        if !self.is_the_pcs {
            return Ok(Whose::Persons);
        }
        let owner = fs::metadata(yard).map_err(|cause| self.refused(yard, &cause))?;
        let accounts = fs::read_to_string(&self.accounts).unwrap_or_default();
        let name = account_of(&accounts, owner.uid());
        let user = name.clone().unwrap_or_else(|| owner.uid().to_string());
        if owner.uid() == 0 {
            report.problems.push(Problem::note(
                Place::file(yard.to_string_lossy()),
                "the yard folder belongs to root, so Tickover will run as root",
                "Give the folder to the person whose it is (`chown -R`), then install it again.",
            ));
        }
        report.said.push(format!("It runs under the account `{user}`, to which the yard folder belongs."));
        let kept = yard.join("kept");
        if fs::metadata(&kept).is_ok_and(|kept| kept.uid() != owner.uid()) {
            report.problems.push(Problem::error(
                Place::file(kept.to_string_lossy()),
                format!("it does not belong to `{user}`, who must be able to write there"),
                format!("Run `chown -R {user}` on the yard folder."),
            ));
        }
        Ok(Whose::Pcs {
            user,
            group: name.is_none().then(|| owner.gid().to_string()),
            mail_password: self
                .mail_password
                .is_file()
                .then(|| self.mail_password.to_string_lossy().into_owned()),
        })
    }

    /// The folder that hides a path from the PC's service, by its name or by where it leads.
    fn hider(&self, path: &Path) -> Option<&Path> {
        let real = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        let hides = |folder: &&PathBuf| path.starts_with(folder) || real.starts_with(folder);
        self.hidden.iter().filter(|_| self.is_the_pcs).find(hides).map(PathBuf::as_path)
    }

    /// A yard folder or a program that the PC's service would not see: it could never start.
    fn refuse_what_is_hidden(&self, wanted: &Wanted) -> Result<(), Problem> {
        let places = [
            (&wanted.yard, "Move the yard folder, such as to /srv; then install it again."),
            (&wanted.program, "Put the program elsewhere, such as in /usr/local/bin, then install it again."),
        ];
        match places.iter().find_map(|(path, help)| Some((path, help, self.hider(path)?))) {
            Some((path, help, folder)) => Err(out_of_sight(path, folder, help)),
            None => Ok(()),
        }
    }

    /// Folders of exports that the PC's service would not see. The others can be read all the same.
    fn exports_out_of_sight(&self, wanted: &Wanted) -> Vec<Problem> {
        let help = "Have the exports saved elsewhere, and name that in tickover.toml.";
        let named = wanted.settings.folders.iter().map(|folder| wanted.yard.join(folder));
        named.filter_map(|path| Some(out_of_sight(&path, self.hider(&path)?, help))).collect()
    }

    /// What is to be said where the service will have no mail password.
    fn lacks_password(&self, wanted: &Wanted, whose: &Whose) -> Option<Problem> {
        let owner = |path: &Path| fs::metadata(path).map(|found| found.uid()).ok();
        match whose {
            Whose::Pcs { mail_password: Some(_), .. } => None,
            Whose::Pcs { .. } => {
                let account = owner(&wanted.yard);
                // A file that others may read is no password's file, and root reads all.
                let may_read = |path: &Path| account == Some(0) || account == owner(path);
                let help = format!(
                    "Write it into {}, which only root need be able to read, and install again.",
                    self.mail_password.display()
                );
                lacking(wanted, &may_read, &help)
            }
            Whose::Persons => {
                let help = "Write it into a file that only you may read, and name that as `password_file` under [mail].";
                lacking(wanted, &|_| true, help)
            }
        }
    }

    fn control(&self) -> &[String] {
        self.control.as_deref().unwrap_or_default()
    }

    /// Tells the manager something, and gives its answer.
    fn tell(&self, arguments: &[&str]) -> Result<String, Problem> {
        let (program, first) =
            self.control().split_first().expect("nobody speaks to a manager that is not there");
        let line = || format!("{} {}", self.control().join(" "), arguments.join(" "));
        let answer = Command::new(program).args(first).args(arguments).output();
        let answer =
            answer.map_err(|cause| cannot(&format!("`{}` could not be run: {cause}", line()), LOOK))?;
        if answer.status.success() {
            return Ok(String::from_utf8_lossy(&answer.stdout).into_owned());
        }
        let said = String::from_utf8_lossy(&answer.stderr);
        Err(cannot(&format!("`{}` failed: {}", line(), said.trim()), LOOK))
    }

    /// What to do about a file that could not be read or written.
    fn refused(&self, path: &Path, cause: &io::Error) -> Problem {
        let help = match cause.kind() {
            io::ErrorKind::PermissionDenied if !self.is_the_pcs => "Run it with `sudo`.",
            _ => "Check that the path is right and that the disk can be written.",
        };
        Problem::error(
            Place::file(path.to_string_lossy()),
            format!("could not be read or written: {cause}"),
            help,
        )
    }
}

/// What to do about a manager that would not do what it was told.
const LOOK: &str = "Run it by hand to see more; then try again.";

fn cannot(what: &str, help: &str) -> Problem {
    Problem::error(Place::file("systemd"), what, help)
}

/// What the service would look for in vain.
fn out_of_sight(path: &Path, folder: &Path, help: &str) -> Problem {
    let what = format!(
        "what starts with the PC sees nothing that lies in {}: systemd gives it an empty one of its own",
        folder.display()
    );
    Problem::error(Place::file(path.to_string_lossy()), what, help)
}

/// A unit that Tickover wrote.
struct Standing {
    /// Its text.
    text: String,
    /// The yard folder that it keeps, as it stands there.
    yard: String,
}

/// Tickover starts already, and not for the yard folder that is to be installed.
fn of_another_yard(path: &Path, yard: &str) -> Problem {
    Problem::error(
        Place::file(path.to_string_lossy()),
        format!("Tickover is installed already, for the yard folder {yard}"),
        "Run `tickover autostart remove` first if that one is to be kept no longer.",
    )
}

/// A unit of that name that Tickover did not write.
fn somebody_elses(path: &Path) -> Problem {
    Problem::error(
        Place::file(path.to_string_lossy()),
        "a unit of this name is there that Tickover did not write; it was left as it is",
        "See whose it is. If nobody needs it, disable it with `systemctl` and delete the file yourself.",
    )
}

/// The yard folder that a unit keeps, as it stands there; `None` where Tickover did not write the unit.
fn yard_of(unit: &str) -> Option<&str> {
    let (_, mark) = unit.split_once("[X-Tickover]\n")?;
    mark.lines().next()?.strip_prefix("Yard=")
}

/// An account's name by its number (passwd(5)); `None` where the list does not have it.
fn account_of(accounts: &str, number: u32) -> Option<String> {
    accounts.lines().find_map(|line| {
        let mut fields = line.split(':');
        let name = fields.next()?;
        (fields.nth(1)?.parse() == Ok(number)).then(|| name.to_owned())
    })
}
