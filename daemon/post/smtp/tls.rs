//! The secured connection: whose certificates count, and what a failure means.

use std::io;
use std::sync::Arc;

use tokio_rustls::TlsConnector;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::PemObject as _;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName};
use tokio_rustls::rustls::{CertificateError, ClientConfig, Error, RootCertStore};

use super::wire::{Stream, shown};
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
            trusted.add(certificate).map_err(|cause| fault(&shown(&cause.to_string())))?;
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

/// What it means that a connection could not be secured.
pub(super) fn fault(cause: &io::Error) -> SetupFault {
    let words = shown(&cause.to_string());
    let reason = cause.get_ref().and_then(|inner| inner.downcast_ref::<Error>());
    let kind = match reason {
        Some(Error::InvalidCertificate(certificate)) => match certificate {
            CertificateError::NotValidForName | CertificateError::NotValidForNameContext { .. } => {
                FaultKind::WrongName
            }
            CertificateError::Expired
            | CertificateError::ExpiredContext { .. }
            | CertificateError::NotValidYet
            | CertificateError::NotValidYetContext { .. } => FaultKind::Expired,
            _ => FaultKind::UnknownSigner,
        },
        Some(Error::InvalidMessage(_)) => FaultKind::PlainPort,
        _ => FaultKind::NotSecured,
    };
    SetupFault::new(kind, &words)
}
