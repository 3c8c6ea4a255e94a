//! The server: takes connections, lets the guard look at every question, puts questions to the house, streams events.

use crate::events::{self, Events};
use crate::guard;
use crate::page;
use crate::question::{Asked, Found, Lane, Question, Refusing, asked};
use crate::reply::{self, Reply};
use crate::shown::{self, Shown};
use crate::token::Token;
use crate::wire::Event;
use crate::workshop::Workshop;
use http_body_util::{BodyExt, LengthLimitError, Limited};
use hyper::body::{Body, Bytes, Incoming};
use hyper::header::{CONTENT_SECURITY_POLICY, CONTENT_TYPE, HeaderValue};
use hyper::http::request::Parts;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper::{Method, Request};
use hyper_util::rt::{TokioIo, TokioTimer};
use std::convert::Infallible;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::sync::mpsc::RecvTimeoutError;
use std::time::Duration;
use tokio::net::{TcpListener, TcpStream};
use tokio::runtime::Runtime;
use tokio::sync::{Semaphore, watch};

/// Bounds of the server.
#[derive(Clone, Debug)]
pub struct Limits {
    /// Connections at a time; more wait.
    pub connections: usize,
    /// Questions at a time that a hand waits for.
    pub hand: usize,
    /// Long questions at a time.
    pub long: usize,
    /// Questions about runs and files at a time.
    pub queue: usize,
    /// Largest body of a question [bytes].
    pub body: usize,
    /// How long a question's head may take, and how long a connection may say nothing.
    pub head: Duration,
    /// How long a question's body may take.
    pub body_wait: Duration,
    /// Between two signs of life in the stream of events.
    pub alive: Duration,
}

impl Default for Limits {
    fn default() -> Limits {
        Limits {
            connections: 64,
            hand: 4,
            long: 2,
            queue: 4,
            body: 1 << 20,
            head: Duration::from_secs(15),
            body_wait: Duration::from_secs(15),
            alive: Duration::from_secs(10),
        }
    }
}

/// Where the server listens, and its bounds.
#[derive(Clone, Debug)]
pub struct Config {
    /// Address of the machine; the loopback unless the user says otherwise.
    pub address: IpAddr,
    /// Port; 0 takes a free one.
    pub port: u16,
    /// Bounds.
    pub limits: Limits,
}

/// Makes servers.
pub struct Server;

/// A server that listens and is ready to run.
pub struct Bound {
    runtime: Runtime,
    listener: TcpListener,
    address: SocketAddr,
    house: Arc<House>,
    stop: watch::Sender<bool>,
}

/// Stops a server from anywhere.
#[derive(Clone)]
pub struct Stopper(watch::Sender<bool>);

impl Stopper {
    /// Ends it: connections are cut, [`Bound::run`] returns.
    pub fn stop(&self) {
        self.0.send_replace(true);
    }
}

struct House {
    workshop: Arc<dyn Workshop>,
    token: Token,
    limits: Limits,
    events: Events,
    shown: Shown,
    hand: Arc<Semaphore>,
    long: Arc<Semaphore>,
    queue: Arc<Semaphore>,
}

impl Server {
    /// Listens at the address of `config` with a fresh token. Fails as the system fails to give the port.
    pub fn bind(config: &Config, workshop: Arc<dyn Workshop>) -> io::Result<Bound> {
        let limits = config.limits.clone();
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(2)
            .max_blocking_threads(limits.hand + limits.long + limits.queue + 8)
            .thread_name("page")
            .enable_all()
            .build()?;
        let listener = runtime.block_on(TcpListener::bind((config.address, config.port)))?;
        let address = listener.local_addr()?;
        let lane = |places| Arc::new(Semaphore::new(places));
        let house = Arc::new(House {
            workshop,
            token: Token::fresh()?,
            events: Events::default(),
            shown: Shown::default(),
            hand: lane(limits.hand),
            long: lane(limits.long),
            queue: lane(limits.queue),
            limits,
        });
        Ok(Bound {
            runtime,
            listener,
            address,
            house,
            stop: watch::Sender::new(false),
        })
    }
}

impl Bound {
    /// Where it listens.
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// The token that questions must carry.
    pub fn token(&self) -> &str {
        self.house.token.text()
    }

