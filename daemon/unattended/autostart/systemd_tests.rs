//! Checks of what systemd is told, and of the unit by systemd's own tools.

use std::fs;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};
use std::process::Command;

use super::mail_password::lacking;
use super::systemd::Systemd;
use super::systemd_unit::{Unit, Whose};
use super::{Report, Wanted};
use crate::problem::{Problem, Severity};
use crate::settings::{MailAccount, Security, Settings, SignIn};

/// A PC made of one folder: its units, accounts and password lie there, and its manager writes down what it is told.
struct Pc {
    root: tempfile::TempDir,
    is_the_pcs: bool,
    runs_systemd: bool,
}

impl Pc {
    fn new(is_the_pcs: bool, runs_systemd: bool) -> Pc {
        let root = tempfile::tempdir().expect("a folder of its own");
        fs::create_dir(root.path().join("yard")).expect("the yard folder is made");
        let owner = fs::metadata(root.path()).expect("the folder is there").uid();
        let accounts =
            format!("nobody:x:65534:65534::/:/bin/false\nsandra:x:{owner}:100::/home/sandra:/bin/sh\n");
        fs::write(root.path().join("accounts"), accounts).expect("the accounts are written");
        fs::write(root.path().join("answer"), "").expect("the answer is written");
        let folder = root.path().display();
        let script = format!("echo \"$@\" >> '{folder}/told'\n[ \"$2\" != show ] || cat '{folder}/answer'\n");
        fs::write(root.path().join("manager"), script).expect("the manager is written");
        Pc { root, is_the_pcs, runs_systemd }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.root.path().join(name)
    }

    fn systemd(&self) -> Systemd {
        let manager = ["sh".to_owned(), self.path("manager").display().to_string(), "--system".to_owned()];
        Systemd {
            is_the_pcs: self.is_the_pcs,
            units: self.path("units"),
            pcs_units: self.path(if self.is_the_pcs { "units" } else { "the PC's units" }),
            control: self.runs_systemd.then(|| manager.to_vec()),
            accounts: self.path("accounts"),
            mail_password: self.path("password"),
            hidden: vec![self.path("tmp")],
        }
    }

    fn wanted(&self, yard: &str) -> Wanted {
        Wanted {
            yard: self.path(yard),
            program: PathBuf::from("/usr/bin/tickover"),
            settings: Settings::default(),
            password_here: false,
        }
    }

    fn unit(&self) -> String {
        fs::read_to_string(self.path("units/tickover.service")).unwrap_or_default()
    }

    fn told(&self) -> String {
        fs::read_to_string(self.path("told")).unwrap_or_default()
    }

    /// A report as the terminal shows it, with this PC's folder as `PC`.
    fn shown(&self, report: &Report) -> String {
        let problems = report.problems.iter().map(ToString::to_string);
        let lines: Vec<String> = report.said.iter().cloned().chain(problems).collect();
        lines.join("\n").replace(&self.root.path().display().to_string(), "PC")
    }
}

fn lines_of<'a>(unit: &'a str, keys: &[&str]) -> Vec<&'a str> {
    unit.lines().filter(|line| keys.iter().any(|key| line.starts_with(key))).collect()
}

