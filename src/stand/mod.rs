//! A library kept open while somebody edits: followed in memory at each save, and served to this machine, or to the
//! network of an address that was named.
//!
//! Nothing is ever written, and never into `pressed/`, since pages that nobody has approved are shown here. Only what
//! this press made is served, by its exact path; other hosts' names are refused, so that no page of the web can reach
//! it through a name of its own.

/// What was read, evaluated and set, and what a save changes of it.
mod bench;
/// Whether what a page rests on is still the same.
mod digests;
mod serve;
mod watch;

use bench::{Bench, Standing, Whole};
use std::collections::HashMap;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use tokio::sync::watch::{Sender, channel};

/// The pages that are on a screen, each as often as it is.
#[derive(Debug, Default)]
struct Watched(Mutex<HashMap<String, usize>>);

impl Watched {
    fn lock(&self) -> MutexGuard<'_, HashMap<String, usize>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn add(&self, page: &str) {
        *self.lock().entry(page.to_owned()).or_default() += 1;
    }

    fn remove(&self, page: &str) {
        let mut pages = self.lock();
        if let Some(screens) = pages.get_mut(page) {
            *screens -= 1;
            if *screens == 0 {
                pages.remove(page);
            }
        }
    }
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

/// Keeps a library open at one address until the program is stopped; `say` is told the address and what each press says.
///
/// # Errors
/// An address or port that can't be had, or a folder that can't be watched.
pub fn stand(
    root: PathBuf,
    address: SocketAddr,
    width: usize,
    say: impl Fn(&str) + Send + Sync + 'static,
) -> Result<(), StandProblem> {
    // Watching begins before the first press, so that no save falls between the two.
    let mut saves = watch::saves(&root).map_err(|error| StandProblem::Watch(error.to_string()))?;
    let mut bench = Bench::new(root, width);
    if let Some(whole) = bench.after_save(&|_| false)
        && let Some(made) = whole.make(&|| false)
    {
        bench.take_whole(whole.save, made);
    }
    let (sender, receiver) = channel(bench.standing.clone());
    let watched = Arc::new(Watched::default());
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    runtime.block_on(async move {
        let listener = tokio::net::TcpListener::bind(address).await?;
        let address = listener.local_addr()?;
        say(&format!("The library stands at http://{address}/ and follows each save. Stop it with Ctrl-C.\n"));
        if !address.ip().is_loopback() {
            say("Everybody on that network can read it, sheets that nobody has approved too.\n");
        }
        say(&words(&receiver.borrow()));
        let desk = Arc::new(Desk {
            bench: Mutex::new(bench),
            save: AtomicU64::new(0),
            sender,
            watched: Arc::clone(&watched),
            said: Mutex::new(words(&receiver.borrow())),
            say: Box::new(say),
        });
        std::thread::spawn(move || {
            while saves.next() {
                desk.after_save();
            }
        });
        serve::serve(listener, address, receiver, watched).await?;
        Ok(())
    })
}

/// Where saves come in and sites go out.
struct Desk {
    bench: Mutex<Bench>,
    /// The number of the last save.
    save: AtomicU64,
    sender: Sender<Standing>,
    watched: Arc<Watched>,
    /// What was said last.
    said: Mutex<String>,
    say: Box<dyn Fn(&str) + Send + Sync>,
}

impl Desk {
    /// Follows a save at once, and begins the whole site beside it.
    fn after_save(self: &Arc<Self>) {
        let whole = {
            let mut bench = self.lock();
            let watched = self.watched.lock().clone();
            let whole = bench.after_save(&|page| watched.contains_key(page));
            self.save.store(bench.saves, Ordering::Relaxed);
            self.sender.send_replace(bench.standing.clone());
            if whole.is_none() {
                self.tell(&bench.standing);
            }
            whole
        };
        if let Some(whole) = whole {
            let desk = Arc::clone(self);
            std::thread::spawn(move || desk.make_whole(&whole));
        }
    }

    /// Makes the whole site on all processors but one, which is left for the next save.
    fn make_whole(&self, whole: &Whole) {
        let processors = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        let is_overtaken = || self.save.load(Ordering::Relaxed) != whole.save;
        let pool = rayon::ThreadPoolBuilder::new().num_threads(processors.saturating_sub(1).max(1)).build();
        let made = match pool {
            Ok(pool) => pool.install(|| whole.make(&is_overtaken)),
            Err(_) => whole.make(&is_overtaken),
        };
        if let Some(made) = made {
            let mut bench = self.lock();
            if bench.take_whole(whole.save, made) {
                self.sender.send_replace(bench.standing.clone());
                self.tell(&bench.standing);
            }
        }
    }

    fn lock(&self) -> MutexGuard<'_, Bench> {
        self.bench.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Says what stands, once.
    fn tell(&self, standing: &Standing) {
        let text = words(standing);
        let mut said = self.said.lock().unwrap_or_else(PoisonError::into_inner);
        if *said != text {
            (self.say)(&text);
            *said = text;
        }
    }
}

fn words(standing: &Standing) -> String {
    if standing.hold.is_empty() {
        format!("{}Pressed: edition {}.\n", standing.notes, standing.site.edition)
    } else {
        format!("{}HOLD: the last good sheets stay on the screen.\n", standing.hold)
    }
}
