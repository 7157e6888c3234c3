//! The mail account as it is used: its settings, with the secret and the certificates that they only name.

use std::fs;
use std::path::Path;
use std::sync::atomic::AtomicBool;

use tokio_rustls::TlsConnector;

use super::fault::{FaultKind, SetupFault};
use super::secret::{Found, Secret, SecretSource, password};
use super::smtp::tls;
use super::token::{PROGRAM_MOST, token};
use crate::settings::{MailAccount, Security, SignIn};

/// The largest file of certificate authorities, in bytes; a whole system's takes 250,000.
const AUTHORITY_BYTES_MOST: u64 = 1_000_000;

/// A mail account that is ready to be used.
pub struct Account {
    pub(super) settings: MailAccount,
    pub(super) secret: Option<Secret>,
    /// Where the secret came from; `None` where there is none, or it was handed over.
    pub from: Option<SecretSource>,
    /// What a person who tries the account should know of where its secret was looked for.
    pub note: Option<String>,
    /// `None` where the settings want no security.
    pub(super) tls: Option<TlsConnector>,
}

impl Account {
    /// Fetches what the settings only name: the password or token, and the certificate authority. Paths are below the
    /// yard folder where they do not begin at the root.
    ///
    /// # Errors
    /// What is missing or cannot be used, and what to do; nothing has been sent.
    pub fn open(settings: &MailAccount, yard: &Path, stop: &AtomicBool) -> Result<Account, SetupFault> {
        let found = match &settings.sign_in {
            SignIn::None => None,
            SignIn::Password { file, .. } => {
                let file = file.as_ref().map(|file| yard.join(file));
                Some(password(&|name| std::env::var_os(name), file.as_deref())?)
            }
            SignIn::Token { command, .. } => {
                let secret = token(command, yard, PROGRAM_MOST, stop)?;
                Some(Found { secret, from: SecretSource::Program, note: None })
            }
        };
        let authority = settings.ca_file.as_ref().map(|file| authority(&yard.join(file))).transpose()?;
        let (secret, from, note) = match found {
            None => (None, None, None),
            Some(Found { secret, from, note }) => (Some(secret), Some(from), note),
        };
        let account = Account::new(settings.clone(), secret, authority.as_deref())?;
        Ok(Account { from, note, ..account })
    }

    /// The account with its secret in hand, and the certificates, in PEM, that are trusted besides those of this PC.
    ///
    /// # Errors
    /// Certificates that are none.
    pub fn new(
        settings: MailAccount,
        secret: Option<Secret>,
        authority: Option<&[u8]>,
    ) -> Result<Account, SetupFault> {
        let tls = match settings.security {
            Security::Tls | Security::StartTls => Some(tls::connector(authority)?),
            Security::Plain => None,
        };
        Ok(Account { settings, secret, from: None, note: None, tls })
    }
}

/// The file of the certificate authority.
fn authority(path: &Path) -> Result<Vec<u8>, SetupFault> {
    let fault =
        |why: &str| SetupFault::new(FaultKind::AuthorityFile, &format!("`{}`: {why}", path.display()));
    match fs::metadata(path) {
        Ok(found) if !found.is_file() => return Err(fault("it is no file")),
        Ok(found) if found.len() > AUTHORITY_BYTES_MOST => return Err(fault("it is too large")),
        _ => {}
    }
    fs::read(path).map_err(|cause| fault(&cause.to_string()))
}
