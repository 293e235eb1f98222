//! `stand` from outside: what it serves, to whom, and that a save reaches the screen.
//!
//! Requests are written by hand over TCP, so that names and paths can be wrong in ways that no client allows.

use crate::folder::{Folder, command, root};
use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

struct Standing {
    child: Child,
    /// Address and port.
    host: String,
    port: u16,
    /// Its library; gone after the program is.
    folder: Folder,
}

impl Drop for Standing {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

const DRAFT: &str = "---\ntitle: A draft\nsummary: Nobody has approved this.\nnumber: RP-800\nrevision: A\nissued: 2026-05-03\nprepared_by: R. Pell\n---\n\nThe first words.\n";

/// The starter library and a draft, opened in its own folder.
fn start(name: &str, more: &[&str]) -> Standing {
    let folder = Folder::laid_down(&format!("stand-{name}"));
    folder.write("content/replies/draft.md", DRAFT);
    let from = folder.0.clone();
    start_in(&from, more, folder)
}

/// `stand` with these words in a folder; what it stands on is gone after the program is.
fn start_in(from: &Path, more: &[&str], folder: Folder) -> Standing {
    let mut stand = command(from, &["stand", "--port", "0"]);
    let mut child = stand.args(more).stdout(Stdio::piped()).spawn().expect("it runs");
    let mut first = String::new();
    BufReader::new(child.stdout.take().expect("its output")).read_line(&mut first).expect("a line");
    let host = first.split("http://").nth(1).and_then(|rest| rest.split('/').next()).expect("an address").to_owned();
    let port = host.rsplit(':').next().and_then(|port| port.parse().ok()).expect("a port");
    Standing { child, host, port, folder }
}

impl Standing {
    fn ask(&self, request: &str) -> String {
        let mut stream = TcpStream::connect(&self.host).expect("it listens");
        stream.set_read_timeout(Some(Duration::from_secs(20))).expect("a time limit");
        stream.write_all(request.as_bytes()).expect("it is asked");
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).expect("it answers");
        String::from_utf8_lossy(&answer).into_owned()
    }

    fn get(&self, path: &str) -> String {
        self.ask(&format!("GET {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", self.host))
    }

