//! The server from outside: who may ask, what is refused, who waits for whom.

mod common;

use common::{Listening, Reply, Running, run};
use std::io::{Read, Write};
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};
use sumpwright_serve::Limits;
use sumpwright_serve::wire::{Event, Run, Shown, StillAnswer};

const STILL: &str =
    r#"{"variant":{"design":"pan.toml","changes":[]},"acceleration":[0.0,0.5,0.0],"engine_speed":80.0}"#;
const PAN: &str = r#"{"design":"pan.toml","changes":[{"key":"fill","value":"\"4 L\""}]}"#;

/// Waits until `holds`.
fn until(what: &str, holds: impl Fn() -> bool) {
    let begun = Instant::now();
    while !holds() {
        assert!(begun.elapsed() < Duration::from_secs(10), "{what}");
        std::thread::sleep(Duration::from_millis(5));
    }
}

#[test]
fn the_page_gets_answers_and_its_rules() {
    let server = Running::start();
    let reply = server.ask("POST", "/api/still", STILL);
    assert_eq!(reply.status, 200, "{reply:?}");
    let still: StillAnswer = serde_json::from_slice(&reply.body).unwrap();
    assert_eq!((still.oil, still.cover), (80.0, Some(0.5)));
    for rule in [
        "content-security-policy: default-src 'none'; script-src 'self';",
        "frame-ancestors 'none'",
        "x-content-type-options: nosniff",
        "referrer-policy: no-referrer",
        "cross-origin-opener-policy: same-origin",
        "cross-origin-resource-policy: same-origin",
        "cache-control: no-store",
        "content-type: application/json",
    ] {
        assert!(reply.head.contains(rule), "{rule} is not in {}", reply.head);
    }
    assert_eq!(server.ask("GET", "/api/project", "").status, 200);
    let runs: Vec<Run> = serde_json::from_slice(&server.ask("GET", "/api/runs", "").body).unwrap();
    assert_eq!(runs.len(), 1);
    assert_eq!(server.ask("POST", "/api/runs/7/forget", "").text(), "null");
    let frames = server
        .ask("GET", "/api/runs/7/frames?moment=2&from=30", "")
        .text();
    assert!(frames.contains("\"2 30\""), "{frames}");
    // What the house refuses keeps its words.
    let reply = server.ask("POST", "/api/pan", PAN);
    assert_eq!(reply.status, 404);
    assert_eq!(reply.faults()[0].what, "there is no design pan.toml");
}

#[test]
fn a_file_of_a_run_comes_whole() {
    let server = Running::start();
    let reply = server.ask("GET", "/api/runs/1/files/a%20b/x.txt", "");
    assert_eq!(reply.status, 200, "{}", reply.head);
    assert_eq!(reply.body.len(), 600_000);
    assert!(reply.head.contains("content-length: 600000"), "{}", reply.head);
    assert!(reply.head.contains("content-type: text/plain"), "{}", reply.head);
    assert_eq!(server.ask("GET", "/api/runs/1/files/other.txt", "").status, 404);
}

#[test]
fn a_report_is_shown_in_a_tab_of_its_own_that_can_ask_nothing() {
    let server = Running::start();
    let reply = server.ask("POST", "/api/runs/1/show/a%20b/x.txt", "");
    assert_eq!(reply.status, 200, "{reply:?}");
    let shown: Shown = serde_json::from_slice(&reply.body).unwrap();
    // The browser opens it without the token.
    let host = format!("Host: {}\r\n", server.address);
    let reply = server.ask_with(
        "GET",
        &shown.address,
        &format!("{host}Sec-Fetch-Site: same-origin\r\n"),
        "",
    );
    assert_eq!((reply.status, reply.body.len()), (200, 600_000), "{}", reply.head);
    let policies: Vec<&str> = reply
        .head
        .lines()
        .filter(|line| line.starts_with("content-security-policy:"))
        .collect();
    assert_eq!(policies.len(), 1);
    assert!(
        !reply.head.contains("cross-origin-opener-policy"),
        "browsers refuse it together with a sandbox"
    );
    assert!(policies[0].contains("sandbox allow-scripts") && policies[0].contains("default-src 'none'"));
    assert!(!policies[0].contains("allow-same-origin") && !policies[0].contains("connect-src"));
    for (address, headers) in [
        (shown.address.clone(), "Host: evil.example\r\n".to_owned()),
        (
            shown.address.clone(),
            format!("{host}Sec-Fetch-Site: cross-site\r\n"),
        ),
        (shown.address.clone(), format!("{host}Origin: null\r\n")),
    ] {
        assert_eq!(
            server.ask_with("GET", &address, &headers, "").status,
            403,
            "{headers}"
        );
    }
    for address in [
        "/shown/",
        &format!("/shown/{}/x.txt", server.token),
        "/shown/00000000000000000000000000000000/x.txt",
    ] {
        assert_eq!(
            server.ask_with("GET", address, &host, "").status,
            404,
            "{address}"
        );
    }
    assert_eq!(server.ask("POST", "/api/runs/1/show/../x.txt", "").status, 422);
    assert_eq!(server.ask("POST", "/api/runs/1/show/other.txt", "").status, 404);
    assert_eq!(
        server
            .ask_with("POST", "/api/runs/1/show/a%20b/x.txt", &host, "")
            .status,
        401
    );
}

