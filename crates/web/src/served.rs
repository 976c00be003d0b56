//! A workbench for people who are elsewhere: who they are, and what they may.

use crate::access::{self, Needs};
use crate::fault::Fault;
use crate::who::{Denied, SignedIn, Who};
use crate::workbench::{Workbench, now};
use axum::extract::{ConnectInfo, Request, State};
use axum::http::header::{CACHE_CONTROL, COOKIE, HOST, HeaderMap, HeaderName, HeaderValue, ORIGIN};
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use cookie::{Cookie, SameSite};
use percent_encoding::percent_decode_str;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;

/// How people who are elsewhere reach the workbench.
#[derive(Debug, Clone)]
pub struct Served {
    /// The names of this host that addresses may have, without a port.
    pub names: Vec<String>,
    /// A proxy ends the encryption, and says in X-Forwarded-For and X-Forwarded-Proto who
    /// asks and how. It is believed; so nobody else may reach the workbench.
    pub behind_proxy: bool,
    /// An answer that takes longer is given up.
    pub patience: Duration,
}

/// The cookie that a signed-in browser has. Its beginning makes browsers refuse it unless
/// it is for this host alone, for all of it, and encrypted on its way.
const COOKIE_NAME: &str = "__Host-handline";

/// Whoever asks for nothing in half an hour is signed out: OWASP ASVS 4.0.3, 3.3.2.
pub(crate) const IDLE: i64 = 30 * 60;

/// Signed out after twelve hours, whatever is done: the same.
pub(crate) const LONGEST: i64 = 12 * 60 * 60;

const FORWARDED_FOR: HeaderName = HeaderName::from_static("x-forwarded-for");
const FORWARDED_PROTO: HeaderName = HeaderName::from_static("x-forwarded-proto");
const FETCH_SITE: HeaderName = HeaderName::from_static("sec-fetch-site");

/// What the cookie of a new session is.
pub(crate) fn cookie(token: &str) -> Option<HeaderValue> {
    written(Cookie::build((COOKIE_NAME, token)))
}

/// What takes the cookie away.
pub(crate) fn no_cookie() -> Option<HeaderValue> {
    written(Cookie::build((COOKIE_NAME, "")).max_age(cookie::time::Duration::ZERO))
}

/// Without an age of its own it goes when the browser is closed.
fn written(cookie: cookie::CookieBuilder<'_>) -> Option<HeaderValue> {
    let cookie = cookie.path("/").secure(true).http_only(true);
    let cookie = cookie.same_site(SameSite::Lax).build();
    HeaderValue::from_str(&cookie.to_string()).ok()
}

/// The token of a request's cookie.
pub(crate) fn token(headers: &HeaderMap) -> Option<String> {
    let texts = headers
        .get_all(COOKIE)
        .iter()
        .filter_map(|c| c.to_str().ok());
    let mut cookies = texts.flat_map(Cookie::split_parse).filter_map(Result::ok);
    let own = cookies.find(|cookie| cookie.name() == COOKIE_NAME)?;
    (!own.value().is_empty()).then(|| own.value().to_string())
}

/// Where a request comes from.
#[derive(Debug, Clone)]
pub(crate) struct From(pub String);

fn from(served: &Served, request: &Request) -> String {
    let direct = request.extensions().get::<ConnectInfo<SocketAddr>>();
    let direct = direct.map(|ConnectInfo(address)| address.ip());
    // What stands last was written by the proxy itself; before it anybody may have.
    let last = request.headers().get_all(FORWARDED_FOR).iter().next_back();
    let last = last.and_then(|value| value.to_str().ok()?.rsplit(',').next()?.trim().parse().ok());
    let address: Option<IpAddr> = match served.behind_proxy {
        true => last,
        false => direct,
    };
    address.map_or_else(
        || "an unknown address".into(),
        |address| address.to_string(),
    )
}

/// An address as tries are counted for it: who has one of the sixth version has 2^64.
pub(crate) fn counted(from: &str) -> String {
    match from.parse::<IpAddr>() {
        Ok(IpAddr::V6(address)) => {
            let [a, b, c, d, ..] = address.segments();
            format!("{a:x}:{b:x}:{c:x}:{d:x}::/64")
        }
        _ => from.to_string(),
    }
}

/// Behind a proxy: what came to it unencrypted goes no further.
pub(crate) async fn encrypted(
    State(served): State<Arc<Served>>,
    request: Request,
    next: Next,
) -> Response {
    let proto = request.headers().get(FORWARDED_PROTO);
    if served.behind_proxy && proto.is_none_or(|proto| proto != "https") {
        let text = "Open this workbench with https. (Its proxy has to say in X-Forwarded-Proto how it was asked.)";
        return (StatusCode::BAD_REQUEST, text).into_response();
    }
    next.run(request).await
}

