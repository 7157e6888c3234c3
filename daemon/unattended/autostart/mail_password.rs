//! Whether what starts with the PC will have the mail account's password: a terminal may have one that it has not.

use std::path::Path;

use super::Wanted;
use crate::post::PASSWORD_VARIABLE;
use crate::problem::{Place, Problem};
use crate::settings::SignIn;

/// What is to be said of a mail password that will not be there; `None` where it will, or none is needed. `may_read` says
/// whether the account that it will run under may read a file that is there; `help` is where to put a password.
pub(super) fn lacking(wanted: &Wanted, may_read: &dyn Fn(&Path) -> bool, help: &str) -> Option<Problem> {
    let mail = wanted.settings.mail.as_ref()?;
    let SignIn::Password { file, .. } = &mail.sign_in else { return None };
    let path = file.as_ref().map(|file| wanted.yard.join(file));
    let why = match path {
        Some(path) if !path.is_file() => {
            format!("the file `{}` with the password is not there", path.display())
        }
        Some(path) if !may_read(&path) => {
            format!("the account that it runs under may not read `{}`", path.display())
        }
        Some(_) => return None,
        None if wanted.password_here => {
            format!(
                "the password comes from {PASSWORD_VARIABLE} of this terminal, which only what you start here has"
            )
        }
        None => "there is no password for the mail account".to_owned(),
    };
    let what = format!("what starts with the PC will send no mail: {why}");
    Some(Problem::error(Place::file("tickover.toml"), what, help))
}