    /// The address to open in a browser: the token follows the `#`, so that it is never sent in an address.
    pub fn opening(&self) -> String {
        let mut address = self.address;
        if address.ip().is_unspecified() {
            address.set_ip(match address {
                SocketAddr::V4(_) => std::net::Ipv4Addr::LOCALHOST.into(),
                SocketAddr::V6(_) => std::net::Ipv6Addr::LOCALHOST.into(),
            });
        }
        format!("http://{address}/#{}", self.token())
    }

    /// A way to stop it.
    pub fn stopper(&self) -> Stopper {
        Stopper(self.stop.clone())
    }

    /// Serves until it is stopped. Work that the house has begun for a question is not waited for.
    pub fn run(self) {
        let house = self.house.clone();
        let mut stopped = self.stop.subscribe();
        let over = self.stop.subscribe();
        std::thread::spawn(move || listen(&house, &over));
        self.runtime.block_on(async {
            tokio::select! {
                () = accept(&self.listener, &self.house) => {}
                _ = stopped.wait_for(|stop| *stop) => {}
            }
        });
        self.stop.send_replace(true);
        self.runtime.shutdown_background();
    }
}

/// Passes the house's events on until the server stops.
fn listen(house: &House, over: &watch::Receiver<bool>) {
    let patience = Duration::from_millis(250);
    let mut incoming = house.workshop.events();
    while !*over.borrow() {
        match incoming.recv_timeout(patience) {
            Ok(event) => house.events.tell(&event),
            Err(RecvTimeoutError::Timeout) => {}
            // The house has let us go, for instance because we were too far behind; what happens from now on is wanted still.
            Err(RecvTimeoutError::Disconnected) => {
                std::thread::sleep(patience);
                incoming = house.workshop.events();
            }
        }
    }
}

async fn accept(listener: &TcpListener, house: &Arc<House>) {
    let places = Arc::new(Semaphore::new(house.limits.connections));
    loop {
        let Ok(place) = places.clone().acquire_owned().await else {
            return;
        };
        match listener.accept().await {
            Ok((stream, _)) => {
                let house = house.clone();
                tokio::spawn(async move {
                    connection(stream, house).await;
                    drop(place);
                });
            }
            // Too many open files, or a caller that has gone already: the next may fare better.
            Err(_) => tokio::time::sleep(Duration::from_millis(50)).await,
        }
    }
}

async fn connection(stream: TcpStream, house: Arc<House>) {
    let Ok(local) = stream.local_addr() else { return };
    let _ = stream.set_nodelay(true);
    let head = house.limits.head;
    let service = service_fn(move |request| {
        let house = house.clone();
        async move { Ok::<_, Infallible>(answer(&house, local, request).await) }
    });
    // A caller that breaks off, or speaks no HTTP, has its connection closed; there is nobody to tell.
    let _ = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(head)
        .max_buf_size(64 << 10)
        .serve_connection(TokioIo::new(stream), service)
        .await;
}

async fn answer(house: &Arc<House>, local: SocketAddr, request: Request<Incoming>) -> Reply {
    let (parts, body) = request.into_parts();
    answered(house, local, &parts, body)
        .await
        .unwrap_or_else(|refusing| reply::refusal(&refusing))
}

async fn answered(
    house: &Arc<House>,
    local: SocketAddr,
    parts: &Parts,
    body: Incoming,
) -> Result<Reply, Refusing> {
    let path = parts.uri.path();
    let api = path.strip_prefix("/api/");
    guard::pass(parts, local, &house.token, api.is_some())?;
    if let Some(rest) = path.strip_prefix("/shown/") {
        return shown(house, parts, rest).await;
    }
    let Some(path) = api else {
        if parts.method != Method::GET && parts.method != Method::HEAD {
            return Err(Refusing::one(
                405,
                "the page is only read",
                path,
                "ask as the page does",
            ));
        }
        return page::at(path)
            .map(|file| reply::page_file(file, &parts.headers))
            .ok_or_else(|| Refusing::one(404, "the page has no such file", path, "load the page again"));
    };
    let question = match asked(parts.method.as_str(), path, parts.uri.query())? {
        Asked::Events => return Ok(reply::events(stream(house))),
        Asked::Whole(question) => question,
        Asked::Body(read) => read(&whole(house, parts, body).await?)?,
    };
    match put(house, question).await? {
        Found::Json(bytes) => Ok(reply::json(bytes)),
        Found::File(path) => reply::file(path).await,
        Found::Show(path) => {
            let shown = house.shown.give(path)?;
            Ok(reply::json(serde_json::to_vec(&shown).expect("plain data")))
        }
    }
}

