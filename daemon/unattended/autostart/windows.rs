//! Windows' service manager is told of the yard folder.

use std::ffi::OsString;
use std::path::{Component, Path, PathBuf, Prefix};
use std::process::Command;
use std::thread;
use std::time::Duration;

use jiff::tz::TimeZone;
use windows_service::Error;
use windows_service::service::{
    Service, ServiceAccess, ServiceAction, ServiceActionType, ServiceErrorControl, ServiceFailureActions,
    ServiceFailureResetPeriod, ServiceInfo, ServiceStartType, ServiceState, ServiceType,
};
use windows_service::service_manager::{ServiceManager, ServiceManagerAccess};

use super::mail_password::lacking;
use super::windows_run::SUBCOMMAND;
use super::{Report, Wanted};
use crate::problem::{Place, Problem};
use crate::round::YardFolder;
use crate::settings;
use crate::unattended::Status;

/// The service's name.
pub(super) const SERVICE: &str = "Tickover";

/// The account that it runs under: it may do little on this PC, and signs on to no other (Microsoft, 'LocalService
/// Account'). The number is the one that every Windows knows it by, whatever the language ('Well-known SIDs').
const ACCOUNT: &str = r"NT AUTHORITY\LocalService";
const ACCOUNT_NUMBER: &str = "*S-1-5-19";

/// A run that failed is started again after this time, so many times; a day without failure counts as none.
const RESTART_AFTER: Duration = Duration::from_secs(60);
const RESTARTS: usize = 3;
const FORGOTTEN_AFTER: Duration = Duration::from_secs(24 * 60 * 60);

/// How often, and how many times, it is looked whether the service has started or stopped.
const LOOK_EVERY: Duration = Duration::from_millis(100);
const LOOKS_MAX: usize = 300;

/// What Windows answers (Microsoft, 'System Error Codes').
const ACCESS_DENIED: i32 = 5;
const NO_SUCH_SERVICE: i32 = 1060;

/// Windows' service manager.
pub(super) struct Manager;

impl Manager {
    pub(super) fn install(&self, wanted: &Wanted) -> Result<Report, Problem> {
        let mut report = Report::default();
        if let Some(share) = share_of(&wanted.yard) {
            return Err(Problem::error(
                Place::file(wanted.yard.to_string_lossy()),
                format!("the yard folder lies on a share ({share}), where a ledger is not safe"),
                "Keep the yard folder on a disk of this PC; exports may be read from a share.",
            ));
        }
        report.problems.extend(wanted.settings.folders.iter().filter_map(|folder| unseen(Path::new(folder))));
        let help = "Write it into a file in the yard folder, and name that as `password_file` under [mail].";
        report.problems.extend(lacking(wanted, &|_| true, help));
        let manager = open(ServiceManagerAccess::CONNECT | ServiceManagerAccess::CREATE_SERVICE)?;
        let service = match ours(&manager, ServiceAccess::ALL_ACCESS)? {
            Some((_, kept)) if kept.yard != wanted.yard => return Err(of_another_yard(&kept.yard)),
            Some((standing, _)) => {
                stop(&standing)?;
                standing.change_config(&service(wanted)).map_err(|cause| failed("changed", &cause))?;
                standing
            }
            None => manager
                .create_service(&service(wanted), ServiceAccess::ALL_ACCESS)
                .map_err(|cause| failed("installed", &cause))?,
        };
        report.problems.extend(configure(&service));
        // The account may write below the yard folder, and read the program wherever it lies.
        for (path, rights) in [(&wanted.yard, "(OI)(CI)M"), (&wanted.program, "RX")] {
            report.problems.extend(permit(path, &["/grant", &format!("{ACCOUNT_NUMBER}:{rights}")]));
        }
        match service.start::<OsString>(&[]) {
            Ok(()) if has_become(&service, ServiceState::Running)? => {
                report.said.push(format!("Tickover keeps {} from now on.", wanted.yard.display()));
            }
            Ok(()) => report.problems.push(not_running(&service, &wanted.yard)?),
            Err(cause) => report.problems.push(problem(
                format!("the service could not be started: {}", in_words(&cause)),
                where_the_reason_is(&YardFolder::at(&wanted.yard)),
            )),
        }
        report.said.push("It starts with this PC, whoever is logged on.".to_owned());
        report
            .said
            .push(format!("It runs under the account `{ACCOUNT}`, which may write in the yard folder."));
        Ok(report)
    }