#[test]
fn what_was_installed_is_told_shown_and_removed() {
    let pc = Pc::new(true, true);
    let report = pc.systemd().install(&pc.wanted("yard")).expect("it is installed");
    let owner = if fs::metadata(pc.root.path()).expect("the folder is there").uid() == 0 {
        "\nnote: the yard folder belongs to root, so Tickover will run as root\n  --> PC/yard\n\
         help: Give the folder to the person whose it is (`chown -R`), then install it again."
    } else {
        ""
    };
    assert_eq!(
        pc.shown(&report),
        format!(
            "It runs under the account `sandra`, to which the yard folder belongs.\n\
             Written: PC/units/tickover.service\nTickover keeps PC/yard from now on.\n\
             It starts with this PC, whoever is logged on.{owner}"
        )
    );
    assert_eq!(
        pc.told(),
        "--system daemon-reload\n--system enable tickover.service\n--system restart tickover.service\n"
    );

    let answer =
        "ActiveState=active\nActiveEnterTimestamp=Mon 2026-03-02 07:12:00 GMT\nUnitFileState=enabled\n";
    fs::write(pc.path("answer"), answer).expect("the answer is written");
    let report = pc.systemd().status().expect("it is told");
    assert_eq!(
        pc.shown(&report),
        "Installed for the yard folder \"PC/yard\", by PC/units/tickover.service\n\
         Running since Mon 2026-03-02 07:12:00 GMT."
    );
    assert!(!report.needs_a_person());

    fs::remove_file(pc.path("told")).expect("what was told is forgotten");
    let report = pc.systemd().remove().expect("it is removed");
    assert_eq!(
        pc.shown(&report),
        "Removed: PC/units/tickover.service\n\
         Tickover does not start with this PC any more. The yard folder stays as it is."
    );
    assert_eq!(pc.told(), "--system disable --now tickover.service\n--system daemon-reload\n");
    assert!(!pc.path("units/tickover.service").exists());
    let report = pc.systemd().remove().expect("there is nothing to do");
    assert_eq!(pc.shown(&report), "Tickover does not start with this PC; there was nothing to remove.");
    let report = pc.systemd().status().expect("it is told");
    assert_eq!(
        pc.shown(&report),
        "error: Tickover does not start with this PC\n  --> systemd\n\
         help: Run `tickover autostart install --yard DIR`."
    );
    assert!(report.needs_a_person());
}

#[test]
fn what_is_installed_and_does_not_run_needs_a_person() {
    let pc = Pc::new(true, true);
    pc.systemd().install(&pc.wanted("yard")).expect("it is installed");
    fs::write(pc.path("answer"), "ActiveState=failed\nActiveEnterTimestamp=\nUnitFileState=disabled\n")
        .expect("the answer is written");
    let report = pc.systemd().status().expect("it is told");
    assert_eq!(
        pc.shown(&report),
        "Installed for the yard folder \"PC/yard\", by PC/units/tickover.service\n\
         error: it was told not to start with this PC\n  --> systemd\n\
         help: Run `tickover autostart install --yard DIR` again.\n\
         error: it is not running (systemd says `failed`)\n  --> systemd\n\
         help: `sh PC/manager --system status tickover.service` says why."
    );
}

#[test]
fn a_manager_that_refuses_is_quoted() {
    let pc = Pc::new(true, true);
    fs::write(pc.path("manager"), "echo 'no such thing' >&2; exit 5").expect("the manager is written");
    let problem = pc.systemd().install(&pc.wanted("yard")).expect_err("it is refused");
    assert_eq!(
        problem.to_string().replace(&pc.root.path().display().to_string(), "PC"),
        "error: `sh PC/manager --system daemon-reload` failed: no such thing\n  --> systemd\n\
         help: Run it by hand to see more; then try again."
    );
}

#[test]
fn without_systemd_the_unit_is_written_and_a_person_must_do_the_rest() {
    let pc = Pc::new(false, false);
    let report = pc.systemd().install(&pc.wanted("yard")).expect("it is written");
    assert_eq!(
        pc.shown(&report),
        "Written: PC/units/tickover.service\n\
         error: no systemd runs this PC, so nothing was started\n  --> PC/units/tickover.service\n\
         help: Have `tickover run --yard DIR` started by what does run it."
    );
    assert!(report.needs_a_person());
    pc.systemd().remove().expect("it is removed");
    assert_eq!((pc.unit(), pc.told()), (String::new(), String::new()));
}

