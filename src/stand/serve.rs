//! What stands, over HTTP: exact paths of the pressed site, an event for each press, nothing else.

use super::Standing;
use crate::editions::site::Content;
use axum::Router;
use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use futures_util::stream;
use std::convert::Infallible;
use tokio::net::TcpListener;
use tokio::sync::watch::Receiver;

const FOLLOW: &str = include_str!("follow.js");

/// Stands in for the service worker: none is registered here, but a pressed site may have been served from this very
/// address before, and what its worker keeps would hide each save.
const LEAVE: &str = include_str!("leave.js");

#[derive(Clone)]
struct Shared {
    standing: Receiver<Standing>,
    port: u16,
}

/// Serves until the program is stopped.
pub(super) async fn serve(listener: TcpListener, port: u16, standing: Receiver<Standing>) -> std::io::Result<()> {
    let router = Router::new().fallback(answer).with_state(Shared { standing, port });
    axum::serve(listener, router).await
}

async fn answer(State(shared): State<Shared>, request: Request) -> Response {
    if !is_for_us(request.headers(), shared.port) {
        return plain(StatusCode::MISDIRECTED_REQUEST, "This is served to 127.0.0.1 and localhost alone.\n");
    }
    if request.method() != Method::GET && request.method() != Method::HEAD {
        return plain(StatusCode::METHOD_NOT_ALLOWED, "Pages can only be read here.\n");
    }
    match request.uri().path() {
        "/stand/events" => events(shared.standing).into_response(),
        "/stand/follow.js" => with_type("text/javascript; charset=utf-8", FOLLOW),
        "/service-worker.js" => with_type("text/javascript; charset=utf-8", LEAVE),
        "/" => file(&shared.standing, "index.html").await,
        path => file(&shared.standing, path.trim_start_matches('/')).await,
    }
}

/// A name that somebody else gave this address could let their page read ours.
fn is_for_us(headers: &HeaderMap, port: u16) -> bool {
    let host = headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or_default();
    [format!("127.0.0.1:{port}"), format!("localhost:{port}")].contains(&host.to_ascii_lowercase())
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
    let (site, hold) = {
        let standing = standing.borrow();
        (standing.site.clone(), !standing.hold.is_empty())
    };
    let kind = kind_of(path);
    match site.files.get(path) {
        Some(Content::Bytes(bytes)) if kind.starts_with("text/html") => with_type(kind, followed(bytes, &site.edition)),
        Some(Content::Bytes(bytes)) => with_type(kind, bytes.clone()),
        Some(Content::Picture(shows)) => {
            let (shows, path) = (shows.clone(), path.to_owned());
            match tokio::task::spawn_blocking(move || shows.make(&path)).await {
                Ok(Ok(picture)) => with_type(kind, picture),
                _ => plain(StatusCode::INTERNAL_SERVER_ERROR, "This picture can't be made.\n"),
            }
        }
        None if hold && site.files.is_empty() => with_type("text/html; charset=utf-8", followed(NOTHING_YET, "")),
        None => plain(StatusCode::NOT_FOUND, "There is no such sheet.\n"),
    }
}

/// Before the first good press there is only what stops it.
const NOTHING_YET: &[u8] =
    b"<!DOCTYPE html>\n<html lang=\"en-GB\"><head><meta charset=\"utf-8\" /><title>Hold</title></head>\
<body><h1>Nothing could be pressed yet</h1></body></html>";

/// A page that follows the press, and knows of which edition it is.
fn followed(page: &[u8], edition: &str) -> Vec<u8> {
    let text = String::from_utf8_lossy(page);
    let script = format!("<script src=\"/stand/follow.js\" data-edition=\"{edition}\"></script></body>");
    text.replacen("</body>", &script, 1).into_bytes()
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
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

/// What stands now, and then each change.
fn events(standing: Receiver<Standing>) -> Sse<impl stream::Stream<Item = Result<Event, Infallible>>> {
    let changes = stream::unfold((standing, true), |(mut standing, first)| async move {
        if !first && standing.changed().await.is_err() {
            return None;
        }
        let event = {
            let now = standing.borrow_and_update();
            if now.hold.is_empty() {
                Event::default().event("edition").data(now.site.edition.clone())
            } else {
                Event::default().event("hold").data(now.hold.clone())
            }
        };
        Some((Ok(event), (standing, false)))
    });
    Sse::new(changes).keep_alive(KeepAlive::default())
}