    pub(super) fn remove(&self) -> Result<Report, Problem> {
        let mut report = Report::default();
        let manager = open(ServiceManagerAccess::CONNECT)?;
        let Some((service, kept)) = ours(&manager, ServiceAccess::ALL_ACCESS)? else {
            report.said.push("Tickover does not start with this PC; there was nothing to remove.".to_owned());
            return Ok(report);
        };
        stop(&service)?;
        service.delete().map_err(|cause| failed("removed", &cause))?;
        for path in [&kept.yard, &kept.program].into_iter().filter(|path| path.exists()) {
            report.problems.extend(permit(path, &["/remove:g", ACCOUNT_NUMBER]));
        }
        report
            .said
            .push("Tickover no longer starts with this PC. The yard folder stays as it is.".to_owned());
        Ok(report)
    }

    pub(super) fn status(&self) -> Result<Report, Problem> {
        let mut report = Report::default();
        let manager = open(ServiceManagerAccess::CONNECT)?;
        let access = ServiceAccess::QUERY_STATUS | ServiceAccess::QUERY_CONFIG;
        let Some((service, Kept { yard, .. })) = ours(&manager, access)? else {
            report.problems.push(problem(
                "Tickover does not start with this PC",
                "Run `tickover autostart install --yard DIR` as administrator.",
            ));
            return Ok(report);
        };
        report.said.push(format!("Installed for the yard folder {}", yard.display()));
        let start = service.query_config().map_err(|cause| failed("asked", &cause))?.start_type;
        if start != ServiceStartType::AutoStart {
            report.problems.push(problem(
                "it was told not to start with this PC",
                "Run `tickover autostart install --yard DIR` again, as administrator.",
            ));
        }
        match state(&service)? {
            ServiceState::Running => report.said.push(since(&yard)),
            _ => report.problems.push(not_running(&service, &yard)?),
        }
        Ok(report)
    }
}

/// The service as it shall be.
fn service(wanted: &Wanted) -> ServiceInfo {
    ServiceInfo {
        name: SERVICE.into(),
        display_name: SERVICE.into(),
        service_type: ServiceType::OWN_PROCESS,
        start_type: ServiceStartType::AutoStart,
        error_control: ServiceErrorControl::Normal,
        executable_path: wanted.program.clone(),
        launch_arguments: vec![SUBCOMMAND.into(), "--yard".into(), wanted.yard.clone().into()],
        dependencies: Vec::new(),
        account_name: Some(ACCOUNT.into()),
        account_password: None,
    }
}

/// Tells a service besides its program what it is for, and what happens when it fails. What Windows does not take is
/// told, and the rest goes on.
fn configure(service: &Service) -> Vec<Problem> {
    let restart = ServiceAction { action_type: ServiceActionType::Restart, delay: RESTART_AFTER };
    let after_failure = ServiceFailureActions {
        reset_period: ServiceFailureResetPeriod::After(FORGOTTEN_AFTER),
        reboot_msg: None,
        command: None,
        actions: Some(vec![restart; RESTARTS]),
    };
    let told = [
        (
            service.set_description("Reads the workshop's sheets and writes its morning letter."),
            "its description was not taken",
        ),
        (service.update_failure_actions(after_failure), "it will not be started again after a failure"),
        (
            service.set_failure_actions_on_non_crash_failures(true),
            "it will be started again after a crash only, and not after an error that it tells of",
        ),
        (service.set_delayed_auto_start(true), "it starts with this PC at once instead of a little later"),
    ];
    told.into_iter()
        .filter_map(|(outcome, what)| {
            let cause = outcome.err()?;
            let help = "Look at `Tickover` in Windows' Services; it runs all the same.";
            Some(Problem::note(place(), format!("{what}: {}", in_words(&cause)), help))
        })
        .collect()
}

/// Lets the service's account into a folder or file, or no longer.
fn permit(path: &Path, what: &[&str]) -> Option<Problem> {
    let done = Command::new("icacls").arg(path).args(what).arg("/q").output();
    let cause = match done {
        Ok(output) if output.status.success() => return None,
        Ok(output) => String::from_utf8_lossy(&output.stdout).trim().to_owned(),
        Err(cause) => cause.to_string(),
    };
    Some(Problem::error(
        Place::file(path.to_string_lossy()),
        format!("the rights of the account `{ACCOUNT}` there could not be set: {cause}"),
        format!("Run as administrator: icacls \"{}\" {}", path.display(), what.join(" ")),
    ))
}

/// Why a service would not see a folder that the settings name; `None` where it would.
fn unseen(folder: &Path) -> Option<Problem> {
    let place = Place::file(folder.to_string_lossy());
    let on_drive = matches!(prefix(folder), Some(Prefix::Disk(_)));
    match (share_of(folder), on_drive) {
        (Some(share), true) => Some(Problem::error(
            place,
            "a service does not see drive letters that stand for a share",
            format!("Write `{share}` in the settings instead."),
        )),
        (None, true) if !folder.exists() => Some(Problem::error(
            place,
            "the folder is not seen here; if its drive letter stands for a share, a service does not see it",
            r"Write the share's own name in the settings, such as `\\PC\exports`.",
        )),
        (Some(_), false) => Some(Problem::note(
            place,
            format!("the account `{ACCOUNT}` signs on to no share"),
            "Open Services, `Tickover`, Log On, and enter an account that may read the share.",
        )),
        _ => None,
    }
}