#[test]
fn a_unit_of_another_yard_folder_or_of_somebody_else_is_left_alone() {
    let pc = Pc::new(true, true);
    let systemd = pc.systemd();
    systemd.install(&pc.wanted("yard")).expect("it is installed");
    systemd.install(&pc.wanted("yard")).expect("it is installed again");
    let standing = pc.unit();
    fs::create_dir(pc.path("other")).expect("the other folder is made");
    let problem = systemd.install(&pc.wanted("other")).expect_err("there is one of another yard folder");
    assert_eq!(
        problem.to_string().replace(&pc.root.path().display().to_string(), "PC"),
        "error: Tickover is installed already, for the yard folder \"PC/yard\"\n  --> PC/units/tickover.service\n\
         help: Run `tickover autostart remove` first if that one is to be kept no longer."
    );
    assert_eq!(pc.unit(), standing);
    systemd.remove().expect("what that says can be done");
    systemd.install(&pc.wanted("other")).expect("and then the other is installed");

    let theirs = "[Service]\nExecStart=/bin/true\n";
    let path = pc.path("units/tickover.service");
    let is_left = || {
        fs::remove_file(pc.path("told")).expect("what was told is forgotten");
        for outcome in [systemd.install(&pc.wanted("yard")), systemd.remove(), systemd.status()] {
            let problem = outcome.expect_err("it is not ours");
            assert_eq!(
                (problem.what.as_str(), problem.help.as_str()),
                (
                    "a unit of this name is there that Tickover did not write; it was left as it is",
                    "See whose it is. If nobody needs it, disable it with `systemctl` and delete the file yourself."
                )
            );
        }
        assert_eq!(pc.told(), "");
        fs::write(pc.path("told"), "").expect("it is written");
    };
    fs::write(&path, theirs).expect("it is written");
    is_left();
    assert_eq!(pc.unit(), theirs);
    fs::remove_file(&path).expect("it is taken away");
    std::os::unix::fs::symlink(pc.path("nowhere"), &path).expect("it is linked");
    is_left();
    assert_eq!(fs::read_link(&path).expect("the link is there still"), pc.path("nowhere"));
}

#[test]
fn a_person_is_told_where_the_pcs_own_manager_starts_it_already() {
    let pc = Pc::new(false, true);
    let systemd = pc.systemd();
    let report = systemd.remove().expect("there is nothing to do");
    assert_eq!(pc.shown(&report), "Tickover does not start when you log on; there was nothing to remove.");
    fs::create_dir(pc.path("the PC's units")).expect("the folder is made");
    fs::write(pc.path("the PC's units/tickover.service"), "").expect("it is written");
    for outcome in [systemd.install(&pc.wanted("yard")), systemd.remove(), systemd.status()] {
        let problem = outcome.expect_err("it is the PC's");
        assert_eq!(problem.what, "a unit of the whole PC is there, which only root may change");
        assert_eq!(problem.help, "Run it with `sudo`.");
    }
    assert_eq!((pc.unit(), pc.told()), (String::new(), String::new()));
}

#[test]
fn the_pcs_unit_runs_as_the_folders_owner_and_takes_the_password_where_it_lies() {
    let pc = Pc::new(true, false);
    fs::write(pc.path("password"), "secret").expect("the password is written");
    pc.systemd().install(&pc.wanted("yard")).expect("it is written");
    let root = pc.root.path().display();
    let unit = pc.unit();
    assert_eq!(
        lines_of(&unit, &["User", "Group", "LoadCredential", "MemoryMax", "WantedBy", "ReadWritePaths"]),
        [
            // The process that reads a workbook may take 1 GB, the rest of the program as much again.
            "MemoryMax=2147483648",
            "User=sandra",
            &format!("LoadCredential=mail-password:{root}/password"),
            &format!("ReadWritePaths=\"{root}/yard\""),
            "WantedBy=multi-user.target",
        ]
    );
    fs::write(pc.path("accounts"), "").expect("the accounts are gone");
    pc.systemd().install(&pc.wanted("yard")).expect("it is written");
    let owner = fs::metadata(pc.root.path()).expect("the folder is there");
    assert_eq!(
        lines_of(&pc.unit(), &["User", "Group"]),
        [format!("User={}", owner.uid()), format!("Group={}", owner.gid())]
    );
}

#[test]
fn a_persons_unit_asks_for_nothing_that_only_the_pcs_manager_can_give() {
    let pc = Pc::new(false, false);
    pc.systemd().install(&pc.wanted("yard")).expect("it is written");
    let unit = pc.unit();
    let none: [&str; 0] = [];
    assert_eq!(
        lines_of(&unit, &["User", "Protect", "Private", "Capability", "ReadWrite", "Wants", "After"]),
        none
    );
    assert_eq!(lines_of(&unit, &["WantedBy", "NoNew"]), ["NoNewPrivileges=yes", "WantedBy=default.target"]);
}