    /// Asks again until the answer holds some words.
    fn get_until(&self, path: &str, words: &str) -> String {
        let began = Instant::now();
        loop {
            let answer = self.get(path);
            if answer.contains(words) || began.elapsed() > Duration::from_secs(20) {
                return answer;
            }
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

#[test]
fn only_what_was_pressed_is_served_and_only_here() {
    let standing = start("serves", &[]);
    assert!(standing.get("/").starts_with("HTTP/1.1 200"));
    let draft = standing.get("/replies/draft.html");
    assert!(draft.contains("The first words.") && draft.contains("/stand/follow.js"), "{draft}");
    // What a pressed site left at this address takes itself away.
    assert!(standing.get("/service-worker.js").contains("self.registration.unregister()"));
    for path in ["/content/shop.yaml", "/../content/shop.yaml", "/%2e%2e/content/shop.yaml", "//etc/passwd", "/nothing"]
    {
        assert!(standing.get(path).starts_with("HTTP/1.1 404"), "{path}");
    }
    for host in ["evil.example", "127.0.0.1.evil.example", "127.0.0.1", "localhost:1", ""] {
        let answer = standing.ask(&format!("GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n"));
        assert!(answer.starts_with("HTTP/1.1 421"), "{host}: {answer}");
    }
    let local = format!("GET / HTTP/1.1\r\nHost: LOCALHOST:{}\r\nConnection: close\r\n\r\n", standing.port);
    assert!(standing.ask(&local).starts_with("HTTP/1.1 200"));
    let post = format!(
        "POST / HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nContent-Length: 0\r\nConnection: close\r\n\r\n",
        standing.port
    );
    assert!(standing.ask(&post).starts_with("HTTP/1.1 405"));
    assert!(!standing.folder.0.join("pressed").exists(), "nothing is written");
}

#[test]
fn an_address_that_was_named_is_the_only_one() {
    let standing = start("named", &["--address", "127.0.0.2"]);
    assert!(standing.host.starts_with("127.0.0.2:"), "{}", standing.host);
    assert!(standing.get("/").starts_with("HTTP/1.1 200"));
    let other =
        standing.ask(&format!("GET / HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nConnection: close\r\n\r\n", standing.port));
    assert!(other.starts_with("HTTP/1.1 421"), "{other}");
    assert!(TcpStream::connect(("127.0.0.1", standing.port)).is_err(), "nothing listens elsewhere");
}

#[test]
fn a_save_reaches_the_screen_and_a_fault_holds_the_last_good_sheet() {
    let standing = start("follows", &[]);
    let draft = standing.folder.0.join("content/replies/draft.md");
    fs::write(&draft, DRAFT.replace("first", "second")).expect("a save");
    assert!(standing.get_until("/replies/draft.html", "The second words.").contains("The second words."));
    // As editors do it: another file, renamed over the first.
    let beside = standing.folder.0.join("content/replies/.draft.md.new");
    fs::write(&beside, DRAFT.replace("first", "third")).expect("a save");
    fs::rename(&beside, &draft).expect("a rename");
    assert!(standing.get_until("/replies/draft.html", "The third words.").contains("The third words."));
    fs::write(&draft, DRAFT.replace("The first words.", "It is (=chain.links).")).expect("a slip");
    let hold = first_event(&standing, "hold");
    assert!(hold.contains("(unknown-name)") && hold.contains("draft.md"), "{hold}");
    assert!(standing.get("/replies/draft.html").contains("The third words."), "the last good sheet stays");
    fs::write(&draft, DRAFT.replace("first", "fourth")).expect("a save");
    assert!(standing.get_until("/replies/draft.html", "The fourth words.").contains("The fourth words."));
    // A folder of drawings or of a theme that comes later is followed as well.
    let own = "{# The shop's own. #}\n<strong class=\"fig own-theme\">{{ html }}</strong>";
    fs::create_dir_all(standing.folder.0.join("themes/sheet")).expect("a folder");
    fs::write(standing.folder.0.join("themes/sheet/figure.html"), own).expect("a template");
    let reply = "/guides/drivetrain/chain-after-chainring.html";
    assert!(standing.get_until(reply, "own-theme").contains("own-theme"));
    fs::write(standing.folder.0.join("themes/sheet/figure.html"), own.replace("own-theme", "their-own"))
        .expect("a save");
    assert!(standing.get_until(reply, "their-own").contains("their-own"));
    fs::remove_dir_all(standing.folder.0.join("themes")).expect("it is taken away");
    assert!(standing.get_until(reply, "<a class=\"fig\"").contains("<a class=\"fig\""));
    fs::remove_file(&draft).expect("it is taken away");
    assert!(standing.get_until("/replies/draft.html", "no such sheet").contains("no such sheet"));
    assert!(standing.folder.0.join("content").is_dir());
}

/// Saves are followed however the library's folder was named.
#[test]
fn a_library_is_followed_wherever_it_is_opened_from() {
    type Names = fn(&Path) -> (PathBuf, Vec<String>);
    let ways: [Names; 5] = [
        |library| (library.to_owned(), Vec::new()),
        |library| (library.to_owned(), vec![".".to_owned()]),
        |library| (library.join("content"), vec!["..".to_owned()]),
        |library| (library.parent().expect("a folder").to_owned(), vec![format!("./{}/", name_of(library))]),
        |library| {
            let link = library.join("link");
            std::os::unix::fs::symlink(library, &link).expect("a link");
            (root().to_owned(), vec![link.display().to_string()])
        },
    ];
    for (number, names) in ways.into_iter().enumerate() {
        let folder = Folder::new("stand-from");
        folder.write("content/shop.yaml", "name: Tollgate Cycle Works\nplace: Ennismouth\n");
        folder.write("content/replies/draft.md", DRAFT);
        let (from, named) = names(&folder.0);
        let words: Vec<&str> = named.iter().flat_map(|name| ["--library", name]).collect();
        let standing = start_in(&from, &words, folder);
        standing.folder.write("content/replies/draft.md", DRAFT.replace("first", "second"));
        let page = standing.get_until("/replies/draft.html", "The second words.");
        assert!(page.contains("The second words."), "way {number}, {named:?}: the save was not followed");
    }
}

fn name_of(folder: &Path) -> String {
    folder.file_name().expect("a name").to_string_lossy().into_owned()
}

/// The data of the next event of a kind.
fn first_event(standing: &Standing, kind: &str) -> String {
    let mut stream = TcpStream::connect(("127.0.0.1", standing.port)).expect("it listens");
    stream.set_read_timeout(Some(Duration::from_secs(20))).expect("a time limit");
    let request = format!("GET /stand/events HTTP/1.1\r\nHost: 127.0.0.1:{}\r\n\r\n", standing.port);
    stream.write_all(request.as_bytes()).expect("it is asked");
    let mut text = String::new();
    let mut part = [0; 4096];
    loop {
        let length = stream.read(&mut part).expect("events come");
        text.push_str(&String::from_utf8_lossy(&part[..length]));
        if let Some(at) = text.find(&format!("event: {kind}"))
            && let Some(end) = text[at..].find("\n\n")
        {
            return text[at..at + end].to_owned();
        }
    }
}
