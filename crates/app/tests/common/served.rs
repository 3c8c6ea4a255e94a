//! The program as it serves a folder, asked over the wire.

use super::Folder;
use assert_cmd::cargo::CommandCargoExt;
use serde_json::Value;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// How long an answer may take on a busy machine.
const PATIENCE: Duration = Duration::from_secs(120);

/// A folder that is served until this goes.
pub struct Served {
    child: Child,
    host: String,
    token: String,
}

impl Served {
    /// Opens `design` of a folder.
    pub fn open(folder: &Folder, design: &str) -> Served {
        let mut child = Command::cargo_bin("sumpwright")
            .expect("the program is built with its tests")
            .current_dir(folder.path("."))
            .args(["open", design, "--no-browser", "--port", "0"])
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let out = child.stdout.take().expect("it is piped");
        let mut line = String::new();
        (BufReader::new(out).read_line(&mut line)).expect("it says where it is");
        let found = line.trim().strip_prefix("the page: http://");
        let Some((host, token)) = found.and_then(|rest| rest.split_once("/#")) else {
            let mut said = String::new();
            let mut err = child.stderr.take().expect("it is piped");
            let _ = err.read_to_string(&mut said);
            panic!("no address: {line}{said}");
        };
        Served {
            child,
            host: host.to_owned(),
            token: token.to_owned(),
        }
    }

    /// Status and body of an answer; a question without a body is a GET.
    pub fn ask(&self, path: &str, body: Option<&Value>) -> (u16, Value) {
        let mut stream = TcpStream::connect(&self.host).expect("the server listens");
        stream.set_read_timeout(Some(PATIENCE)).expect("a length of time");
        let method = if body.is_some() { "POST" } else { "GET" };
        let body = body.map(Value::to_string).unwrap_or_default();
        let (host, token, length) = (&self.host, &self.token, body.len());
        let question = format!(
            "{method} /api/{path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nX-Sumpwright-Token: {token}\r\n\
             Content-Type: application/json\r\nContent-Length: {length}\r\n\r\n{body}"
        );
        stream.write_all(question.as_bytes()).expect("it listens");
        let mut answer = String::new();
        stream.read_to_string(&mut answer).expect("it answers in UTF-8");
        let (head, body) = answer.split_once("\r\n\r\n").expect("an answer has a head");
        let status = head.split(' ').nth(1).and_then(|word| word.parse().ok());
        (
            status.unwrap_or_else(|| panic!("no status: {head}")),
            serde_json::from_str(body).unwrap_or_else(|e| panic!("{e}: {head}\n{body}")),
        )
    }

    /// An answer that must be one.
    pub fn good(&self, path: &str, body: &Value) -> Value {
        let (status, answer) = self.ask(path, Some(body));
        assert_eq!(status, 200, "{path}: {answer}");
        answer
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A series as the wire packs it: base64 of f32, little-endian.
pub fn unpacked(packed: &Value) -> Vec<f32> {
    let letters = packed.as_str().expect("a series is text").bytes();
    let value = |letter: u8| match letter {
        b'A'..=b'Z' => letter - b'A',
        b'a'..=b'z' => letter - b'a' + 26,
        b'0'..=b'9' => letter - b'0' + 52,
        b'+' => 62,
        b'/' => 63,
        other => panic!("no base64: {other}"),
    };
    let (mut bytes, mut held, mut bits) = (Vec::new(), 0u32, 0);
    for letter in letters.filter(|letter| *letter != b'=') {
        held = held << 6 | u32::from(value(letter));
        bits += 6;
        if bits >= 8 {
            bits -= 8;
            bytes.push((held >> bits) as u8);
        }
    }
    assert_eq!(bytes.len() % 4, 0);
    let single = |four: &[u8]| f32::from_le_bytes(four.try_into().expect("four of them"));
    bytes.chunks(4).map(single).collect()
}