/// Finds out who asks. Nothing of the answer is kept by browsers or on the way, but for
/// style, script and mark.
pub(crate) async fn identified(
    State((workbench, served)): State<(Arc<Workbench>, Arc<Served>)>,
    mut request: Request,
    next: Next,
) -> Response {
    let from = from(&served, &request);
    let token = token(request.headers());
    // A page that waits to be told of changes asks by itself.
    let awake = !request.uri().path().ends_with("/newest");
    let who = match who(&workbench, token, awake).await {
        Ok(who) => who,
        Err(fault) => {
            request.extensions_mut().insert(Who::Nobody);
            return fault.into_response();
        }
    };
    request.extensions_mut().insert(who);
    request.extensions_mut().insert(From(from));
    let asset = request.uri().path().starts_with("/assets/");
    let mut answer = next.run(request).await;
    if !asset {
        let headers = answer.headers_mut();
        headers.insert(CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    answer
}

async fn who(workbench: &Workbench, token: Option<String>, awake: bool) -> Result<Who, Fault> {
    let Some(token) = token else {
        return Ok(Who::Nobody);
    };
    let records = &workbench.records;
    let Some(session) = records.session(&token, now(), IDLE, awake).await? else {
        return Ok(Who::Nobody);
    };
    let posts = records.posts(&session.name).await?.into_iter().collect();
    Ok(Who::Person(Arc::new(SignedIn {
        name: session.name,
        token,
        posts,
    })))
}

/// Lets in who may; everybody else gets nothing.
pub(crate) async fn admitted(
    State(workbench): State<Arc<Workbench>>,
    request: Request,
    next: Next,
) -> Response {
    let (method, path) = (request.method(), request.uri().path());
    if !method.is_safe() && !from_a_page(request.headers()) {
        let text = "What changes something is sent from a page of the workbench itself.";
        return refused(path, Fault::NotAllowed(text.into()));
    }
    let Some((needs, slug)) = access::of_path(method.as_str(), path) else {
        let text = "There is no page at this address.";
        return refused(path, Fault::Missing(text.into()));
    };
    // Written so that it cannot be read, it names no department.
    let slug = percent_decode_str(slug).decode_utf8().unwrap_or_default();
    let who = request.extensions().get::<Who>().cloned();
    let who = who.unwrap_or(Who::Nobody);
    let denied = match who.may(needs, &slug) {
        Ok(()) => return next.run(request).await,
        Err(denied) => denied,
    };
    if let Some(person) = who.person() {
        let by = records::By::new(&person.name, now());
        let what = format!("{method} {path}");
        // Refused it is in any case, also where that cannot be kept.
        let _ = workbench.records.was_refused(&slug, &what, &by).await;
    }
    let back = request
        .uri()
        .path_and_query()
        .map_or("/", |page| page.as_str());
    if denied == Denied::SignIn && method == Method::GET && !path.starts_with("/api/") {
        let page = crate::address::asked("/sign-in".into(), [("back", back)]);
        return Redirect::to(&page).into_response();
    }
    refused(path, fault(denied, needs, &slug))
}

/// A browser says where a form comes from, in one header or both; the layer for forms of
/// other sites looks at what they say, and lets pass what says nothing.
fn from_a_page(headers: &HeaderMap) -> bool {
    headers.contains_key(ORIGIN) || headers.contains_key(FETCH_SITE)
}

fn fault(denied: Denied, needs: Needs, slug: &str) -> Fault {
    match denied {
        Denied::SignIn => Fault::SignIn,
        // The same as for a department that there is not.
        Denied::Unknown => Fault::Records(records::RecordsError::NoBook(slug.into())),
        Denied::Less(role) => Fault::NotAllowed(format!(
            "That takes {} of this department, and you may do less. Its keeper gives roles.",
            a(role)
        )),
        Denied::NoKeeper => Fault::NotAllowed(format!(
            "That takes a keeper of a department: {}.",
            match needs {
                Needs::KeeperOfAny => "who brings a book in becomes its keeper",
                _ => "ask one",
            }
        )),
    }
}

/// "an editor".
pub(crate) fn a(role: records::Role) -> String {
    match role {
        records::Role::Editor => "an editor".into(),
        other => format!("a {}", other.word()),
    }
}

fn refused(path: &str, fault: Fault) -> Response {
    match path.starts_with("/api/") {
        true => crate::api::refused(fault),
        false => fault.into_response(),
    }
}

/// The address of this workbench, for codes on paper and links.
pub(crate) fn own_address(headers: &HeaderMap) -> Option<String> {
    let host = headers.get(HOST)?.to_str().ok()?;
    Some(format!("https://{host}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cookie_is_for_this_host_alone_and_no_script() {
        let cookie = cookie("abc").unwrap_or(HeaderValue::from_static(""));
        let cookie = cookie.to_str().unwrap_or_default().to_string();
        let mut parts: Vec<&str> = cookie.split("; ").collect();
        parts.sort_unstable();
        let told = [
            "HttpOnly",
            "Path=/",
            "SameSite=Lax",
            "Secure",
            "__Host-handline=abc",
        ];
        assert_eq!(parts, told);
        let gone = no_cookie().unwrap_or(HeaderValue::from_static(""));
        assert!(gone.to_str().is_ok_and(|gone| gone.contains("Max-Age=0")));
    }

    #[test]
    fn addresses_of_one_network_are_counted_together() {
        assert_eq!(counted("203.0.113.7"), "203.0.113.7");
        assert_eq!(counted("2001:db8:1:2:3:4:5:6"), "2001:db8:1:2::/64");
        assert_eq!(counted("2001:db8:1:2::9"), "2001:db8:1:2::/64");
    }

    #[test]
    fn a_proxy_is_believed_only_where_there_is_one_and_only_its_own_word() {
        let served = |behind_proxy| Served {
            names: Vec::new(),
            behind_proxy,
            patience: Duration::ZERO,
        };
        let mut request = Request::new(axum::body::Body::empty());
        let claimed = HeaderValue::from_static("198.51.100.1, 203.0.113.7");
        request.headers_mut().insert(FORWARDED_FOR, claimed);
        let direct: SocketAddr = ([192, 0, 2, 3], 4000).into();
        request.extensions_mut().insert(ConnectInfo(direct));
        assert_eq!(from(&served(true), &request), "203.0.113.7");
        assert_eq!(from(&served(false), &request), "192.0.2.3");
    }
}
