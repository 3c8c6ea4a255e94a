//! A house that is quick to ask, and a plain client.

#![allow(dead_code, reason = "each test file uses its own part")]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Condvar, Mutex};
use std::thread::JoinHandle;
use std::time::Duration;
use sumpwright_serve::wire::*;
use sumpwright_serve::{Answer, Bound, Config, Limits, Refused, Server, Stopper, Workshop, Wrong};

/// Answers with what it was asked; a lap waits until it is let go, a design named `panic` panics.
pub struct Fake {
    gate: Mutex<bool>,
    opened: Condvar,
    /// Laps that have been begun.
    pub laps: AtomicUsize,
    /// All questions that came through.
    pub asked: AtomicUsize,
    tell: Mutex<Vec<Sender<Event>>>,
    file: PathBuf,
}

impl Fake {
    pub fn new() -> Fake {
        static COUNT: AtomicUsize = AtomicUsize::new(0);
        let name = format!(
            "sumpwright-serve-{}-{}.txt",
            std::process::id(),
            COUNT.fetch_add(1, Ordering::Relaxed)
        );
        let file = std::env::temp_dir().join(name);
        std::fs::write(&file, vec![b'x'; 600_000]).expect("the temporary folder can be written to");
        Fake {
            gate: Mutex::new(false),
            opened: Condvar::new(),
            laps: AtomicUsize::new(0),
            asked: AtomicUsize::new(0),
            tell: Mutex::default(),
            file,
        }
    }

    /// Lets all laps go.
    pub fn open(&self) {
        *self.gate.lock().unwrap() = true;
        self.opened.notify_all();
    }

    /// Something happens.
    pub fn happens(&self, event: &Event) {
        for tell in self.tell.lock().unwrap().iter() {
            let _ = tell.send(event.clone());
        }
    }

    /// Lets all go who listen, as a house does with one that is too far behind.
    pub fn let_go(&self) {
        self.tell.lock().unwrap().clear();
    }

    /// Whether anybody listens.
    pub fn is_heard(&self) -> bool {
        !self.tell.lock().unwrap().is_empty()
    }

    fn count(&self) {
        self.asked.fetch_add(1, Ordering::SeqCst);
    }
}

impl Drop for Fake {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.file);
    }
}

fn missing<T>(what: &str) -> Answer<T> {
    Err(Refused {
        wrong: Wrong::Missing,
        faults: vec![Fault {
            what: what.into(),
            place: String::new(),
            key: None,
            mend: "name one that is there".into(),
        }],
    })
}

pub fn run(id: u32, line: &str) -> Run {
    Run {
        id,
        ask: RunAsk {
            variant: Variant {
                design: "pan.toml".into(),
                changes: Vec::new(),
            },
            kind: RunKind::Check,
            cell: None,
            brief: true,
        },
        name: "Box".into(),
        state: RunState::Running,
        line: line.into(),
        share: Some(0.5),
        left: None,
        frames: 0,
        verdict: None,
        faults: Vec::new(),
        files: Vec::new(),
    }
}

impl Workshop for Fake {
    fn project(&self) -> Answer<Project> {
        self.count();
        Ok(Project {
            version: "0".into(),
            folder: "here".into(),
            opened: None,
            designs: Vec::new(),
            cautions: Vec::new(),
        })
    }
    fn pan(&self, variant: &Variant) -> Answer<PanAnswer> {
        self.count();
        assert!(variant.design != "panic", "asked to");
        missing(&format!("there is no design {}", variant.design))
    }
    fn still(&self, ask: &StillAsk) -> Answer<StillAnswer> {
        self.count();
        Ok(StillAnswer {
            oil: ask.engine_speed,
            surfaces: Vec::new(),
            cover: Some(ask.acceleration[1]),
            word: "covered".into(),
            at_crank: 0.0,
            level: 0.0,
        })
    }
    fn lap(&self, _: &Variant) -> Answer<LapAnswer> {
        self.count();
        self.laps.fetch_add(1, Ordering::SeqCst);
        let gate = self.gate.lock().unwrap();
        let (_gate, waited) = self
            .opened
            .wait_timeout_while(gate, Duration::from_secs(20), |open| !*open)
            .unwrap();
        assert!(!waited.timed_out(), "nobody let the lap go");
        missing("there is no drive")
    }
    fn round(&self, _: &Variant) -> Answer<RoundAnswer> {
        self.count();
        missing("there is no mouth")
    }
    fn section(&self, _: &SectionAsk) -> Answer<SectionAnswer> {
        self.count();
        missing("there is no flange")
    }
    fn save(&self, ask: &SaveAsk) -> Answer<SaveAnswer> {
        self.count();
        Ok(SaveAnswer {
            file: ask.file.clone(),
            text: String::new(),
        })
    }
    fn runs(&self) -> Answer<Vec<Run>> {
        self.count();
        Ok(vec![run(1, "")])
    }
    fn start(&self, ask: &RunAsk) -> Answer<Run> {
        self.count();
        Ok(Run {
            ask: ask.clone(),
            ..run(2, "")
        })
    }
    fn stop(&self, id: u32) -> Answer<Run> {
        self.count();
        Ok(run(id, "stopped"))
    }
    fn resume(&self, id: u32) -> Answer<Run> {
        self.count();
        Ok(run(id, "waits"))
    }
    fn forget(&self, _: u32) -> Answer<()> {
        self.count();
        Ok(())
    }
    fn frames(&self, _: u32, moment: usize, from: usize) -> Answer<FramesAnswer> {
        self.count();
        Ok(FramesAnswer {
            moments: vec![format!("{moment} {from}")],
            scene: None,
            times: Vec::new(),
            cover: Vec::new(),
            gravity: Vec::new(),
            doors: Vec::new(),
            fills: Vec::new(),
        })
    }
    fn file(&self, _: u32, name: &str) -> Answer<PathBuf> {
        self.count();
        match name {
            "a b/x.txt" => Ok(self.file.clone()),
            _ => missing("there is no such file"),
        }
    }
    fn events(&self) -> Receiver<Event> {
        let (sender, receiver) = channel();
        self.tell.lock().unwrap().push(sender);
        receiver
    }
}