/// A file in a tab of its own. It comes from here but in no name of ours: its scripts cannot ask.
async fn shown(house: &House, parts: &Parts, rest: &str) -> Result<Reply, Refusing> {
    let gone = || {
        Refusing::one(
            404,
            "there is nothing at this address any more",
            "",
            "open it from the page again",
        )
    };
    let path = house
        .shown
        .at(rest)
        .filter(|_| parts.method == Method::GET)
        .ok_or_else(gone)?;
    let mut reply = reply::file(path).await?;
    let policy = HeaderValue::from_static(shown::POLICY);
    reply.headers_mut().insert(CONTENT_SECURITY_POLICY, policy);
    // HTML lets no page be both in a sandbox and alone with its opener; in a sandbox its opener is another site anyway.
    reply.headers_mut().remove(guard::OPENER);
    Ok(reply)
}

/// The body of a question, within the bounds of size and time.
async fn whole(house: &House, parts: &Parts, body: Incoming) -> Result<Bytes, Refusing> {
    let limits = &house.limits;
    let kind = parts
        .headers
        .get(CONTENT_TYPE)
        .map_or(&b""[..], |kind| kind.as_bytes());
    if !kind.starts_with(b"application/json") {
        return Err(Refusing::one(
            415,
            "the question is no JSON",
            "content-type",
            "ask as the page does",
        ));
    }
    let large = || {
        let most = limits.body / 1024;
        let what = format!("the question is larger than {most} kB");
        Refusing::one(413, what, "the question's body", "ask with fewer changes")
    };
    if body.size_hint().lower() > limits.body as u64 {
        return Err(large());
    }
    match tokio::time::timeout(limits.body_wait, Limited::new(body, limits.body).collect()).await {
        Ok(Ok(whole)) => Ok(whole.to_bytes()),
        Ok(Err(fault)) if fault.is::<LengthLimitError>() => Err(large()),
        Ok(Err(_)) => Err(Refusing::one(
            400,
            "the question breaks off",
            "the question's body",
            "ask again",
        )),
        Err(_) => Err(Refusing::one(
            408,
            "the question took too long",
            "the question's body",
            "ask again",
        )),
    }
}

/// Puts a question to the house on a thread of its own, when its lane has a place.
async fn put(house: &Arc<House>, question: Question) -> Result<Found, Refusing> {
    let lane = match question.lane() {
        Lane::Hand => &house.hand,
        Lane::Long => &house.long,
        Lane::Queue => &house.queue,
    };
    let failed = || {
        let mend = "the rest of the page goes on; keep the design and report it";
        Refusing::one(500, "the program failed at this question", "", mend)
    };
    // Held by the thread, not by the one who asks: who goes away frees no place as long as the work goes on.
    let place = lane.clone().acquire_owned().await.map_err(|_| failed())?;
    let workshop = house.workshop.clone();
    let work = tokio::task::spawn_blocking(move || {
        let found = question.put(&*workshop);
        drop(place);
        found
    });
    // An error here is a panic of the house, which is at an end with its thread.
    work.await.map_err(|_| failed())?
}

/// Events for one page from now on, with a sign of life when nothing happens.
fn stream(house: &Arc<House>) -> tokio::sync::mpsc::Receiver<io::Result<Bytes>> {
    let (sender, pieces) = tokio::sync::mpsc::channel(1);
    let reader = house.events.listen();
    let alive = house.limits.alive;
    tokio::spawn(async move {
        // At once, so that the page knows that it is heard.
        let mut event = Event::Alive;
        while sender.send(Ok(Bytes::from(events::line(&event)))).await.is_ok() {
            event = tokio::select! {
                event = reader.next() => event,
                () = tokio::time::sleep(alive) => Event::Alive,
                () = sender.closed() => return,
            };
        }
    });
    pieces
}
