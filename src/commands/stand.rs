//! `locknut stand`: the library open in a browser while somebody edits.

use super::line::{Line, OptionOf};
use super::terminal::{self, write_options, write_wrapped};
use super::{Exit, open, print, refuse};
use crate::fault::{Fault, id};
use crate::stand::{StandProblem, stand};
use std::net::{IpAddr, Ipv4Addr, SocketAddr};

/// The port that is taken where none is named.
const PORT: u16 = 4207;

/// What `stand` takes.
pub const STAND: &[OptionOf] = &[
    super::press::LIBRARY,
    OptionOf {
        name: "--port",
        value: Some("N"),
        about: "the port on this machine; 4207 where it is left out, 0 for any",
    },
    OptionOf {
        name: "--address",
        value: Some("IP"),
        about: "an address of this machine under which others on the network see it too, sheets that nobody has \
                approved among them; without it, only this machine does",
    },
    super::press::HELP,
];

/// Runs `stand`.
#[must_use]
pub fn run(arguments: &[String]) -> Exit {
    let line = match open("stand", arguments, STAND, help) {
        Ok(line) => line,
        Err(exit) => return exit,
    };
    if let Some(fault) = line.no_words("stand") {
        return refuse(&[fault], &line.source, false);
    }
    let address = match (port(&line), address(&line)) {
        (Ok(port), Ok(address)) => SocketAddr::new(address, port),
        (port, address) => {
            let faults: Vec<Fault> = port.err().into_iter().chain(address.err()).collect();
            return refuse(&faults, &line.source, false);
        }
    };
    let root = line.library();
    if !root.join("content").is_dir() {
        super::complain(&crate::library::files::FileProblem::NoShop(root.join("content/shop.yaml")).to_string());
        return Exit::Machine;
    }
    match stand(root, address, terminal::width(), print) {
        Ok(()) => Exit::Done,
        Err(StandProblem::Watch(error)) => {
            super::complain(&format!(
                "can't watch the library's folders: {error}\n  Do:      check your rights there; a machine that watches too many folders already needs a higher limit"
            ));
            Exit::Machine
        }
        Err(StandProblem::Port(error)) => {
            let cure = if address.ip().is_loopback() {
                "name another port with --port N"
            } else {
                "see that the address is one of this machine's, or name another port with --port N"
            };
            super::complain(&format!("can't stand at {address}: {error}\n  Do:      {cure}"));
            Exit::Machine
        }
    }
}

fn port(line: &Line) -> Result<u16, Fault> {
    let Some(text) = line.value("--port") else { return Ok(PORT) };
    text.text().parse().map_err(|_| {
        Fault::new(id::OPTION_VALUE, text.whole(), "this is no port")
            .found(text.text())
            .allowed("a whole number from 0 to 65535")
            .cure("leave --port out, or choose another number")
    })
}

/// The address to listen at. One that stands for all of them has no name by which to tell our own pages from others.
fn address(line: &Line) -> Result<IpAddr, Fault> {
    let Some(text) = line.value("--address") else { return Ok(Ipv4Addr::LOCALHOST.into()) };
    let address = text.text().parse().ok().filter(|address: &IpAddr| !address.is_unspecified());
    address.ok_or_else(|| {
        Fault::new(id::OPTION_VALUE, text.whole(), "this is no address of one machine")
            .found(text.text())
            .allowed("four numbers with dots such as 192.0.2.7, or an IPv6 address without brackets")
            .cure("write this machine's own address on the network; leave --address out to keep it to this machine")
    })
}

fn help() -> String {
    let width = terminal::width();
    let mut out = String::from("locknut stand\n\n");
    let about = "Keeps the library open in a browser on this machine; the page on screen follows each save. Pages that \
                 nobody has approved are shown too, and nothing is written.";
    write_wrapped(&mut out, about, 0, width);
    out.push('\n');
    write_options(&mut out, STAND, width);
    out
}
