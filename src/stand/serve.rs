//! What stands, over HTTP: exact paths of the pressed site, an event for each press, nothing else.

use super::Watched;
use super::bench::Standing;
use crate::editions::site::Content;
use axum::Router;
use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use futures_util::stream;
use std::convert::Infallible;
use std::net::SocketAddr;
use std::sync::Arc;
use tokio::net::TcpListener;
use tokio::sync::watch::Receiver;

const FOLLOW: &str = include_str!("follow.js");

/// Stands in for the service worker: none is registered here, but a pressed site may have been served from this very
/// address before, and what its worker keeps would hide each save.
const LEAVE: &str = include_str!("leave.js");

#[derive(Clone)]
struct Shared {
    standing: Receiver<Standing>,
    watched: Arc<Watched>,
    address: SocketAddr,
}

/// Serves until the program is stopped.
pub(super) async fn serve(
    listener: TcpListener,
    address: SocketAddr,
    standing: Receiver<Standing>,
    watched: Arc<Watched>,
) -> std::io::Result<()> {
    let router = Router::new().fallback(answer).with_state(Shared { standing, watched, address });
    axum::serve(listener, router).await
}

async fn answer(State(shared): State<Shared>, request: Request) -> Response {
    if !is_for_us(request.headers(), shared.address) {
        return plain(StatusCode::MISDIRECTED_REQUEST, "This is served under its own address alone.\n");
    }
    if request.method() != Method::GET && request.method() != Method::HEAD {
        return plain(StatusCode::METHOD_NOT_ALLOWED, "Pages can only be read here.\n");
    }
    match request.uri().path() {
        "/stand/events" => {
            let screen = Screen::of(request.uri().query().unwrap_or_default());
            events(shared, screen).into_response()
        }
        "/stand/follow.js" => with_type("text/javascript; charset=utf-8", FOLLOW),
        "/service-worker.js" => with_type("text/javascript; charset=utf-8", LEAVE),
        path => file(&shared.standing, page_at(path)).await,
    }
}

/// The file that stands at a path of the address.
fn page_at(path: &str) -> &str {
    if path == "/" { "index.html" } else { path.trim_start_matches('/') }
}

/// A name that somebody else gave this address could let their page read ours.
fn is_for_us(headers: &HeaderMap, address: SocketAddr) -> bool {
    let host = headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or_default();
    let is_local = address.ip().is_loopback() && host.eq_ignore_ascii_case(&format!("localhost:{}", address.port()));
    // Browsers leave the usual port out.
    is_local || host == address.to_string() || address.port() == 80 && host.parse() == Ok(address.ip())
}

fn plain(status: StatusCode, text: &'static str) -> Response {
    (status, [(header::CONTENT_TYPE, "text/plain; charset=utf-8")], text).into_response()
}

fn with_type(kind: &'static str, body: impl Into<Body>) -> Response {
    let headers = [
        (header::CONTENT_TYPE, kind),
        (header::CACHE_CONTROL, "no-store"),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    ];
    (headers, body.into()).into_response()
}

async fn file(standing: &Receiver<Standing>, path: &str) -> Response {
    let standing = standing.borrow().clone();
    let kind = kind_of(path);
    match standing.file(path) {
        Some(Content::Bytes(bytes)) if kind.starts_with("text/html") => {
            with_type(kind, followed(bytes, &standing.site.edition))
        }
        Some(Content::Bytes(bytes)) => with_type(kind, bytes.clone()),
        Some(Content::Picture(shows)) => {
            let (shows, path) = (shows.clone(), path.to_owned());
            match tokio::task::spawn_blocking(move || shows.make(&path)).await {
                Ok(Ok(picture)) => with_type(kind, picture),
                _ => plain(StatusCode::INTERNAL_SERVER_ERROR, "This picture can't be made.\n"),
            }
        }
        None if standing.is_empty() && !standing.hold.is_empty() => {
            with_type("text/html; charset=utf-8", followed(NOTHING_YET, ""))
        }
        None => match taken_away(standing, path).await {
            Some(bytes) => with_type(kind, bytes),
            None => plain(StatusCode::NOT_FOUND, "There is no such sheet.\n"),
        },
    }
}

/// A file of an edition that is taken away, made when somebody asks for it.
async fn taken_away(standing: Standing, path: &str) -> Option<Vec<u8>> {
    let away = standing.site.away.iter().find(|away| away.path() == path)?.clone();
    let make = move || {
        let read = |path: &str| match standing.site.files.get(path) {
            Some(Content::Bytes(bytes)) => Ok(bytes.clone()),
            Some(Content::Picture(shows)) => {
                shows.make(path).map_err(|found| std::io::Error::other(found.fault.message))
            }
            None => Err(std::io::ErrorKind::NotFound.into()),
        };
        let mut out = Vec::new();
        away.write(&read, &mut out).ok().map(|()| out)
    };
    tokio::task::spawn_blocking(make).await.ok().flatten()
}