#[test]
fn what_lies_where_the_pcs_service_sees_an_empty_folder_is_never_installed_in_silence() {
    let pc = Pc::new(true, true);
    fs::create_dir_all(pc.path("tmp/yard")).expect("the folder is made");
    std::os::unix::fs::symlink(pc.path("tmp/yard"), pc.path("leads there")).expect("the link is made");
    let said =
        "what starts with the PC sees nothing that lies in PC/tmp: systemd gives it an empty one of its own";
    let shown = |problem: &Problem| problem.to_string().replace(&pc.root.path().display().to_string(), "PC");
    for yard in ["tmp/yard", "leads there"] {
        let problem = pc.systemd().install(&pc.wanted(yard)).expect_err("it could not start");
        let help = "Move the yard folder, such as to /srv; then install it again.";
        assert_eq!(shown(&problem), format!("error: {said}\n  --> PC/{yard}\nhelp: {help}"));
    }
    let program = Wanted { program: pc.path("tmp/tickover"), ..pc.wanted("yard") };
    let problem = pc.systemd().install(&program).expect_err("it could not start");
    let help = "Put the program elsewhere, such as in /usr/local/bin, then install it again.";
    assert_eq!(shown(&problem), format!("error: {said}\n  --> PC/tmp/tickover\nhelp: {help}"));
    assert_eq!((pc.unit(), pc.told()), (String::new(), String::new()));

    let folders = ["sheets".to_owned(), pc.path("tmp/exports").display().to_string()].to_vec();
    let settings = Settings { folders, ..Settings::default() };
    let report =
        pc.systemd().install(&Wanted { settings, ..pc.wanted("yard") }).expect("the rest can be read");
    assert!(report.needs_a_person());
    let of_exports: Vec<String> =
        report.problems.iter().filter(|problem| problem.severity == Severity::Error).map(shown).collect();
    let help = "Have the exports saved elsewhere, and name that in tickover.toml.";
    assert_eq!(of_exports, [format!("error: {said}\n  --> PC/tmp/exports\nhelp: {help}")]);

    let person = Pc::new(false, true);
    fs::create_dir_all(person.path("tmp/yard")).expect("the folder is made");
    person
        .systemd()
        .install(&person.wanted("tmp/yard"))
        .expect("a person's service sees the PC's own folders");
}

/// An account that signs in with the password of a file, or of wherever there is one.
fn account(file: Option<String>) -> MailAccount {
    MailAccount {
        server: "mail.shop.example".to_owned(),
        port: 465,
        security: Security::Tls,
        sign_in: SignIn::Password { user: "garage".to_owned(), file },
        hello_name: None,
        ca_file: None,
        insist_on_plain: false,
    }
}

/// What is said of the mail password where the settings sign in with one, from this file if any.
fn said_of_password(pc: &Pc, file: Option<&str>, password_here: bool) -> String {
    let mail = Some(account(file.map(str::to_owned)));
    let settings = Settings { mail, ..Settings::default() };
    let wanted = Wanted { settings, password_here, ..pc.wanted("yard") };
    let mut report = pc.systemd().install(&wanted).expect("it is installed");
    report.said.clear();
    report.problems.retain(|problem| problem.place.file == "tickover.toml");
    pc.shown(&report)
}

#[test]
fn a_service_that_will_have_no_mail_password_is_said_with_what_to_do() {
    let error = |why: &str, help: &str| {
        format!("error: what starts with the PC will send no mail: {why}\n  --> tickover.toml\nhelp: {help}")
    };
    let of_terminal =
        "the password comes from TICKOVER_MAIL_PASSWORD of this terminal, which only what you start here has";
    let by_root = "Write it into PC/password, which only root need be able to read, and install again.";
    let by_person =
        "Write it into a file that only you may read, and name that as `password_file` under [mail].";
    let pcs = Pc::new(true, true);
    assert_eq!(said_of_password(&pcs, None, true), error(of_terminal, by_root));
    let nowhere = error("there is no password for the mail account", by_root);
    assert_eq!(said_of_password(&pcs, None, false), nowhere);
    let lost = error("the file `PC/yard/lost/secret` with the password is not there", by_root);
    assert_eq!(said_of_password(&pcs, Some("lost/secret"), true), lost);

    let person = Pc::new(false, true);
    assert_eq!(said_of_password(&person, None, true), error(of_terminal, by_person));
    for pc in [&pcs, &person] {
        fs::write(pc.path("yard/secret"), "s3cret").expect("the password is written");
        assert_eq!(said_of_password(pc, Some("secret"), true), "");
    }
    fs::write(pcs.path("password"), "s3cret").expect("the password is written");
    assert_eq!(said_of_password(&pcs, None, true), "", "the service manager hands it over");
}