#[test]
fn nobody_asks_without_the_token() {
    let server = Running::start();
    let host = format!("Host: {}\r\n", server.address);
    let wrong = "0".repeat(32);
    for headers in [
        host.clone(),
        format!("{host}X-Sumpwright-Token: \r\n"),
        format!("{host}X-Sumpwright-Token: {wrong}\r\n"),
        format!("{host}X-Sumpwright-Token: {}\r\n", &server.token[..31]),
        format!("{host}Cookie: X-Sumpwright-Token={}\r\n", server.token),
    ] {
        for (method, path, body) in [
            ("GET", "/api/project", ""),
            ("GET", "/api/events", ""),
            ("GET", "/api/nothing", ""),
            ("POST", "/api/pan", PAN),
            ("POST", "/api/runs/1/stop", ""),
        ] {
            let reply = server.ask_with(method, path, &headers, body);
            assert_eq!(reply.status, 401, "{headers}{path}: {reply:?}");
            reply.faults();
        }
    }
    let in_the_address = format!("/api/project?token={}", server.token);
    assert_eq!(server.ask_with("GET", &in_the_address, &host, "").status, 401);
    assert_eq!(
        server.house.asked.load(Ordering::SeqCst),
        0,
        "a question came through"
    );
}

#[test]
fn foreign_hosts_and_pages_are_refused_even_with_the_token() {
    let server = Running::start();
    let own = server.address.to_string();
    let port = server.address.port();
    let token = format!("X-Sumpwright-Token: {}\r\n", server.token);
    for (headers, status) in [
        (format!("Host: {own}\r\n"), 200),
        (
            format!("Host: localhost:{port}\r\nOrigin: http://localhost:{port}\r\n"),
            200,
        ),
        (String::new(), 403),
        ("Host: evil.example\r\n".to_owned(), 403),
        (format!("Host: evil.example:{port}\r\n"), 403),
        ("Host: 127.0.0.1\r\n".to_owned(), 403),
        (format!("Host: {own}\r\nHost: {own}\r\n"), 403),
        (format!("Host: {own}\r\nOrigin: http://evil.example\r\n"), 403),
        (format!("Host: {own}\r\nOrigin: https://{own}\r\n"), 403),
        (format!("Host: {own}\r\nOrigin: http://localhost:{port}\r\n"), 403),
        (format!("Host: {own}\r\nOrigin: null\r\n"), 403),
        (format!("Host: {own}\r\nSec-Fetch-Site: cross-site\r\n"), 403),
        (format!("Host: {own}\r\nSec-Fetch-Site: same-site\r\n"), 403),
        (format!("Host: {own}\r\nSec-Fetch-Site: none\r\n"), 403),
    ] {
        let reply = server.ask_with("GET", "/api/project", &format!("{headers}{token}"), "");
        assert_eq!(reply.status, status, "{headers}: {reply:?}");
    }
    let absolute = format!(
        "GET http://evil.example/api/project HTTP/1.1\r\nConnection: close\r\nHost: {own}\r\n{token}\r\n"
    );
    assert_eq!(server.raw(absolute.as_bytes()).status, 403);
    // The page itself needs no token, but the same host.
    for (headers, refused) in [
        (format!("Host: {own}\r\nSec-Fetch-Site: none\r\n"), false),
        ("Host: evil.example\r\n".to_owned(), true),
        (format!("Host: {own}\r\nSec-Fetch-Site: cross-site\r\n"), true),
    ] {
        let reply = server.ask_with("GET", "/", &headers, "");
        assert_eq!(reply.status == 403, refused, "{headers}: {reply:?}");
        assert!(reply.head.contains("content-security-policy: default-src 'none'"));
    }
}