/// A server that runs, and stops at the end.
pub struct Running {
    pub house: Arc<Fake>,
    pub address: SocketAddr,
    pub token: String,
    pub stopper: Stopper,
    thread: Option<JoinHandle<()>>,
}

impl Running {
    pub fn start() -> Running {
        Running::with(Limits::default())
    }

    pub fn with(limits: Limits) -> Running {
        let house = Arc::new(Fake::new());
        let config = Config {
            address: "127.0.0.1".parse().unwrap(),
            port: 0,
            limits,
        };
        let bound: Bound = Server::bind(&config, house.clone()).expect("the loopback has a free port");
        let (address, token, stopper) = (bound.address(), bound.token().to_owned(), bound.stopper());
        assert_eq!(bound.opening(), format!("http://{address}/#{token}"));
        let thread = Some(std::thread::spawn(move || bound.run()));
        Running {
            house,
            address,
            token,
            stopper,
            thread,
        }
    }

    pub fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(self.address).expect("the server listens");
        stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
        stream
    }

    /// The usual headers of the page.
    pub fn headers(&self) -> String {
        format!(
            "Host: {0}\r\nOrigin: http://{0}\r\nSec-Fetch-Site: same-origin\r\nX-Sumpwright-Token: {1}\r\n",
            self.address, self.token
        )
    }

    /// Asks as the page does.
    pub fn ask(&self, method: &str, path: &str, body: &str) -> Reply {
        self.ask_with(method, path, &self.headers(), body)
    }

    pub fn ask_with(&self, method: &str, path: &str, headers: &str, body: &str) -> Reply {
        let mut head = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n{headers}");
        if !body.is_empty() {
            head += &format!(
                "Content-Type: application/json\r\nContent-Length: {}\r\n",
                body.len()
            );
        }
        self.raw(format!("{head}\r\n{body}").as_bytes())
    }

    /// Sends any bytes and reads the answer; status 0 when the server only closes.
    pub fn raw(&self, bytes: &[u8]) -> Reply {
        let mut stream = self.connect();
        // The server may have refused and closed before all is sent.
        let _ = stream.write_all(bytes);
        Reply::read(&mut stream)
    }

    pub fn finish(mut self) {
        self.end();
    }

    fn end(&mut self) {
        self.house.open();
        self.stopper.stop();
        if let Some(thread) = self.thread.take() {
            thread.join().expect("the server ends without a panic");
        }
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        if !std::thread::panicking() {
            self.end();
        }
    }
}

/// An answer.
#[derive(Debug)]
pub struct Reply {
    pub status: u16,
    pub head: String,
    pub body: Vec<u8>,
}

impl Reply {
    pub fn read(stream: &mut TcpStream) -> Reply {
        let mut all = Vec::new();
        let _ = stream.read_to_end(&mut all);
        let split = all
            .windows(4)
            .position(|w| w == b"\r\n\r\n")
            .map_or(all.len(), |at| at + 4);
        let body = all.split_off(split);
        let head = String::from_utf8_lossy(&all).to_lowercase();
        let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).unwrap_or(0);
        Reply { status, head, body }
    }

    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    /// The faults of a refusal.
    pub fn faults(&self) -> Vec<Fault> {
        let refusal: Refusal = serde_json::from_slice(&self.body).unwrap_or_else(|e| panic!("{e}: {self:?}"));
        assert!(!refusal.faults.is_empty(), "{self:?}");
        refusal.faults
    }
}

/// The stream of events, read as the page reads it.
pub struct Listening(BufReader<TcpStream>);

impl Listening {
    pub fn to(server: &Running) -> Listening {
        let mut stream = server.connect();
        let head = format!("GET /api/events HTTP/1.1\r\n{}\r\n", server.headers());
        stream.write_all(head.as_bytes()).unwrap();
        let mut listening = Listening(BufReader::new(stream));
        assert_eq!(listening.next(), Event::Alive, "the first thing said");
        listening
    }

    /// The next event.
    pub fn next(&mut self) -> Event {
        let mut line = String::new();
        loop {
            line.clear();
            let read = self.0.read_line(&mut line).expect("an event comes in time");
            assert!(read > 0, "the stream of events ended");
            if let Some(data) = line.trim_end().strip_prefix("data: ") {
                return serde_json::from_str(data).unwrap_or_else(|e| panic!("{e}: {data}"));
            }
        }
    }
}
