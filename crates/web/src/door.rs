//! The way in for people who are elsewhere: encrypted here, or by a proxy before it.

use crate::served::Served;
use crate::workbench::Workbench;
use axum_server::Handle;
use axum_server::tls_rustls::RustlsConfig;
use rustls::ServerConfig;
use rustls::crypto::ring;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use std::future::Future;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

/// Why there is no way in.
#[derive(Debug, thiserror::Error)]
pub enum DoorError {
    /// A certificate or its key cannot be used.
    #[error("{}: {why}", file.display())]
    File {
        /// Which file.
        file: PathBuf,
        /// What is wrong with it.
        why: String,
    },
    /// The network refuses.
    #[error("{0}")]
    Network(#[from] std::io::Error),
}

/// A certificate with its key, for TLS 1.2 and 1.3.
#[derive(Debug, Clone)]
pub struct Tls(RustlsConfig);

impl Tls {
    /// Reads a certificate, with those that stand behind it, and its key, each a file in
    /// PEM.
    ///
    /// # Errors
    /// [`DoorError::File`] says which file, and what is wrong with it.
    pub fn read(certificate: &Path, key: &Path) -> Result<Self, DoorError> {
        let wrong = |file: &Path, why: String| DoorError::File {
            file: file.into(),
            why,
        };
        let chain = CertificateDer::pem_file_iter(certificate)
            .and_then(Iterator::collect::<Result<Vec<_>, _>>)
            .map_err(|error| wrong(certificate, format!("it cannot be read: {error}")))?;
        if chain.is_empty() {
            let why = "there is no certificate in it; give one in PEM, which begins with \
                       -----BEGIN CERTIFICATE-----";
            return Err(wrong(certificate, why.into()));
        }
        let secret = PrivateKeyDer::from_pem_file(key).map_err(|error| {
            let why = format!(
                "there is no key in it: {error}; give one in PEM, not locked by a password"
            );
            wrong(key, why)
        })?;
        let config = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()))
            .with_safe_default_protocol_versions()
            .map_err(|error| wrong(certificate, error.to_string()))?
            .with_no_client_auth()
            .with_single_cert(chain, secret)
            .map_err(|error| wrong(key, format!("it does not go with the certificate: {error}")))?;
        let mut config = config;
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        Ok(Tls(RustlsConfig::from_config(Arc::new(config))))
    }
}

/// Pages under way are waited for so long.
const PATIENCE: Duration = Duration::from_secs(5);

/// Answers people who are elsewhere on `listener` until `stop` is done: encrypted with
/// `tls`, or without where a proxy does that.
///
/// # Errors
/// What the network says.
pub async fn serve_people(
    listener: std::net::TcpListener,
    tls: Option<Tls>,
    workbench: Arc<Workbench>,
    served: Served,
    stop: impl Future<Output = ()> + Send + 'static,
) -> Result<(), DoorError> {
    listener.set_nonblocking(true)?;
    let app = crate::router_for(workbench, served);
    let app = app.into_make_service_with_connect_info::<SocketAddr>();
    let handle = Handle::<SocketAddr>::new();
    let stopping = handle.clone();
    tokio::spawn(async move {
        stop.await;
        stopping.graceful_shutdown(Some(PATIENCE));
    });
    match tls {
        Some(Tls(config)) => {
            let server = axum_server::from_tcp_rustls(listener, config)?;
            server.http1_only().handle(handle).serve(app).await?;
        }
        None => {
            let server = axum_server::from_tcp(listener)?;
            server.http1_only().handle(handle).serve(app).await?;
        }
    }
    Ok(())
}
