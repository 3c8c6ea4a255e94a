//! Answers as HTTP.

use crate::guard;
use crate::page;
use crate::question::Refusing;
use hyper::body::{Body, Bytes, Frame, SizeHint};
use hyper::header::{CACHE_CONTROL, CONTENT_LENGTH, CONTENT_TYPE, ETAG, HeaderValue};
use hyper::{HeaderMap, Response, StatusCode};
use std::fs::File;
use std::io::{self, Read};
use std::path::PathBuf;
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::sync::mpsc::{Receiver, Sender, channel};
use tokio::task::spawn_blocking;

/// Bytes of a file read at once.
const PIECE: usize = 256 << 10;

/// How long a reader of a file may take for a piece.
const PIECE_WAIT: Duration = Duration::from_secs(60);

/// What follows an answer's head.
pub enum Payload {
    /// All of it.
    Whole(Option<Bytes>),
    /// Pieces as they come.
    Pieces(Receiver<io::Result<Bytes>>),
}

impl Body for Payload {
    type Data = Bytes;
    type Error = io::Error;

    fn poll_frame(self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<Option<io::Result<Frame<Bytes>>>> {
        match self.get_mut() {
            Payload::Whole(bytes) => Poll::Ready(bytes.take().map(|bytes| Ok(Frame::data(bytes)))),
            Payload::Pieces(pieces) => pieces
                .poll_recv(cx)
                .map(|piece| piece.map(|piece| piece.map(Frame::data))),
        }
    }

    fn is_end_stream(&self) -> bool {
        matches!(self, Payload::Whole(None))
    }

    fn size_hint(&self) -> SizeHint {
        match self {
            Payload::Whole(bytes) => SizeHint::with_exact(bytes.as_ref().map_or(0, |b| b.len() as u64)),
            Payload::Pieces(_) => SizeHint::default(),
        }
    }
}

/// An answer as HTTP.
pub type Reply = Response<Payload>;

fn reply(status: StatusCode, kind: &str, cache: &'static str, payload: Payload) -> Reply {
    let mut reply = Response::new(payload);
    *reply.status_mut() = status;
    let headers = reply.headers_mut();
    guard::rules(headers);
    headers.insert(CACHE_CONTROL, HeaderValue::from_static(cache));
    if let Ok(kind) = HeaderValue::from_str(kind) {
        headers.insert(CONTENT_TYPE, kind);
    }
    reply
}

/// An answer as JSON.
pub fn json(bytes: Vec<u8>) -> Reply {
    reply(
        StatusCode::OK,
        "application/json",
        "no-store",
        Payload::Whole(Some(bytes.into())),
    )
}

/// Why there is no answer, as JSON.
pub fn refusal(refusing: &Refusing) -> Reply {
    let status = StatusCode::from_u16(refusing.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
    let bytes = serde_json::to_vec(&refusing.refusal).expect("a refusal is plain data");
    reply(
        status,
        "application/json",
        "no-store",
        Payload::Whole(Some(bytes.into())),
    )
}

/// A file of the page; only its head when the browser has it already.
pub fn page_file(file: &'static page::File, asked: &HeaderMap) -> Reply {
    let known = asked
        .get("if-none-match")
        .is_some_and(|tag| tag.as_bytes() == file.tag.as_bytes());
    let (status, payload) = match known {
        true => (StatusCode::NOT_MODIFIED, None),
        false => (StatusCode::OK, Some(Bytes::from_static(file.bytes))),
    };
    let mut reply = reply(
        status,
        page::content_type(file.name),
        "no-cache",
        Payload::Whole(payload),
    );
    reply
        .headers_mut()
        .insert(ETAG, HeaderValue::from_static(file.tag));
    reply
}

/// Events as they come.
pub fn events(pieces: Receiver<io::Result<Bytes>>) -> Reply {
    reply(
        StatusCode::OK,
        "text/event-stream",
        "no-store",
        Payload::Pieces(pieces),
    )
}

/// A file from the disk, piece by piece.
pub async fn file(path: PathBuf) -> Result<Reply, Refusing> {
    let shown = path.display().to_string();
    let wrong = |what: String| Refusing::one(500, what, shown.clone(), "check the disk and the run's folder");
    let kind = page::content_type(&path.to_string_lossy());
    let opened = spawn_blocking(move || {
        let file = File::open(path)?;
        let length = file.metadata()?.len();
        Ok((file, length))
    });
    let (file, length) = opened
        .await
        .map_err(|e| wrong(e.to_string()))?
        .map_err(|e: io::Error| wrong(format!("the file cannot be read: {e}")))?;
    let (sender, pieces) = channel(1);
    tokio::spawn(send(file, length, sender));
    let mut reply = reply(StatusCode::OK, kind, "no-store", Payload::Pieces(pieces));
    reply
        .headers_mut()
        .insert(CONTENT_LENGTH, HeaderValue::from(length));
    Ok(reply)
}

/// Sends the first `length` bytes of a file; it may grow meanwhile.
async fn send(file: File, length: u64, sender: Sender<io::Result<Bytes>>) {
    let mut rest = file.take(length);
    loop {
        let read = spawn_blocking(move || {
            let mut piece = Vec::with_capacity(PIECE);
            let read = rest.by_ref().take(PIECE as u64).read_to_end(&mut piece);
            (rest, read.map(|_| piece))
        });
        let Ok((back, piece)) = read.await else { return };
        rest = back;
        let last = piece.as_ref().map_or(true, Vec::is_empty);
        let piece = piece.map(Bytes::from);
        if last && piece.is_ok() {
            return;
        }
        let sent = tokio::time::timeout(PIECE_WAIT, sender.send(piece)).await;
        if last || !matches!(sent, Ok(Ok(()))) {
            return;
        }
    }
}