/// The share that a path lies on, by its own name; `None` where it lies on a disk of this PC, or cannot be found.
fn share_of(path: &Path) -> Option<String> {
    let whole = path.canonicalize().unwrap_or_else(|_| path.to_owned());
    let (server, share) = match prefix(&whole)? {
        Prefix::UNC(server, share) | Prefix::VerbatimUNC(server, share) => (server, share),
        _ => return None,
    };
    let below: PathBuf = whole.components().filter(|part| matches!(part, Component::Normal(_))).collect();
    let name = format!(r"\\{}\{}", server.to_string_lossy(), share.to_string_lossy());
    Some(Path::new(&name).join(below).to_string_lossy().into_owned())
}

fn prefix(path: &Path) -> Option<Prefix<'_>> {
    match path.components().next()? {
        Component::Prefix(prefix) => Some(prefix.kind()),
        _ => None,
    }
}

/// What a service of ours keeps, and by which program.
#[derive(Debug, PartialEq, Eq)]
struct Kept {
    program: PathBuf,
    yard: PathBuf,
}

/// The service, where it is installed, and what it keeps. One of this name that runs something else is an error, whatever
/// was to be done, and found before any right to change it is asked for.
fn ours(manager: &ServiceManager, access: ServiceAccess) -> Result<Option<(Service, Kept)>, Problem> {
    let Some(standing) = find(manager, ServiceAccess::QUERY_CONFIG)? else { return Ok(None) };
    let config = standing.query_config().map_err(|cause| failed("asked", &cause))?;
    let line = config.executable_path.to_string_lossy();
    let kept = kept_by_command(&line).ok_or_else(|| somebody_elses(&line))?;
    Ok(find(manager, access)?.map(|service| (service, kept)))
}

/// What the command line of a service keeps; `None` where it is not Tickover's.
fn kept_by_command(line: &str) -> Option<Kept> {
    let (program, yard) = line.split_once(&format!(" {SUBCOMMAND} --yard "))?;
    Some(Kept { program: unquoted(program), yard: unquoted(yard) })
}

/// A path from a command line: it holds no quotes, but may stand in them, and then a backslash at its end is doubled.
fn unquoted(word: &str) -> PathBuf {
    let Some(bare) = word.strip_prefix('"').and_then(|word| word.strip_suffix('"')) else {
        return PathBuf::from(word);
    };
    PathBuf::from(if bare.ends_with(r"\\") { &bare[..bare.len() - 1] } else { bare })
}

/// Since when the run in a yard folder is at work, by the shop's own watches.
fn since(yard: &Path) -> String {
    let folder = YardFolder::at(yard);
    let (settings, _) = settings::load(&folder.settings(), "tickover.toml");
    let zone = settings.and_then(|settings| TimeZone::get(&settings.zone).ok()).unwrap_or(TimeZone::UTC);
    match Status::read(&folder.status()) {
        Some(status) => {
            let since = status.started.to_zoned_datetime(zone);
            format!("Running since {}.", since.strftime("%A %-d %B, %H:%M"))
        }
        None => "Running; it has just begun.".to_owned(),
    }
}

fn open(access: ServiceManagerAccess) -> Result<ServiceManager, Problem> {
    ServiceManager::local_computer(None::<&str>, access).map_err(|cause| failed("reached", &cause))
}

/// The service, where it is installed.
fn find(manager: &ServiceManager, access: ServiceAccess) -> Result<Option<Service>, Problem> {
    match manager.open_service(SERVICE, access) {
        Ok(service) => Ok(Some(service)),
        Err(Error::Winapi(cause)) if cause.raw_os_error() == Some(NO_SUCH_SERVICE) => Ok(None),
        Err(cause) => Err(failed("opened", &cause)),
    }
}

/// Stops the service, where it runs.
fn stop(service: &Service) -> Result<(), Problem> {
    if state(service)? == ServiceState::Stopped {
        return Ok(());
    }
    service.stop().map_err(|cause| failed("stopped", &cause))?;
    if has_become(service, ServiceState::Stopped)? {
        return Ok(());
    }
    Err(problem("the service does not stop", "Wait a minute, then try again."))
}

fn state(service: &Service) -> Result<ServiceState, Problem> {
    Ok(service.query_status().map_err(|cause| failed("asked", &cause))?.current_state)
}

fn has_become(service: &Service, wanted: ServiceState) -> Result<bool, Problem> {
    for _ in 0..LOOKS_MAX {
        if state(service)? == wanted {
            return Ok(true);
        }
        thread::sleep(LOOK_EVERY);
    }
    Ok(false)
}

