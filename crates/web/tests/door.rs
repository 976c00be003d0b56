//! The way in from elsewhere: encrypted, and nothing without.
#![allow(clippy::unwrap_used)]

mod common;
mod town;

use rcgen::{CertifiedKey, generate_simple_self_signed};
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, ServerName};
use rustls::{ClientConfig, ClientConnection, RootCertStore, StreamOwned};
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use town::{NAME, PASSWORD, Town};
use web::{Served, Tls};

/// A certificate that stands for itself, and its key, as files.
fn certificate(folder: &Path) -> (PathBuf, PathBuf) {
    let CertifiedKey { cert, signing_key } =
        generate_simple_self_signed([NAME.to_string()]).unwrap();
    let (own, key) = (folder.join("cert.pem"), folder.join("key.pem"));
    std::fs::write(&own, cert.pem()).unwrap();
    std::fs::write(&key, signing_key.serialize_pem()).unwrap();
    (own, key)
}

/// A workbench behind its door; it stops when `stop` is dropped.
struct Open {
    address: SocketAddr,
    root: PathBuf,
    _stop: tokio::sync::oneshot::Sender<()>,
    _town: Town,
    _folder: tempfile::TempDir,
}

async fn open() -> Open {
    let folder = tempfile::tempdir().unwrap();
    let (root, key) = certificate(folder.path());
    let tls = Tls::read(&root, &key).unwrap();
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = listener.local_addr().unwrap();
    let town = Town::open().await;
    let served = Served {
        names: vec![NAME.into()],
        behind_proxy: false,
        patience: Duration::from_secs(60),
    };
    let (stop, stopped) = tokio::sync::oneshot::channel::<()>();
    let until = async move {
        let _ = stopped.await;
    };
    let workbench = town.workbench.clone();
    tokio::spawn(web::serve_people(
        listener,
        Some(tls),
        workbench,
        served,
        until,
    ));
    Open {
        address,
        root,
        _stop: stop,
        _town: town,
        _folder: folder,
    }
}

impl Open {
    /// What is answered to `request` over TLS, and by which version of it.
    async fn ask(&self, request: String) -> (String, String) {
        let (address, root) = (self.address, self.root.clone());
        let asked = tokio::task::spawn_blocking(move || {
            let mut roots = RootCertStore::empty();
            roots
                .add(CertificateDer::from_pem_file(&root).unwrap())
                .unwrap();
            let provider = Arc::new(rustls::crypto::ring::default_provider());
            let config = ClientConfig::builder_with_provider(provider)
                .with_safe_default_protocol_versions()
                .unwrap()
                .with_root_certificates(roots)
                .with_no_client_auth();
            let name = ServerName::try_from(NAME).unwrap();
            let client = ClientConnection::new(Arc::new(config), name).unwrap();
            let mut stream = StreamOwned::new(client, TcpStream::connect(address).unwrap());
            stream.write_all(request.as_bytes()).unwrap();
            let mut answer = Vec::new();
            // Who closes without a last word has said all all the same.
            let _ = stream.read_to_end(&mut answer);
            let version = format!("{:?}", stream.conn.protocol_version().unwrap());
            (String::from_utf8_lossy(&answer).into_owned(), version)
        });
        asked.await.unwrap()
    }
}

fn get(page: &str) -> String {
    format!("GET {page} HTTP/1.1\r\nHost: {NAME}\r\nConnection: close\r\n\r\n")
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn somebody_signs_in_over_tls_and_the_address_is_noted() {
    let open = open().await;
    let (page, version) = open.ask(get("/sign-in")).await;
    assert_eq!(version, "TLSv1_3");
    assert!(page.starts_with("HTTP/1.1 200"), "{page}");
    let head = page.to_lowercase();
    for told in [
        "strict-transport-security: max-age=31536000; includesubdomains",
        "cache-control: no-store",
        "content-security-policy: default-src 'self'",
    ] {
        assert!(head.contains(told), "{told}: {page}");
    }
    let body = format!("name=Reader&password={}", PASSWORD.replace(' ', "+"));
    let length = body.len();
    let (answer, _) = open.ask(format!(
        "POST /sign-in HTTP/1.1\r\nHost: {NAME}\r\nOrigin: https://{NAME}\r\nConnection: close\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {length}\r\n\r\n{body}"
    )).await;
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    assert!(answer.contains("__Host-handline="), "{answer}");
    let records = &open._town.workbench.records;
    let deed = records.audit_of_all(1).await.unwrap().remove(0);
    assert_eq!(deed.by.who, "Reader at 127.0.0.1");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn without_encryption_nothing_is_answered() {
    let open = open().await;
    let address = open.address;
    let answer = tokio::task::spawn_blocking(move || {
        let mut stream = TcpStream::connect(address).unwrap();
        stream.write_all(get("/sign-in").as_bytes()).unwrap();
        let mut answer = Vec::new();
        let _ = stream.read_to_end(&mut answer);
        String::from_utf8_lossy(&answer).into_owned()
    });
    let answer = answer.await.unwrap();
    assert!(!answer.contains("HTTP/1.1 200"), "{answer}");
    assert!(!answer.contains("Sign in"), "{answer}");
}

#[test]
fn a_certificate_that_cannot_be_used_is_named_with_what_is_wrong() {
    let folder = tempfile::tempdir().unwrap();
    let (own, key) = certificate(folder.path());
    let other = folder.path().join("other");
    std::fs::create_dir(&other).unwrap();
    let (_, foreign) = certificate(&other);
    let text = folder.path().join("letter.pem");
    std::fs::write(&text, "a letter to the chief").unwrap();
    let none = folder.path().join("none.pem");
    for (own, key, file, why) in [
        (&none, &key, "none.pem", "cannot be read"),
        (&text, &key, "letter.pem", "no certificate in it"),
        (&own, &none, "none.pem", "no key in it"),
        (&own, &text, "letter.pem", "no key in it"),
        (
            &own,
            &foreign,
            "key.pem",
            "does not go with the certificate",
        ),
    ] {
        let told = Tls::read(own, key).unwrap_err().to_string();
        assert!(
            told.contains(file) && told.contains(why),
            "{file}, {why}: {told}"
        );
    }
}
