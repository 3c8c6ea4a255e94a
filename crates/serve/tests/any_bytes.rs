//! Any bytes as a question, with fixed seeds: an answer or a refusal with words, and the server goes on.

mod common;

use common::{Fake, Running};
use sumpwright_serve::question::{Asked, asked};

/// Random numbers by xorshift (Marsaglia 2003).
struct Chance(u64);

impl Chance {
    fn below(&mut self, limit: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % limit as u64) as usize
    }
}

const BODIES: [(&str, &str); 5] = [
    (
        "pan",
        r#"{"design":"pan.toml","changes":[{"key":"fill","value":"\"4 L\""}]}"#,
    ),
    (
        "still",
        r#"{"variant":{"design":"pan.toml","changes":[]},"acceleration":[0.0,0.5,-1e3],"engine_speed":80.0}"#,
    ),
    (
        "section",
        r#"{"variant":{"design":"a/b.toml","changes":[]},"part":"seal"}"#,
    ),
    (
        "save",
        r#"{"variant":{"design":"pan.toml","changes":[]},"digest":"00","name":"n","file":"new.toml"}"#,
    ),
    (
        "runs",
        r#"{"variant":{"design":"pan.toml","changes":[]},"kind":"check","cell":"6 mm","brief":true}"#,
    ),
];

fn spoilt(chance: &mut Chance, text: &str) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    for _ in 0..=chance.below(4) {
        let at = chance
            .below(bytes.len().max(1))
            .min(bytes.len().saturating_sub(1));
        match chance.below(4) {
            0 if !bytes.is_empty() => bytes[at] = chance.below(256) as u8,
            1 => bytes.truncate(at),
            2 => bytes.insert(at.min(bytes.len()), b"{}[]\",:\\/0-e.\0"[chance.below(14)]),
            _ => {
                let from = chance.below(bytes.len() + 1);
                let piece = bytes[from..].to_vec();
                bytes.extend(piece);
            }
        }
    }
    bytes
}

#[test]
fn any_body_is_a_question_or_refused() {
    let house = Fake::new();
    house.open();
    let mut chance = Chance(0x5eed);
    let (mut read, mut refused) = (0, 0);
    for round in 0..20_000 {
        let (path, body) = BODIES[round % BODIES.len()];
        let Ok(Asked::Body(reader)) = asked("POST", path, None) else {
            panic!("{path} takes a body");
        };
        let bytes = spoilt(&mut chance, body);
        match reader(&bytes) {
            Ok(question) => {
                read += 1;
                let _ = question.put(&house);
            }
            Err(refusing) => {
                refused += 1;
                assert!((400..500).contains(&refusing.status), "{refusing:?}");
                assert!(!refusing.refusal.faults[0].what.is_empty());
            }
        }
    }
    assert!(read > 100 && refused > 100, "{read} read, {refused} refused");
}

#[test]
fn any_address_is_a_question_or_refused() {
    let mut chance = Chance(0xadd7e55);
    for round in 0..20_000 {
        let path = [
            "runs/1/files/a/b.txt",
            "runs/12/frames",
            "runs/3/stop",
            "project",
            "runs",
        ][round % 5];
        let bytes = spoilt(&mut chance, path);
        let path = String::from_utf8_lossy(&bytes).into_owned();
        let query = format!(
            "moment={}&from={}",
            chance.below(9),
            String::from_utf8_lossy(&spoilt(&mut chance, "7"))
        );
        for method in ["GET", "POST", "PUT"] {
            if let Err(refusing) = asked(method, &path, Some(&query)) {
                assert!((400..500).contains(&refusing.status), "{refusing:?}");
            }
        }
    }
}

#[test]
fn any_bytes_on_the_socket_leave_the_server_up() {
    let server = Running::start();
    let mut chance = Chance(0xb17e5);
    let head = format!(
        "POST /api/still HTTP/1.1\r\nConnection: close\r\n{}\r\n",
        server.headers()
    );
    for _ in 0..60 {
        let mut bytes = spoilt(&mut chance, &head);
        // So that the server need not wait for the rest.
        bytes.extend(b"\r\n\r\n");
        let mut stream = server.connect();
        let _ = std::io::Write::write_all(&mut stream, &bytes);
        let _ = stream.shutdown(std::net::Shutdown::Write);
        let reply = common::Reply::read(&mut stream);
        assert!(
            reply.status == 0 || (400..500).contains(&reply.status),
            "{reply:?}"
        );
    }
    assert_eq!(server.ask("GET", "/api/project", "").status, 200);
}