/// Before the first good press there is only what stops it.
const NOTHING_YET: &[u8] =
    b"<!DOCTYPE html>\n<html lang=\"en-GB\"><head><meta charset=\"utf-8\" /><title>Hold</title></head>\
<body><h1>Nothing could be pressed yet</h1></body></html>";

/// A page that follows the press: it knows of which edition it is, and digits of what it says.
fn followed(page: &[u8], edition: &str) -> Vec<u8> {
    let text = String::from_utf8_lossy(page);
    let script = format!(
        "<script src=\"/stand/follow.js\" data-edition=\"{edition}\" data-says=\"{}\"></script></body>",
        says(page, edition)
    );
    text.replacen("</body>", &script, 1).into_bytes()
}

/// Digits of what a page says, whatever the edition's mark in it.
fn says(page: &[u8], edition: &str) -> String {
    let text = String::from_utf8_lossy(page);
    let text = if edition.is_empty() { text } else { text.replace(edition, "").into() };
    blake3::hash(text.as_bytes()).to_hex()[..16].to_owned()
}

fn kind_of(path: &str) -> &'static str {
    match path.rsplit_once('.').map_or("", |(_, ending)| ending) {
        "html" => "text/html; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "js" => "text/javascript; charset=utf-8",
        "json" | "webmanifest" => "application/json",
        "png" => "image/png",
        "jpg" => "image/jpeg",
        "woff2" => "font/woff2",
        "epub" => "application/epub+zip",
        "zip" => "application/zip",
        "atom" => "application/atom+xml",
        "xml" => "application/xml",
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

/// A page on a screen: which, and what of it is shown.
#[derive(Clone, Default)]
struct Screen {
    page: String,
    says: String,
    edition: String,
    hold: String,
}

impl Screen {
    /// Reads `page=/guides/…&says=…&edition=…`.
    fn of(query: &str) -> Self {
        let mut screen = Self::default();
        for (name, value) in query.split('&').filter_map(|pair| pair.split_once('=')) {
            let value = percent_encoding::percent_decode_str(value).decode_utf8_lossy().into_owned();
            match name {
                "page" => page_at(&value).clone_into(&mut screen.page),
                "says" => screen.says = value,
                "edition" => screen.edition = value,
                _ => {}
            }
        }
        screen
    }

    /// What the screen has to be told, the most pressing first; each event makes it know that.
    fn next(&mut self, standing: &Standing) -> Option<Event> {
        let edition = &standing.site.edition;
        let says = match standing.file(&self.page) {
            Some(Content::Bytes(bytes)) => says(bytes, edition),
            _ => String::new(),
        };
        if says != self.says {
            self.says.clone_from(&says);
            self.edition.clone_from(edition);
            // An event without a word is never told, so each holds some.
            return Some(Event::default().event("sheet").data(if says.is_empty() { "gone" } else { "changed" }));
        }
        if *edition != self.edition {
            self.edition.clone_from(edition);
            return Some(Event::default().event("edition").data(edition));
        }
        if self.hold != standing.hold {
            self.hold.clone_from(&standing.hold);
            let words = if standing.hold.is_empty() { "none" } else { &standing.hold };
            return Some(Event::default().event(if standing.hold.is_empty() { "free" } else { "hold" }).data(words));
        }
        None
    }
}

/// Counts a page as shown while its events are read.
struct Shown {
    watched: Arc<Watched>,
    page: String,
}

impl Drop for Shown {
    fn drop(&mut self) {
        self.watched.remove(&self.page);
    }
}

/// What differs from what is on the screen now, and then after each change.
fn events(shared: Shared, screen: Screen) -> Sse<impl stream::Stream<Item = Result<Event, Infallible>>> {
    shared.watched.add(&screen.page);
    let shown = Shown { watched: shared.watched, page: screen.page.clone() };
    let changes = stream::unfold((shared.standing, screen, shown), |(mut standing, mut screen, shown)| async move {
        loop {
            let event = screen.next(&standing.borrow_and_update());
            if let Some(event) = event {
                return Some((Ok(event), (standing, screen, shown)));
            }
            if standing.changed().await.is_err() {
                return None;
            }
        }
    });
    Sse::new(changes).keep_alive(KeepAlive::default())
}
