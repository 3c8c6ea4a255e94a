//! `sumpwright open`: the page of a folder, served to the browser of this machine.

use super::MAKE_BUNDLE;
use crate::cli::Open;
use crate::failure::{Complaint, Failure};
use crate::open::House;
use crate::stop::Stop;
use crate::terminal;
use serve::workshop::{Refused, Workshop, Wrong};
use serve::{Config, Limits, Server};
use std::net::{IpAddr, Ipv4Addr};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;
use std::time::Duration;

/// Between two looks whether Ctrl-C was pressed.
const LOOK: Duration = Duration::from_millis(50);

/// Runs it.
pub fn run(arguments: &Open) -> Result<ExitCode, Failure> {
    if !serve::page::is_there() {
        let what = "this program was built without its page, so there is nothing to open";
        return Err(Failure::computing(what, MAKE_BUNDLE));
    }
    let stop = Stop::listen();
    let (folder, opened) = place(arguments.design.as_deref());
    let house = Arc::new(House::of(&folder, opened).map_err(failure)?);
    if let Some(said) = house.said() {
        terminal::remark(&format!("note: {said}"));
    }
    let mut config = Config {
        address: arguments.listen.unwrap_or(IpAddr::V4(Ipv4Addr::LOCALHOST)),
        port: arguments.port.unwrap_or_else(|| own_port(&folder)),
        limits: Limits::default(),
    };
    let workshop: Arc<dyn Workshop> = house.clone();
    let mut bound = Server::bind(&config, workshop.clone());
    if bound.is_err() && arguments.port.is_none() {
        // Somebody else listens there: any free port will do, only what the browser kept for this page is then not found.
        config.port = 0;
        bound = Server::bind(&config, workshop);
    }
    let bound = bound.map_err(|e| {
        let port = match config.port {
            0 => String::new(),
            port => format!(", port {port}"),
        };
        let what = format!("cannot listen at {}{port}: {e}", config.address);
        Failure::input(what, "--port, --listen", "leave them out, or name others")
    })?;
    let address = bound.opening();
    terminal::say(&format!("the page: {address}\n"));
    terminal::say("Ctrl-C ends it; runs that are not done go on when the page is opened again\n");
    if config.address.is_unspecified() {
        let (port, token) = (bound.address().port(), bound.token());
        terminal::say(&format!(
            "from another machine: http://ADDRESS-OF-THIS-MACHINE:{port}/#{token}\n"
        ));
    }
    if !config.address.is_loopback() {
        terminal::remark(
            "warning: other machines can reach this page, and nothing that passes is encrypted\n  \
             mend: leave out --listen, unless everybody on this network may read and change these designs",
        );
    }
    if !arguments.no_browser && ::open::that_detached(&address).is_err() {
        terminal::remark("note: no browser could be opened; open the address yourself");
    }
    let stopper = bound.stopper();
    std::thread::spawn(move || {
        while !stop.asked() {
            std::thread::sleep(LOOK);
        }
        stopper.stop();
    });
    bound.run();
    house.end();
    Ok(ExitCode::SUCCESS)
}

/// A port of the folder's own, the same at every start: a browser keeps what a page stores by address and port. Out of the
/// range that IANA leaves to everybody (RFC 6335, 49152 to 65535).
fn own_port(folder: &Path) -> u16 {
    const FIRST: u16 = 49152;
    let folder = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    let hash = blake3::hash(folder.to_string_lossy().as_bytes());
    let bytes = hash.as_bytes();
    FIRST + u16::from_le_bytes([bytes[0], bytes[1]]) % (u16::MAX - FIRST)
}

/// The folder to serve, and the design in it that is named.
fn place(named: Option<&Path>) -> (PathBuf, Option<String>) {
    let Some(named) = named else {
        return (".".into(), None);
    };
    let file = named.file_name().map(|name| name.to_string_lossy().into_owned());
    if named.is_dir() || file.is_none() {
        return (named.to_owned(), None);
    }
    match named.parent() {
        Some(folder) if folder != Path::new("") => (folder.to_owned(), file),
        _ => (".".into(), file),
    }
}

fn failure(refused: Refused) -> Failure {
    let complaint = |fault: serve::wire::Fault| Complaint {
        what: fault.what,
        place: fault.place,
        mend: fault.mend,
    };
    let mut complaints: Vec<Complaint> = refused.faults.into_iter().map(complaint).collect();
    match refused.wrong {
        Wrong::Computing if complaints.len() == 1 => Failure::Computing(complaints.remove(0)),
        _ => Failure::Input(complaints),
    }
}