#[test]
fn a_wrong_question_is_refused_with_words() {
    let server = Running::start();
    let large = format!(r#"{{"design":"{}","changes":[]}}"#, "a".repeat(1 << 20));
    for (method, path, body, status) in [
        ("POST", "/api/pan", "{", 400),
        ("POST", "/api/pan", "", 415),
        ("POST", "/api/pan", "[]", 422),
        ("POST", "/api/pan", r#"{"design":"pan.toml"}"#, 422),
        (
            "POST",
            "/api/pan",
            r#"{"design":"pan.toml","changes":[],"more":1}"#,
            422,
        ),
        ("POST", "/api/pan", &"[".repeat(100_000), 422),
        ("POST", "/api/pan", &large, 413),
        ("POST", "/api/still", &STILL.replace("80.0", "1e999"), 400),
        ("POST", "/api/still", &STILL.replace("80.0", "null"), 422),
        ("GET", "/api/pan", "", 405),
        ("DELETE", "/api/runs", "", 405),
        ("OPTIONS", "/api/runs", "", 405),
        ("POST", "/", "{}", 405),
        ("GET", "/api/", "", 404),
        ("GET", "/api/pans", "", 404),
        ("GET", "/../Cargo.toml", "", 404),
        ("GET", "/%2e%2e/Cargo.toml", "", 404),
        ("POST", "/api/runs/-1/stop", "", 404),
        ("POST", "/api/runs/99999999999/stop", "", 404),
        ("GET", "/api/runs/1/frames?from=-1", "", 400),
        ("GET", "/api/runs/1/files/%ff", "", 400),
        ("GET", "/api/runs/1/files/%2", "", 400),
    ] {
        let reply = server.ask(method, path, body);
        let told = format!("{method} {path} {}: {reply:?}", &body[..body.len().min(80)]);
        assert_eq!(reply.status, status, "{told}");
        assert!(!reply.faults()[0].mend.is_empty(), "{told}");
    }
    // More than it says, piece by piece.
    let head = format!(
        "POST /api/pan HTTP/1.1\r\n{}Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n",
        server.headers()
    );
    let mut stream = server.connect();
    stream.write_all(head.as_bytes()).unwrap();
    let piece = format!("10000\r\n{}\r\n", " ".repeat(0x10000));
    for _ in 0..17 {
        let _ = stream.write_all(piece.as_bytes());
    }
    assert_eq!(Reply::read(&mut stream).status, 413);
    assert_eq!(
        server.house.asked.load(Ordering::SeqCst),
        0,
        "a question came through"
    );
}

#[test]
fn names_of_files_stay_below_the_folder() {
    let server = Running::start();
    for name in [
        "../pan.toml",
        "/etc/passwd",
        "a/../../b",
        "..\\\\pan.toml",
        "C:/pan.toml",
        "pan\\u0000.toml",
        "nul",
        "",
    ] {
        let variant = format!(r#"{{"design":"{name}","changes":[]}}"#);
        let fine = r#"{"design":"pan.toml","changes":[]}"#;
        for (path, body) in [
            ("/api/pan", variant.clone()),
            ("/api/lap", variant.clone()),
            ("/api/round", variant.clone()),
            ("/api/still", STILL.replace("pan.toml", name)),
            (
                "/api/section",
                format!(r#"{{"variant":{variant},"part":"seal"}}"#),
            ),
            (
                "/api/runs",
                format!(r#"{{"variant":{variant},"kind":"check","cell":null,"brief":true}}"#),
            ),
            (
                "/api/save",
                format!(r#"{{"variant":{variant},"digest":"","name":"x","file":"x.toml"}}"#),
            ),
            (
                "/api/save",
                format!(r#"{{"variant":{fine},"digest":"","name":"x","file":"{name}"}}"#),
            ),
        ] {
            let reply = server.ask("POST", path, &body);
            assert_eq!(reply.status, 422, "{path} {name}: {reply:?}");
            assert!(
                reply.text().contains("is no name of a file below"),
                "{}",
                reply.text()
            );
        }
    }
    for name in [
        "../x",
        "%2e%2e/x",
        "..%2fx",
        "%2fetc%2fpasswd",
        "a%5c..%5cx",
        "x%00",
        "C:x",
        "a//b",
        "",
    ] {
        let reply = server.ask("GET", &format!("/api/runs/1/files/{name}"), "");
        assert_eq!(reply.status, 422, "{name}: {reply:?}");
    }
    assert_eq!(
        server.house.asked.load(Ordering::SeqCst),
        0,
        "a question came through"
    );
}

#[test]
fn a_long_lap_keeps_nobody_else_waiting() {
    let server = Running::start();
    std::thread::scope(|scope| {
        let laps: Vec<_> = (0..6)
            .map(|_| scope.spawn(|| server.ask("POST", "/api/lap", PAN).status))
            .collect();
        until("two laps begin", || server.house.laps.load(Ordering::SeqCst) == 2);
        let begun = Instant::now();
        assert_eq!(server.ask("POST", "/api/still", STILL).status, 200);
        assert_eq!(server.ask("POST", "/api/runs/1/stop", "").status, 200);
        assert!(begun.elapsed() < Duration::from_secs(5), "{:?}", begun.elapsed());
        // The others wait for a place.
        assert_eq!(server.house.laps.load(Ordering::SeqCst), 2);
        server.house.open();
        for lap in laps {
            assert_eq!(lap.join().unwrap(), 404);
        }
    });
    assert_eq!(server.house.laps.load(Ordering::SeqCst), 6);
}

#[test]
fn a_panic_of_the_house_is_told_and_the_rest_goes_on() {
    let server = Running::start();
    for _ in 0..8 {
        let reply = server.ask("POST", "/api/pan", r#"{"design":"panic","changes":[]}"#);
        assert_eq!(reply.status, 500);
        assert_eq!(reply.faults()[0].what, "the program failed at this question");
    }
    assert_eq!(server.ask("POST", "/api/still", STILL).status, 200);
}

#[test]
fn many_pages_hear_what_happens_and_one_that_does_not_read_stalls_nobody() {
    let server = Running::start();
    let slow = Listening::to(&server);
    let mut pages: Vec<Listening> = (0..20).map(|_| Listening::to(&server)).collect();
    // On a slow machine signs of life come in between.
    let told = |page: &mut Listening| loop {
        match page.next() {
            Event::Alive => {}
            event => break event,
        }
    };
    // Far more than the sockets in between hold, so that the slow one is left behind.
    let long = "x".repeat(100_000);
    for n in 0..300 {
        server.house.happens(&Event::Changed {
            design: format!("{n} {long}"),
            digest: None,
        });
        for page in &mut pages[..2] {
            let Event::Changed { design, .. } = told(page) else {
                panic!("another event");
            };
            assert!(design.starts_with(&format!("{n} ")));
        }
    }
    assert_eq!(server.ask("POST", "/api/still", STILL).status, 200);
    server.house.happens(&Event::Run {
        run: Box::new(run(3, "half")),
    });
    for page in &mut pages[..2] {
        assert_eq!(
            told(page),
            Event::Run {
                run: Box::new(run(3, "half"))
            }
        );
    }
    drop(slow);
}

#[test]
fn a_page_hears_on_after_the_house_let_the_server_go() {
    let server = Running::start();
    let mut page = Listening::to(&server);
    until("the server listens", || server.house.is_heard());
    server.house.let_go();
    until("the server listens again", || server.house.is_heard());
    server.house.happens(&Event::Forgotten { id: 4 });
    assert_eq!(page.next(), Event::Forgotten { id: 4 });
}

#[test]
fn a_quiet_stream_shows_that_it_lives() {
    let server = Running::with(Limits {
        alive: Duration::from_millis(50),
        ..Limits::default()
    });
    let mut page = Listening::to(&server);
    assert_eq!(page.next(), Event::Alive);
    assert_eq!(page.next(), Event::Alive);
}

#[test]
fn who_says_nothing_is_sent_away() {
    let server = Running::with(Limits {
        connections: 4,
        head: Duration::from_millis(200),
        body_wait: Duration::from_millis(200),
        ..Limits::default()
    });
    // All places taken by callers that never end their question.
    let mut idle: Vec<_> = (0..4).map(|_| server.connect()).collect();
    for stream in &mut idle {
        stream.write_all(b"GET / HTTP/1.1\r\nHost:").unwrap();
    }
    assert_eq!(server.ask("POST", "/api/still", STILL).status, 200);
    for stream in &mut idle {
        let mut rest = Vec::new();
        let _ = stream.read_to_end(&mut rest);
    }
    let mut stream = server.connect();
    let head = format!(
        "POST /api/still HTTP/1.1\r\nConnection: close\r\n{}Content-Type: application/json\r\nContent-Length: 100\r\n\r\n{{",
        server.headers()
    );
    stream.write_all(head.as_bytes()).unwrap();
    assert_eq!(Reply::read(&mut stream).status, 408);
}

#[test]
fn a_stop_ends_it_at_once_whatever_is_under_way() {
    let server = Running::start();
    let address = server.address;
    let _page = Listening::to(&server);
    let mut lap = server.connect();
    let head = format!(
        "POST /api/lap HTTP/1.1\r\n{}Content-Type: application/json\r\nContent-Length: {}\r\n\r\n{PAN}",
        server.headers(),
        PAN.len()
    );
    lap.write_all(head.as_bytes()).unwrap();
    until("a lap begins", || server.house.laps.load(Ordering::SeqCst) == 1);
    let begun = Instant::now();
    server.finish();
    assert!(
        begun.elapsed() < Duration::from_millis(500),
        "{:?}",
        begun.elapsed()
    );
    assert!(std::net::TcpStream::connect(address).is_err(), "it still listens");
}
