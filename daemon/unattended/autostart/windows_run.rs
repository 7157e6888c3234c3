//! The long run as a service of Windows: what the service manager asks becomes a word to the run.

use std::ffi::OsString;
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::OnceLock;
use std::time::Duration;

use windows_service::service::{
    PowerEventParam, ServiceControl, ServiceControlAccept, ServiceExitCode, ServiceState, ServiceStatus,
    ServiceType,
};
use windows_service::service_control_handler::{self, ServiceControlHandlerResult, ServiceStatusHandle};
use windows_service::{define_windows_service, service_dispatcher};

use super::windows::SERVICE;
use crate::round::YardFolder;
use crate::unattended::{Handle, LongRun};

/// The hidden subcommand under which the service manager starts this program; `--yard` and the folder follow.
pub const SUBCOMMAND: &str = "run-as-service";

/// How long Windows may wait for the run to end before it takes it for dead.
const STOP_TAKES: Duration = Duration::from_secs(10);

/// What a run that could not begin tells the service manager.
const COULD_NOT_RUN: u32 = 2;

/// What the service's own entry cannot be given.
static ORDER: OnceLock<Order> = OnceLock::new();

/// What is to run, and how.
struct Order {
    yard: YardFolder,
    program: PathBuf,
}

define_windows_service!(entered_by_windows, run);

/// Runs for the service manager until it says stop. `arguments` follow the subcommand, `program` is this program, and
/// `make_ready` opens the yard folder's log, without which nobody would ever see why a service could not run.
pub fn serve(
    arguments: impl IntoIterator<Item = OsString>,
    program: PathBuf,
    make_ready: fn(&YardFolder),
) -> ExitCode {
    let could_not_run = ExitCode::from(2);
    let mut arguments = arguments.into_iter();
    let (Some(option), Some(yard), None) = (arguments.next(), arguments.next(), arguments.next()) else {
        return could_not_run;
    };
    let yard = YardFolder::at(yard);
    if option != "--yard" || ORDER.set(Order { yard: yard.clone(), program }).is_err() {
        return could_not_run;
    }
    make_ready(&yard);
    match service_dispatcher::start(SERVICE, entered_by_windows) {
        Ok(()) => ExitCode::SUCCESS,
        Err(cause) => {
            tracing::error!("the service manager did not take the run: {cause}");
            could_not_run
        }
    }
}

/// What the service manager enters, on a thread of its own.
fn run(_: Vec<OsString>) {
    let Some(Order { yard, program }) = ORDER.get() else { return };
    let long_run = LongRun::of(yard.clone(), program.clone());
    let handle = long_run.as_ref().map(LongRun::handle).ok();
    let manager =
        match service_control_handler::register(SERVICE, move |control| obey(control, handle.as_ref())) {
            Ok(manager) => manager,
            Err(cause) => {
                // Without a word to the manager the run would look like one that hangs; ended, it is started again.
                tracing::error!("the service manager's words could not be listened to: {cause}");
                return;
            }
        };
    let code = match long_run {
        Ok(long_run) => {
            tell(&manager, ServiceState::Running, ServiceExitCode::NO_ERROR);
            long_run.go();
            ServiceExitCode::NO_ERROR
        }
        Err(problem) => {
            tracing::error!("the long run could not begin: {}", problem.what);
            ServiceExitCode::ServiceSpecific(COULD_NOT_RUN)
        }
    };
    tell(&manager, ServiceState::Stopped, code);
}

/// What becomes of the manager's word.
fn obey(control: ServiceControl, run: Option<&Handle>) -> ServiceControlHandlerResult {
    match control {
        ServiceControl::Stop | ServiceControl::Preshutdown => {
            run.inspect(|run| run.stop());
        }
        ServiceControl::TimeChange
        | ServiceControl::PowerEvent(PowerEventParam::ResumeAutomatic | PowerEventParam::ResumeSuspend) => {
            run.inspect(|run| run.look_again());
        }
        ServiceControl::Interrogate | ServiceControl::PowerEvent(_) => {}
        _ => return ServiceControlHandlerResult::NotImplemented,
    }
    ServiceControlHandlerResult::NoError
}

fn tell(manager: &ServiceStatusHandle, state: ServiceState, exit_code: ServiceExitCode) {
    let accepts = match state {
        // Before the shutdown there is more time than in it.
        ServiceState::Running => {
            ServiceControlAccept::STOP
                | ServiceControlAccept::PRESHUTDOWN
                | ServiceControlAccept::POWER_EVENT
                | ServiceControlAccept::TIME_CHANGE
        }
        _ => ServiceControlAccept::empty(),
    };
    let told = manager.set_service_status(ServiceStatus {
        service_type: ServiceType::OWN_PROCESS,
        current_state: state,
        controls_accepted: accepts,
        exit_code,
        checkpoint: 0,
        wait_hint: STOP_TAKES,
        process_id: None,
    });
    if let Err(cause) = told {
        tracing::error!("the service manager could not be told: {cause}");
    }
}
