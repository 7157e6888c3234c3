//! Where a password comes from, what keeps one from being used, and that nothing shows it.

use std::ffi::OsString;
use std::fs;
use std::io;
use std::path::Path;

use super::fault::FaultKind;
use super::secret::{Secret, SecretSource, password, unreadable};

/// An environment with these variables alone.
fn environment(set: &[(&'static str, OsString)]) -> impl Fn(&str) -> Option<OsString> + use<> {
    let set = set.to_vec();
    move |name| set.iter().find(|(known, _)| *known == name).map(|(_, value)| value.clone())
}

/// A file that nobody else may read.
fn kept(path: &Path, content: &[u8]) {
    fs::write(path, content).unwrap();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        fs::set_permissions(path, fs::Permissions::from_mode(0o600)).unwrap();
    }
}

#[test]
fn one_line_end_does_not_belong_to_a_password_and_every_blank_does() {
    let long = vec![b'x'; 8_001];
    let cases: [(&[u8], Result<&str, &str>); 12] = [
        (b"s3cret", Ok("s3cret")),
        (b"s3cret\n", Ok("s3cret")),
        (b"s3cret\r\n", Ok("s3cret")),
        (b" two words \n", Ok(" two words ")),
        ("\u{feff}gehe\u{ed}m\r\n".as_bytes(), Ok("gehe\u{ed}m")),
        (b"", Err("it is empty")),
        (b"\n", Err("it is empty")),
        (b"  \r\n", Err("it is empty")),
        (b"s3cret\n\n", Err("it is more than one line, or no plain text")),
        (b"s\x003\x00", Err("it is more than one line, or no plain text")),
        (b"\xff\xfes\x003\x00", Err("it is not saved as UTF-8")),
        (&long, Err("it is too long")),
    ];
    for (bytes, expected) in cases {
        let found = Secret::in_text(bytes);
        assert_eq!(found.as_ref().map(Secret::revealed).map_err(|why| *why), expected);
    }
}

#[test]
fn the_environment_comes_before_the_credential_and_the_credential_before_the_file() {
    let folder = tempfile::tempdir().unwrap();
    let credentials = folder.path().join("credentials");
    fs::create_dir(&credentials).unwrap();
    kept(&credentials.join("mail-password"), b"of the service manager\n");
    let file = folder.path().join("password");
    kept(&file, b"of the file\n");
    let variable = ("TICKOVER_MAIL_PASSWORD", OsString::from("of the environment"));
    let there = ("CREDENTIALS_DIRECTORY", credentials.into_os_string());
    let elsewhere = ("CREDENTIALS_DIRECTORY", folder.path().join("nothing").into_os_string());
    let of_file = SecretSource::File(file.clone());
    for (set, expected, from) in [
        (vec![variable, there.clone()], "of the environment", SecretSource::Environment),
        (vec![there], "of the service manager", SecretSource::Credential),
        (vec![elsewhere], "of the file", of_file.clone()),
        (vec![], "of the file", of_file),
    ] {
        let found = password(&environment(&set), Some(&file)).unwrap();
        assert_eq!((found.secret.revealed(), found.from, found.note), (expected, from, None));
    }
}

#[test]
fn without_a_password_anywhere_the_three_places_are_told() {
    let nothing = environment(&[]);
    let fault = password(&nothing, None).unwrap_err();
    assert_eq!(fault.kind, FaultKind::NoPassword);
    assert_eq!(
        fault.to_string(),
        "there is no password for the mail account. Give it in one of three ways: the environment variable \
         TICKOVER_MAIL_PASSWORD, the service manager's credential mail-password, or a file that only Tickover may read, \
         named as `password_file` under [mail]."
    );
    let fault = password(&nothing, Some(Path::new("no/such/file"))).unwrap_err();
    assert_eq!(fault.kind, FaultKind::NoPassword);
    assert_eq!(
        fault.to_string(),
        "there is no password for the mail account: `no/such/file` is not there, since its folder `no/such` is not. \
         Reconnect the disk or share that it lies on, or name a file on this PC's own disk as `password_file` under [mail]."
    );
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("file");
    let fault = password(&nothing, Some(&file)).unwrap_err();
    assert_eq!(fault.kind, FaultKind::NoPassword);
    let expected = format!("there is no password for the mail account: `{}` is not there", file.display());
    assert_eq!(fault.what, expected);
}

#[test]
fn an_environment_variable_with_nothing_in_it_counts_as_none_and_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let good = folder.path().join("good");
    kept(&good, b"s3cret");
    let note = "TICKOVER_MAIL_PASSWORD is set with nothing in it, which counts as none";
    for value in ["", "  ", "\n"] {
        let set = environment(&[("TICKOVER_MAIL_PASSWORD", OsString::from(value))]);
        let found = password(&set, Some(&good)).unwrap();
        assert_eq!((found.secret.revealed(), found.note.as_deref()), ("s3cret", Some(note)), "{value:?}");
        let fault = password(&set, None).unwrap_err();
        assert_eq!(fault.kind, FaultKind::NoPassword);
        assert_eq!(fault.what, format!("there is no password for the mail account: {note}"));
    }
}

