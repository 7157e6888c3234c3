//! The unit that systemd keeps: what runs, as whom, and the little that it may touch.

use std::fmt::Write as _;
use std::path::Path;

use crate::problem::{Place, Problem};

/// What the keeper, a round and their threads may take besides the process that reads a workbook: generous, since a
/// round that is refused memory writes no letter.
const MEMORY_BESIDES_READER: u64 = 1024 * 1024 * 1024;

/// Whose unit it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Whose {
    /// The PC's: it starts with it, whoever is logged on.
    Pcs {
        /// The account that it runs under, by name or number.
        user: String,
        /// The account's group, where the account has no entry that would tell it.
        group: Option<String>,
        /// The file that holds the mail password, where there is one; only root need be able to read it.
        mail_password: Option<String>,
    },
    /// One person's: it starts when that person logs on, unless told to linger.
    Persons,
}

/// What a unit depends on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Unit<'a> {
    /// The yard folder, absolute.
    pub(super) yard: &'a Path,
    /// This program, absolute.
    pub(super) program: &'a Path,
    /// The most memory of the process that reads a workbook, in bytes.
    pub(super) reader_bytes: u64,
    /// Whose unit it is.
    pub(super) whose: Whose,
}

impl Unit<'_> {
    /// The unit file's text.
    ///
    /// # Errors
    /// A path that no unit file can hold.
    pub(super) fn text(&self) -> Result<String, Problem> {
        let (yard, program) = (plain(self.yard)?, plain(self.program)?);
        if program.contains(['\'', '"', '\\']) {
            return Err(Problem::error(
                Place::file(program),
                "systemd starts no program whose path has quotes or backslashes in it",
                "Put the program elsewhere, such as in /usr/local/bin, then install it again.",
            ));
        }
        let command = format!("{} run --yard {}", quoted(program), quoted(yard).replace('$', "$$"));
        let memory = self.reader_bytes.saturating_add(MEMORY_BESIDES_READER);
        let mut text = format!(
            "# Written by `tickover autostart install`, which replaces it; changes belong in a drop-in beside it.\n\
             [Unit]\nDescription=Tickover: reads the workshop's sheets and writes its morning letter\n{}\
             # It is tried again for as long as it takes, such as while the disk is not there.\n\
             StartLimitIntervalSec=0\n\n\
             [Service]\nType=notify\nNotifyAccess=main\nExecStart={command}\nExecReload=/bin/kill -HUP $MAINPID\n\
             WatchdogSec=120\nRestart=on-failure\nRestartSec=15\nTimeoutStopSec=30\n\
             # The keeper ends its own children; what is left after it is killed.\nKillMode=mixed\n\
             # A workbook may take this much to read; one that wants more ends its own process alone.\n\
             MemoryMax={memory}\nOOMPolicy=continue\nTasksMax=64\nUMask=0077\n",
            match self.whose {
                Whose::Pcs { .. } =>
                    "Wants=network-online.target\nAfter=network-online.target time-sync.target\n",
                Whose::Persons => "",
            }
        );
        if let Whose::Pcs { user, group, mail_password } = &self.whose {
            let _ = writeln!(text, "User={user}");
            if let Some(group) = group {
                let _ = writeln!(text, "Group={group}");
            }
            if let Some(file) = mail_password {
                let _ = writeln!(text, "LoadCredential=mail-password:{file}");
            }
            let _ =
                writeln!(text, "# It writes below the yard folder, but never where exports and answers lie.");
            let _ = writeln!(text, "ReadWritePaths={}", quoted(yard));
            let read_only =
                ["sheets", "answers"].map(|name| format!("-{}/{name}", yard.trim_end_matches('/')));
            let _ = writeln!(text, "ReadOnlyPaths={}", read_only.map(|path| quoted(&path)).join(" "));
            text += SANDBOX_OF_THE_PC;
        }
        text += SANDBOX;
        let wanted_by = match self.whose {
            Whose::Pcs { .. } => "multi-user.target",
            Whose::Persons => "default.target",
        };
        let _ = write!(text, "\n[Install]\nWantedBy={wanted_by}\n\n{}", mark_of(yard));
        Ok(text)
    }

    /// The lines by which a unit tells which yard folder it keeps.
    pub(super) fn mark(&self) -> Result<String, Problem> {
        plain(self.yard).map(mark_of)
    }
}

/// Everything else is out of reach: what needs a namespace or a right that only the PC's own manager can give.
const SANDBOX_OF_THE_PC: &str = "\
ProtectSystem=strict
# Exports may lie in a home folder, so that they can be read there.
ProtectHome=read-only
PrivateTmp=yes
PrivateDevices=yes
PrivateIPC=yes
PrivateMounts=yes
ProtectKernelTunables=yes
ProtectKernelModules=yes
ProtectKernelLogs=yes
ProtectControlGroups=yes
ProtectClock=yes
ProtectHostname=yes
ProtectProc=invisible
ProcSubset=pid
CapabilityBoundingSet=
AmbientCapabilities=
RemoveIPC=yes
";

/// What any manager can hold a process to.
const SANDBOX: &str = "\
NoNewPrivileges=yes
LockPersonality=yes
MemoryDenyWriteExecute=yes
RestrictNamespaces=yes
RestrictRealtime=yes
RestrictSUIDSGID=yes
RestrictAddressFamilies=AF_INET AF_INET6 AF_UNIX
SystemCallArchitectures=native
SystemCallFilter=@system-service
SystemCallFilter=~@privileged @resources
# The process that reads a workbook sets its own limits.
SystemCallFilter=prlimit64
SystemCallErrorNumber=EPERM
";

/// A section that systemd leaves alone.
fn mark_of(yard: &str) -> String {
    format!("[X-Tickover]\nYard={}\n", quoted(yard))
}

/// A path as text that a line of a unit file can hold.
fn plain(path: &Path) -> Result<&str, Problem> {
    path.to_str().filter(|text| !text.contains(char::is_control)).ok_or_else(|| {
        Problem::error(
            Place::file(path.to_string_lossy()),
            "systemd cannot be told of a path with signs that are no text",
            "Rename the folder, then install it again.",
        )
    })
}

/// A path as one word of a unit file: blanks, quotes and backslashes kept, `%` not taken for a specifier
/// (systemd.unit(5), 'Specifiers'; systemd.syntax(7), 'Quoting').
fn quoted(path: &str) -> String {
    format!("\"{}\"", path.replace('\\', "\\\\").replace('"', "\\\"").replace('%', "%%"))
}
