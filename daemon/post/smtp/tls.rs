//! The secured connection: whose certificates count, and what a failure means.

use std::io;
use std::sync::Arc;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use tokio_rustls::TlsConnector;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::PemObject as _;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use tokio_rustls::rustls::{CertificateError, ClientConfig, Error, RootCertStore};

use super::wire::{Break, Stream, shown};
use crate::post::fault::{FaultKind, SetupFault};

/// Secures connections: TLS 1.2 or newer (RFC 8997), with certificates that this PC trusts, or those given in PEM.
pub(in crate::post) fn connector(authority: Option<&[u8]>) -> Result<TlsConnector, SetupFault> {
    let mut trusted = RootCertStore::empty();
    // A certificate of the system that cannot be read is one that signs nothing for us.
    trusted.add_parsable_certificates(rustls_native_certs::load_native_certs().certs);
    if let Some(pem) = authority {
        let fault = |why: &str| SetupFault::new(FaultKind::AuthorityFile, why);
        let certificates: Vec<_> = CertificateDer::pem_slice_iter(pem)
            .collect::<Result<_, _>>()
            .map_err(|_| fault("it is damaged or not in PEM"))?;
        if certificates.is_empty() {
            return Err(fault("there is no certificate in it"));
        }
        for certificate in certificates {
            trusted
                .add(certificate)
                .map_err(|_| fault("a certificate in it is damaged or not of this kind"))?;
        }
    }
    let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .expect("ring brings the ciphers of TLS 1.2 and 1.3")
        .with_root_certificates(trusted)
        .with_no_client_auth();
    Ok(TlsConnector::from(Arc::new(config)))
}

/// The same connection, secured.
pub(super) async fn secure(
    connector: &TlsConnector,
    server: &str,
    stream: Box<dyn Stream>,
) -> io::Result<Box<dyn Stream>> {
    let name = ServerName::try_from(server.to_owned()).map_err(io::Error::other)?;
    Ok(Box::new(connector.connect(name, stream).await?))
}

/// What it means that a connection could not be secured, in words that are not the TLS library's.
pub(super) fn fault(cause: &io::Error) -> SetupFault {
    let reason = cause.get_ref().and_then(|inner| inner.downcast_ref::<Error>());
    let (kind, words) = match reason {
        Some(Error::InvalidCertificate(certificate)) => of_certificate(certificate),
        Some(Error::InvalidMessage(_)) => (FaultKind::PlainPort, String::new()),
        Some(Error::AlertReceived(alert)) => {
            // The names of RFC 8446, 6.2, as a provider's people know them.
            (FaultKind::NotSecured, format!("the server broke it off (TLS alert {alert:?})"))
        }
        Some(Error::PeerIncompatible(_)) => {
            let words = "the server knows no way that counts as safe (TLS 1.2 or newer)";
            (FaultKind::NotSecured, words.to_owned())
        }
        Some(_) => (FaultKind::NotSecured, "the two of us could not agree how".to_owned()),
        None if cause.get_ref().is_none() || cause.kind() != io::ErrorKind::Other => {
            (FaultKind::NotSecured, Break::from(io::Error::from(cause.kind())).words())
        }
        None => (FaultKind::NotSecured, shown(&cause.to_string())),
    };
    SetupFault::new(kind, &words)
}

/// What is wrong with a certificate.
fn of_certificate(fault: &CertificateError) -> (FaultKind, String) {
    match fault {
        CertificateError::NotValidForName => (FaultKind::WrongName, String::new()),
        CertificateError::NotValidForNameContext { presented, .. } => {
            (FaultKind::WrongName, names(presented))
        }
        CertificateError::Expired => (FaultKind::Expired, "it has run out".to_owned()),
        CertificateError::ExpiredContext { time, not_after } => {
            let words = format!("it ran out on {}, and by this PC it is {}", day(*not_after), day(*time));
            (FaultKind::Expired, words)
        }
        CertificateError::NotValidYet => (FaultKind::Expired, "it is not valid yet".to_owned()),
        CertificateError::NotValidYetContext { time, not_before } => {
            let words = format!("it is valid from {}, and by this PC it is {}", day(*not_before), day(*time));
            (FaultKind::Expired, words)
        }
        CertificateError::Revoked => (FaultKind::UnknownSigner, "its signer has called it back".to_owned()),
        CertificateError::BadSignature => (FaultKind::UnknownSigner, "its signature is wrong".to_owned()),
        CertificateError::BadEncoding => (FaultKind::UnknownSigner, "it is damaged".to_owned()),
        // The library has no error of its own for one that may sign others and is shown as the server's.
        other if format!("{other:?}").contains("CaUsedAsEndEntity") => {
            (FaultKind::UnknownSigner, "it is an authority's own, and not one for a server".to_owned())
        }
        _ => (FaultKind::UnknownSigner, String::new()),
    }
}

/// The names that a certificate is for, as many as a person reads.
fn names(presented: &[String]) -> String {
    /// The most names that are shown.
    const NAMES_MOST: usize = 3;
    // Each stands as `DnsName("mail.shop.example")` there.
    let bare = |name: &String| {
        let inner = name.split_once('(').map_or(name.as_str(), |(_, inner)| inner.trim_end_matches(')'));
        format!("`{}`", shown(inner.trim_matches('"')))
    };
    let named: Vec<String> = presented.iter().take(NAMES_MOST).map(bare).collect();
    let more = if presented.len() > NAMES_MOST { " and others" } else { "" };
    if named.is_empty() { String::new() } else { format!("it is for {}{more}", named.join(", ")) }
}

/// A moment's day, in words.
fn day(moment: UnixTime) -> String {
    let moment =
        i64::try_from(moment.as_secs()).ok().and_then(|seconds| Timestamp::from_second(seconds).ok());
    moment.map_or_else(
        || "a day out of reach".to_owned(),
        |moment| moment.to_zoned_datetime(TimeZone::UTC).strftime("%-d %B %Y").to_string(),
    )
}
