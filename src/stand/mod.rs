//! A library kept open while somebody edits: pressed again into memory at each save, and served to this machine.
//!
//! Nothing is ever written, and never into `pressed/`, since pages that nobody has approved are shown here. Only what
//! this press made is served, by its exact path; other hosts' names are refused, so that no page of the web can reach
//! it through a name of its own.

mod serve;
mod watch;

use crate::diagnostic::{Source, draw};
use crate::editions::site::Site;
use crate::evaluate::Drafts;
use crate::press;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tokio::sync::watch::{Receiver, Sender, channel};

/// What stands on the screen.
#[derive(Clone, Debug, Default)]
pub struct Standing {
    /// The last good site.
    pub site: Arc<Site>,
    /// What stops the press now, as `proof` says it; empty where nothing does.
    pub hold: String,
    /// Notes: what `proof` says besides.
    pub notes: String,
}

/// Presses a library into memory, over what stood before.
fn press_again(root: &Path, before: &Standing, width: usize) -> Standing {
    let proof = match press::proof(root, Drafts::Shown, None) {
        Ok(proof) => proof,
        Err(problem) => return Standing { hold: format!("{problem}\n"), ..before.clone() },
    };
    let none = Source::default();
    let source = |name: &str| proof.sources.iter().find(|one| one.name == name).map_or(&none, |source| source.as_ref());
    let said: String = proof.faults.iter().map(|one| draw(&one.fault, source(&one.file), width)).collect();
    if proof.has_faults() {
        return Standing { hold: said, ..before.clone() };
    }
    Standing { site: Arc::new(proof.site), hold: String::new(), notes: said }
}

/// Why a library can't be kept open.
#[derive(Debug)]
pub enum StandProblem {
    /// Its folders can't be watched.
    Watch(String),
    /// The port can't be had.
    Port(std::io::Error),
}

impl From<std::io::Error> for StandProblem {
    fn from(error: std::io::Error) -> Self {
        Self::Port(error)
    }
}

/// Keeps a library open until the program is stopped; `say` is told the address and what each press says.
///
/// # Errors
/// A port that can't be had, or a folder that can't be watched.
pub fn stand(root: PathBuf, port: u16, width: usize, say: impl Fn(&str) + Send + 'static) -> Result<(), StandProblem> {
    // Watching begins before the first press, so that no save falls between the two.
    let mut saves = watch::saves(&root).map_err(|error| StandProblem::Watch(error.to_string()))?;
    let (sender, receiver) = channel(press_again(&root, &Standing::default(), width));
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    runtime.block_on(async move {
        let listener = tokio::net::TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port))).await?;
        let address = listener.local_addr()?;
        say(&format!("The library stands at http://{address}/ and follows each save. Stop it with Ctrl-C.\n"));
        tell(&receiver, &say);
        std::thread::spawn(move || follow(&root, &mut saves, &sender, width, &say));
        serve::serve(listener, address.port(), receiver).await?;
        Ok(())
    })
}

/// Presses again after each save, for as long as there are any.
fn follow(root: &Path, saves: &mut watch::Saves, sender: &Sender<Standing>, width: usize, say: &impl Fn(&str)) {
    let mut last = String::new();
    while saves.next() {
        let standing = {
            let before = sender.borrow().clone();
            press_again(root, &before, width)
        };
        let text = words(&standing);
        sender.send_replace(standing);
        if last != text {
            say(&text);
            last = text;
        }
    }
}

fn tell(receiver: &Receiver<Standing>, say: &impl Fn(&str)) {
    say(&words(&receiver.borrow()));
}

fn words(standing: &Standing) -> String {
    if standing.hold.is_empty() {
        format!("{}Pressed: edition {}.\n", standing.notes, standing.site.edition)
    } else {
        format!("{}HOLD: the last good sheets stay on the screen.\n", standing.hold)
    }
}
