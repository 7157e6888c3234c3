//! What the process that reads a workbook may take: memory, time, and no longer a life than its parent's.

use std::process::{Child, Command, ExitStatus};

use crate::settings::Limits;

/// How the reading process's C library deals with memory: what has been let go of is kept for what is asked for next. By
/// itself it hands large pieces back and is given others, page by page, which took a sixth of all the work for an .xls.
/// Other C libraries pass over it.
#[cfg(target_os = "linux")]
const KEEPS_MEMORY: (&str, &str) = (
    "GLIBC_TUNABLES",
    // The largest reading process that the settings allow by default.
    "glibc.malloc.mmap_threshold=1073741824:glibc.malloc.trim_threshold=1073741824",
);

/// Gives a process to be started nothing of what the environment may hold: it handles strangers' files.
pub(super) fn strip(command: &mut Command) {
    command.env_clear();
    #[cfg(target_os = "linux")]
    command.env(KEEPS_MEMORY.0, KEEPS_MEMORY.1);
    // Windows finds parts of itself by this one.
    #[cfg(windows)]
    if let Some(windows) = std::env::var_os("SystemRoot") {
        command.env("SystemRoot", windows);
    }
}

/// Has a pipe to or from the process hold more than the few pages that it begins with, so that the two wait for each other
/// less often. A system that refuses leaves it as it was.
#[cfg(target_os = "linux")]
pub(super) fn widen(pipe: impl std::os::fd::AsFd) {
    /// As much as Linux gives to everybody (pipe(7)).
    const BYTES: usize = 1024 * 1024;
    let _ = rustix::pipe::fcntl_setpipe_size(pipe, BYTES);
}

/// Other systems have no such wish.
#[cfg(not(target_os = "linux"))]
pub(super) fn widen<Pipe>(_: Pipe) {}

/// Sets this process's own limits. A system that refuses one still has the parent's watch over the time.
#[cfg(unix)]
pub(super) fn confine(limits: &Limits) {
    use rustix::process::{Resource, Rlimit, getrlimit, setrlimit};
    let lower = |resource: Resource, wanted: u64| {
        let most = getrlimit(resource).maximum.map_or(wanted, |maximum| maximum.min(wanted));
        let _ = setrlimit(resource, Rlimit { current: Some(most), maximum: Some(most) });
    };
    lower(Resource::Core, 0);
    lower(Resource::As, limits.reader_bytes);
    // For a child whose parent has died; one second more, so that the signal tells the two limits apart.
    let hard = limits.reader_seconds.saturating_add(1);
    let _ = setrlimit(Resource::Cpu, Rlimit { current: Some(limits.reader_seconds), maximum: Some(hard) });
}

/// Sets this process's own limit of memory; its time is the parent's affair.
#[cfg(windows)]
pub(super) fn confine(limits: &Limits) {
    let bytes = usize::try_from(limits.reader_bytes).unwrap_or(usize::MAX);
    // A limit below what is in use already would be refused; so nothing more is given out.
    let _ = memory::MEMORY.set_limit(bytes.max(memory::MEMORY.allocated()));
}

/// Other systems have the parent's watch over the time alone.
#[cfg(not(any(unix, windows)))]
pub(super) fn confine(_: &Limits) {}

/// Whether a process was ended by its limit of time.
#[cfg(unix)]
pub(super) fn out_of_time(status: Option<ExitStatus>) -> bool {
    use std::os::unix::process::ExitStatusExt;
    let limit_reached = rustix::process::Signal::XCPU.as_raw();
    status.and_then(|status| status.signal()) == Some(limit_reached)
}

/// Elsewhere it is the parent that ends it.
#[cfg(not(unix))]
pub(super) fn out_of_time(_: Option<ExitStatus>) -> bool {
    false
}

/// What ends a process when its parent ends, however that comes about.
pub(super) struct Leash {
    #[cfg(windows)]
    _job: Option<win32job::Job>,
}

impl Leash {
    /// Puts a process on the leash; it is ended when this is dropped.
    #[cfg(windows)]
    pub(super) fn of(child: &Child) -> Self {
        use std::os::windows::io::AsRawHandle;
        let mut limits = win32job::ExtendedLimitInfo::new();
        limits.limit_kill_on_job_close();
        // Without it, a process whose parent was killed ends as soon as it wants to tell what it read.
        let job = win32job::Job::create_with_limit_info(&limits).ok();
        let job = job.filter(|job| job.assign_process(child.as_raw_handle() as isize).is_ok());
        Self { _job: job }
    }

    /// Elsewhere the process's own limit of time does as much.
    #[cfg(not(windows))]
    pub(super) fn of(_: &Child) -> Self {
        Self {}
    }
}

/// The memory that this program gives out, counted: Windows has no limit that a process could set itself.
#[cfg(windows)]
mod memory {
    use std::alloc::System;

    #[global_allocator]
    pub(super) static MEMORY: cap::Cap<System> = cap::Cap::new(System, usize::MAX);
}