#[test]
fn a_mail_password_that_belongs_to_another_account_is_said() {
    let wanted = |mail| Wanted {
        settings: Settings { mail, ..Settings::default() },
        ..Pc::new(true, true).wanted("yard")
    };
    assert_eq!(lacking(&wanted(None), &|_| false, "help"), None, "nothing is mailed");
    let folder = tempfile::tempdir().expect("a folder of its own");
    let file = folder.path().join("secret");
    fs::write(&file, "s3cret").expect("the password is written");
    let mail = Some(account(Some(file.display().to_string())));
    let said = lacking(&wanted(mail), &|_| false, "help").expect("it is said").what;
    let expected = format!(
        "what starts with the PC will send no mail: the account that it runs under may not read `{}`",
        file.display()
    );
    assert_eq!(said, expected);
}

/// systemd's own tool, which must be here: Debian's package `systemd` brings it.
fn systemd_analyze(arguments: &[&str]) -> (bool, String) {
    // Without a folder for what runs, a person's manager has none to look in.
    let answer = Command::new("systemd-analyze").args(arguments).env("XDG_RUNTIME_DIR", "/tmp").output();
    let answer = answer.expect("systemd-analyze is here (Debian: apt-get install systemd)");
    let said = [answer.stdout, answer.stderr].concat();
    (answer.status.success(), String::from_utf8_lossy(&said).into_owned())
}

/// A unit file with a program that is there, in a folder whose name has everything that needs care.
fn awkward_unit(root: &Path, whose: Whose) -> PathBuf {
    let folder = root.join("Bill's \"best\" 100% yard $HOME \\ café");
    let program = root.join("100% $HOME café/tickover");
    fs::create_dir_all(&folder).expect("the folder is made");
    fs::create_dir_all(root.join("100% $HOME café")).expect("the folder is made");
    fs::copy("/bin/true", &program).expect("a program is there");
    let unit = Unit { yard: &folder, program: &program, reader_bytes: 1 << 30, whose };
    let path = root.join("tickover.service");
    fs::write(&path, unit.text().expect("the path is text")).expect("the unit is written");
    path
}

fn the_pcs() -> Whose {
    Whose::Pcs {
        user: "daemon".to_owned(),
        group: None,
        mail_password: Some("/etc/tickover/mail-password".to_owned()),
    }
}

#[test]
fn systemd_itself_finds_nothing_wrong_with_the_units() {
    for (whose, manager) in [(the_pcs(), "--system"), (Whose::Persons, "--user")] {
        let root = tempfile::tempdir().expect("a folder of its own");
        let path = awkward_unit(root.path(), whose);
        let (done, said) = systemd_analyze(&["verify", manager, "--man=no", &path.to_string_lossy()]);
        let ours: Vec<&str> = said.lines().filter(|line| line.contains("tickover")).collect();
        assert!(done && ours.is_empty(), "{manager}: {said}");
    }
}

#[test]
fn the_pcs_unit_is_as_closed_as_its_pages_say() {
    let of_root = Whose::Pcs { user: "root".to_owned(), group: None, mail_password: None };
    // DEVELOPERS.md states the scores; the tool takes them ten times as large.
    for (whose, score) in [(the_pcs(), 13), (of_root, 17)] {
        let root = tempfile::tempdir().expect("a folder of its own");
        let path = awkward_unit(root.path(), whose).to_string_lossy().into_owned();
        let is_within = |threshold: i32| {
            let threshold = format!("--threshold={threshold}");
            systemd_analyze(&["security", "--offline=true", "--no-pager", &threshold, &path])
        };
        let (done, said) = is_within(score);
        assert!(done, "{said}");
        let (done, said) = is_within(score - 1);
        assert!(!done, "the pages say too much: {said}");
    }
}

#[test]
fn a_path_that_systemd_cannot_be_told_is_refused() {
    let cases = [
        (
            "/srv/two\nlines",
            "/usr/bin/tickover",
            "systemd cannot be told of a path with signs that are no text",
        ),
        (
            "/srv/yard",
            "/opt/Bill's/tickover",
            "systemd starts no program whose path has quotes or backslashes in it",
        ),
    ];
    for (yard, program, expected) in cases {
        let (yard, program) = (Path::new(yard), Path::new(program));
        let unit = Unit { yard, program, reader_bytes: 1 << 30, whose: Whose::Persons };
        assert_eq!(unit.text().expect_err("it is refused").what, expected);
    }
}