/// That the service does not run, and where to look for the reason.
fn not_running(service: &Service, yard: &Path) -> Result<Problem, Problem> {
    let status = service.query_status().map_err(|cause| failed("asked", &cause))?;
    Ok(problem(
        format!("it is not running ({:?}, {:?})", status.current_state, status.exit_code),
        where_the_reason_is(&YardFolder::at(yard)),
    ))
}

fn where_the_reason_is(yard: &YardFolder) -> String {
    let (root, logs) = (yard.root().display(), yard.logs());
    if !yard.is_laid_out() {
        return format!(
            "There is no yard folder at `{root}`: put it back, or install Tickover for where it is."
        );
    }
    if logs.is_dir() {
        return format!("The log in `{}` says why, if the run came so far.", logs.display());
    }
    format!(
        "It could write no log in `{}`: look whether the account `{ACCOUNT}` may write there.",
        logs.display()
    )
}

fn of_another_yard(yard: &Path) -> Problem {
    problem(
        format!("Tickover is installed already, for the yard folder {}", yard.display()),
        "Run `tickover autostart remove` first if that one is to be kept no longer.",
    )
}

/// A service of Tickover's name that runs something else.
fn somebody_elses(line: &str) -> Problem {
    problem(
        format!(
            "a service of this name is there that Tickover did not install; it runs `{line}`, and was left as it is"
        ),
        "See whose it is. If nobody needs it, remove it yourself: as administrator, `sc delete Tickover`.",
    )
}

fn failed(what: &str, cause: &Error) -> Problem {
    match cause {
        Error::Winapi(cause) if cause.raw_os_error() == Some(ACCESS_DENIED) => problem(
            "Windows lets only an administrator do this",
            "Open the command prompt by `Run as administrator`, and try again.",
        ),
        cause => problem(format!("the service could not be {what}: {}", in_words(cause)), HELP),
    }
}

/// What Windows itself says, where it was Windows that refused.
fn in_words(cause: &Error) -> String {
    match cause {
        Error::Winapi(cause) => cause.to_string(),
        cause => cause.to_string(),
    }
}

const HELP: &str = "Look at `Tickover` in Windows' Services, then try again.";

fn problem(what: impl Into<String>, help: impl Into<String>) -> Problem {
    Problem::error(place(), what, help)
}

fn place() -> Place {
    Place::file("service manager")
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    #[test]
    fn what_a_service_keeps_is_read_from_its_command_line() {
        let cases = [
            (
                r#""C:\Program Files\tickover.exe" run-as-service --yard "C:\the yard""#,
                r"C:\Program Files\tickover.exe",
                r"C:\the yard",
            ),
            (r"C:\tickover.exe run-as-service --yard C:\yard", r"C:\tickover.exe", r"C:\yard"),
            (r#"C:\tickover.exe run-as-service --yard "D:\my yard\\""#, r"C:\tickover.exe", r"D:\my yard\"),
        ];
        for (line, program, yard) in cases {
            let expected = Kept { program: program.into(), yard: yard.into() };
            assert_eq!(kept_by_command(line), Some(expected), "{line}");
        }
        for foreign in [r"C:\other.exe --yard C:\yard", r"C:\Program Files\tickover.exe", ""] {
            assert_eq!(kept_by_command(foreign), None, "{foreign}");
        }
    }

    #[test]
    fn where_the_reason_is_told_by_what_is_really_there() {
        let yard = tempfile::tempdir().unwrap();
        let (folder, logs) = (YardFolder::at(yard.path()), yard.path().join(r"kept\log"));
        let told = where_the_reason_is(&folder);
        assert!(
            told.starts_with(&format!("There is no yard folder at `{}`", yard.path().display())),
            "{told}"
        );
        fs::create_dir(yard.path().join("sheets")).unwrap();
        let told = where_the_reason_is(&folder);
        assert!(told.starts_with(&format!("It could write no log in `{}`", logs.display())), "{told}");
        fs::create_dir_all(&logs).unwrap();
        assert_eq!(
            where_the_reason_is(&folder),
            format!("The log in `{}` says why, if the run came so far.", logs.display())
        );
    }

    #[test]
    fn a_folder_that_a_service_would_not_see_is_told_of() {
        let share = unseen(Path::new(r"\\PC\exports\today")).expect("it is told of");
        assert_eq!(share.what, r"the account `NT AUTHORITY\LocalService` signs on to no share");
        let drive = unseen(Path::new(r"Q:\exports")).expect("it is told of");
        assert_eq!(
            drive.what,
            "the folder is not seen here; if its drive letter stands for a share, a service does not see it"
        );
        for seen in ["sheets", r"C:\windows"] {
            assert_eq!(unseen(Path::new(seen)), None, "{seen}");
        }
    }
}
