//! The workbench without a server: requests go straight to its pages.
#![allow(dead_code, clippy::unwrap_used)]

use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, Request, StatusCode};
use records::Records;
use std::sync::Arc;
use tempfile::TempDir;
use tower::ServiceExt;
use web::Workbench;

pub const DEMO: &str = include_str!("../../../../books/saltmarsh-bend.toml");
pub const DEMO_SLUG: &str = "saltmarsh-bend-fire-and-rescue";

pub struct House {
    pub workbench: Arc<Workbench>,
    _folder: TempDir,
}

pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub bytes: Vec<u8>,
}

impl Answer {
    pub fn text(&self) -> String {
        String::from_utf8(self.bytes.clone()).unwrap()
    }

    pub fn header(&self, name: &str) -> &str {
        self.headers.get(name).map_or("", |v| v.to_str().unwrap())
    }

    /// Where it sends the reader.
    pub fn to(&self) -> &str {
        assert_eq!(self.status, StatusCode::SEE_OTHER, "{}", self.text());
        self.header("location")
    }
}

impl House {
    pub async fn empty() -> Self {
        let folder = TempDir::new().unwrap();
        let records = Records::open(&folder.path().join("records.sqlite")).await;
        House {
            workbench: Arc::new(Workbench::new(records.unwrap())),
            _folder: folder,
        }
    }

    pub async fn with(text: &str) -> Self {
        let house = House::empty().await;
        let arrived = house.workbench.bring(text.as_bytes(), "book.toml").await;
        arrived.unwrap();
        house
    }

    pub async fn ask(&self, request: Request<Body>) -> Answer {
        let response = web::router(self.workbench.clone());
        let response = response.oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        Answer {
            status: parts.status,
            headers: parts.headers,
            bytes: to_bytes(body, usize::MAX).await.unwrap().to_vec(),
        }
    }

    pub async fn get(&self, address: &str) -> Answer {
        let request = Request::get(address).header("host", "localhost:8275");
        self.ask(request.body(Body::empty()).unwrap()).await
    }

    pub async fn post(&self, address: &str, pairs: &[(&str, &str)]) -> Answer {
        let request = Request::post(address)
            .header("host", "localhost:8275")
            .header("cookie", "name=%52%65%6e%c3%a9")
            .header("content-type", "application/x-www-form-urlencoded");
        let body: Vec<String> = pairs
            .iter()
            .map(|(key, value)| format!("{key}={}", encoded(value)))
            .collect();
        self.ask(request.body(Body::from(body.join("&"))).unwrap())
            .await
    }

    /// A form with files: name, file's name (empty for none), bytes.
    pub async fn send(&self, address: &str, fields: &[(&str, &str, &[u8])]) -> Answer {
        let mut body = Vec::new();
        for (name, file, bytes) in fields {
            let file = match *file {
                "" => String::new(),
                file => format!("; filename=\"{file}\""),
            };
            let head =
                format!("--edge\r\nContent-Disposition: form-data; name=\"{name}\"{file}\r\n\r\n");
            body.extend_from_slice(head.as_bytes());
            body.extend_from_slice(bytes);
            body.extend_from_slice(b"\r\n");
        }
        body.extend_from_slice(b"--edge--\r\n");
        let request = Request::post(address)
            .header("host", "localhost:8275")
            .header("content-type", "multipart/form-data; boundary=edge");
        self.ask(request.body(Body::from(body)).unwrap()).await
    }
}

fn encoded(text: &str) -> String {
    percent_encoding::utf8_percent_encode(text, percent_encoding::NON_ALPHANUMERIC).to_string()
}