#[test]
fn a_password_that_is_there_and_cannot_be_used_is_a_fault_and_no_other_place_is_looked_at() {
    let folder = tempfile::tempdir().unwrap();
    let good = folder.path().join("good");
    kept(&good, b"s3cret");
    let two = ("TICKOVER_MAIL_PASSWORD", OsString::from("hunter2\nhunter3"));
    let fault = password(&environment(&[two]), Some(&good)).unwrap_err();
    assert_eq!(fault.kind, FaultKind::Password);
    assert_eq!(
        fault.to_string(),
        "the password for the mail account cannot be used: TICKOVER_MAIL_PASSWORD is set, but it is more than one line, or \
         no plain text. Set it anew, to the password alone on one line; or unset it, and give the password in a file."
    );
    let two_lines = folder.path().join("two");
    kept(&two_lines, b"hunter2\nhunter3\n");
    let empty = folder.path().join("empty");
    kept(&empty, b"\n");
    for (path, why) in [
        (two_lines.as_path(), ": it is more than one line, or no plain text"),
        (&empty, ": it is empty"),
        // Whoever may look into it.
        (folder.path(), " is a folder"),
    ] {
        let fault = password(&environment(&[]), Some(path)).unwrap_err();
        let expected = format!("the password for the mail account cannot be used: `{}`{why}", path.display());
        assert_eq!(fault.what, expected);
        assert!(!format!("{fault}{fault:?}").contains("hunter"), "{fault:?}");
    }
}

#[cfg(unix)]
#[test]
fn a_file_that_others_may_read_is_refused_with_what_to_run() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("password");
    fs::write(&path, b"s3cret").unwrap();
    for (mode, is_taken) in
        [(0o600, true), (0o400, true), (0o640, false), (0o604, false), (0o644, false), (0o620, false)]
    {
        fs::set_permissions(&path, fs::Permissions::from_mode(mode)).unwrap();
        let found = password(&environment(&[]), Some(&path));
        assert_eq!(found.is_ok(), is_taken, "{mode:o}");
        if let Err(fault) = found {
            let path = path.display();
            assert_eq!(
                fault.what,
                format!(
                    "the password for the mail account cannot be used: others may read `{path}`; run: chmod 600 '{path}'"
                )
            );
        }
    }
}

#[test]
fn a_file_that_cannot_be_had_is_said_with_what_to_do() {
    // Made here, since nothing is refused to root, as whom these tests mostly run.
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("password");
    for (cause, why, help) in [
        (
            io::Error::from(io::ErrorKind::PermissionDenied),
            "the account that runs this may not read `PATH`",
            "Give the file to the account that runs Tickover, and let nobody else read it.",
        ),
        (
            io::Error::other("the share is gone"),
            "`PATH` cannot be read (the share is gone)",
            "See that the disk or share that it lies on is there and sound.",
        ),
    ] {
        let fault = unreadable(&path, &cause);
        let expected = format!("the password for the mail account cannot be used: {why}");
        assert_eq!(fault.what, expected.replace("PATH", &path.display().to_string()));
        assert_eq!(fault.help, help);
    }
}

#[test]
fn a_secret_is_shown_to_nobody() {
    let secret = Secret::in_text(b"s3cret").unwrap();
    assert_eq!(
        format!("{secret} {secret:?} {:#?}", Some(&secret)),
        "(hidden) Secret(hidden) Some(\n    Secret(hidden),\n)"
    );
}
