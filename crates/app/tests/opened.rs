//! The server of the page as the program runs it: the queue of runs through stops, kills and spoilt disks.

mod common;

use assert_cmd::cargo::CommandCargoExt;
use common::{Folder, PAN};
use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// How long anything may take on a busy machine.
const PATIENCE: Duration = Duration::from_secs(120);

/// The program as it serves a folder.
struct Served {
    child: Child,
    host: String,
    token: String,
}

impl Served {
    fn open(folder: &Folder) -> Served {
        let mut child = start(folder);
        let mut line = String::new();
        let out = child.stdout.take().expect("it is piped");
        BufReader::new(out)
            .read_line(&mut line)
            .expect("it says where it is");
        let found = line
            .trim()
            .strip_prefix("the page: http://")
            .and_then(|rest| rest.split_once("/#"));
        let Some((host, token)) = found else {
            let mut said = String::new();
            let _ = child
                .stderr
                .take()
                .expect("it is piped")
                .read_to_string(&mut said);
            panic!("no address: {line}{said}");
        };
        Served {
            child,
            host: host.into(),
            token: token.into(),
        }
    }

    /// Status and body of an answer.
    fn bytes(&self, method: &str, path: &str, body: &str) -> (u16, Vec<u8>) {
        let mut stream = TcpStream::connect(&self.host).expect("the server listens");
        stream.set_read_timeout(Some(PATIENCE)).unwrap();
        let (host, token, length) = (&self.host, &self.token, body.len());
        let question = format!(
            "{method} /api/{path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nX-Sumpwright-Token: {token}\r\n\
             Content-Type: application/json\r\nContent-Length: {length}\r\n\r\n{body}"
        );
        stream.write_all(question.as_bytes()).expect("it listens");
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).expect("it answers");
        let split = answer
            .windows(4)
            .position(|w| w == b"\r\n\r\n")
            .expect("an answer has a head")
            + 4;
        let body = answer.split_off(split);
        let head = String::from_utf8_lossy(&answer).into_owned();
        let status = head.split(' ').nth(1).and_then(|word| word.parse().ok());
        (status.unwrap_or_else(|| panic!("no status: {head}")), body)
    }

    fn ask(&self, method: &str, path: &str, body: &Value) -> (u16, Value) {
        let body = if body.is_null() {
            String::new()
        } else {
            body.to_string()
        };
        let (status, bytes) = self.bytes(method, path, &body);
        (status, serde_json::from_slice(&bytes).expect("answers are JSON"))
    }

    /// Puts a run into the queue.
    fn start(&self, kind: &str, cell: &str, changes: Value) -> u64 {
        let ask = json!({
            "variant": { "design": "pan.toml", "changes": changes }, "kind": kind, "cell": cell, "brief": true,
        });
        let (status, run) = self.ask("POST", "runs", &ask);
        assert_eq!(status, 200, "{run}");
        run["id"].as_u64().expect("a run has a number")
    }

    fn run(&self, id: u64) -> Value {
        let (_, runs) = self.ask("GET", "runs", &Value::Null);
        let find = |runs: &Value| runs.as_array()?.iter().find(|run| run["id"] == id).cloned();
        find(&runs).unwrap_or_else(|| panic!("run {id} is not among {runs}"))
    }

    /// Waits until a run is as wanted.
    fn until(&self, id: u64, what: &str, holds: impl Fn(&Value) -> bool) -> Value {
        let begun = Instant::now();
        loop {
            let run = self.run(id);
            if holds(&run) {
                return run;
            }
            assert!(
                begun.elapsed() < PATIENCE && run["state"] != "failed",
                "{what}: {run}"
            );
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    fn kill(mut self) {
        self.child.kill().expect("it can be killed");
        self.child.wait().expect("it ends");
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Whether the program has its page; one that was built without says what to run.
fn has_page(folder: &Folder) -> bool {
    let page = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../web/dist/page/index.html");
    if page.is_file() {
        return true;
    }
    let refused = start(folder).wait_with_output().expect("it ends");
    let said = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert!(
        said.contains("built without its page") && said.contains("cargo xtask setup"),
        "{said}"
    );
    eprintln!("the page is not built, so nothing more can be tested here");
    false
}

fn start(folder: &Folder) -> Child {
    Command::cargo_bin("sumpwright")
        .expect("the program is built with its tests")
        .current_dir(folder.path("."))
        .args(["open", "pan.toml", "--no-browser", "--port", "0"])
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts")
}

fn state(run: &Value) -> &str {
    run["state"].as_str().expect("a run has a state")
}

fn at_work(run: &Value) -> bool {
    state(run) == "running" && run["share"].as_f64().is_some_and(|share| share > 0.05)
}

#[test]
fn runs_go_on_after_a_stop_and_a_kill_and_end_with_the_verdict_of_check() {
    let folder = Folder::new("page");
    folder.write("pan.toml", PAN);
    if !has_page(&folder) {
        return;
    }
    folder.write(
        "less.toml",
        "format = \"2026-11\"\nname = \"Box\"\nbase = \"pan.toml\"\n[fill]\nvolume = \"3 L\"\n",
    );
    let served = Served::open(&folder);
    let first = served.start(
        "check",
        "9 mm",
        json!([{ "key": "fill.volume", "value": "\"3 L\"" }]),
    );
    let second = served.start("sketch", "12 mm", json!([]));
    assert_eq!((first, second), (1, 2));
    served.until(first, "the first begins", at_work);
    assert_eq!(state(&served.run(second)), "waiting", "one at a time");

    let begun = Instant::now();
    let (status, run) = served.ask("POST", "runs/1/stop", &Value::Null);
    assert_eq!((status, state(&run)), (200, "stopped"));
    assert!(
        begun.elapsed() < Duration::from_secs(2),
        "a stop took {:?}",
        begun.elapsed()
    );
    served.until(second, "the next takes its turn", |run| state(run) == "done");
    assert_eq!(served.ask("POST", "runs/2/stop", &Value::Null).0, 422);

    let (status, run) = served.ask("POST", "runs/1/resume", &Value::Null);
    assert_eq!((status, state(&run)), (200, "waiting"));
    let before = run["share"].as_f64().expect("it had begun");
    served.until(first, "it goes on", |run| {
        at_work(run) && run["share"].as_f64() > Some(before)
    });
    // What is edited meanwhile is not what was asked.
    folder.write("pan.toml", PAN.replace("3.5 L", "3.9 L"));
    served.kill();

    let served = Served::open(&folder);
    let done = served.until(first, "it ends with the next server", |run| state(run) == "done");
    folder.write("pan.toml", PAN);
    let own = folder.run(&["check", "less.toml", "--cell", "9 mm", "--brief", "--json"]);
    assert_eq!(own.code, 0, "{}", own.err);
    let own: Value = serde_json::from_str(&own.out).expect("--json prints an object");
    for (ours, due) in [
        ("sentence", "/verdict/sentence"),
        ("least_cover", "/verdict/least_cover/value"),
    ] {
        assert_eq!(Some(&done["verdict"][ours]), own.pointer(due), "{ours}");
    }
    assert!(done["verdict"]["word"].is_string());
    assert_eq!(done["share"], 1.0);

    let (status, frames) = served.ask("GET", "runs/1/frames?moment=0&from=0", &Value::Null);
    assert_eq!(status, 200);
    let count = frames["times"].as_array().expect("there are times").len();
    assert!(count > 10, "{count} pictures");
    assert_eq!(frames["fills"].as_array().map(Vec::len), Some(count));
    assert!(
        frames["cover"]
            .as_array()
            .is_some_and(|c| c.len() == count && c.iter().all(Value::is_number))
    );
    assert!(
        frames["scene"]["shell"]["triangles"]
            .as_array()
            .is_some_and(|t| !t.is_empty())
    );
    let (_, rest) = served.ask("GET", "runs/1/frames?moment=0&from=3", &Value::Null);
    assert!(rest["scene"].is_null());
    assert_eq!(rest["fills"][0], frames["fills"][3]);
    assert_eq!(served.ask("GET", "runs/1/frames?moment=9", &Value::Null).0, 404);

    let names: Vec<&str> = done["files"]
        .as_array()
        .expect("files")
        .iter()
        .filter_map(|f| f["name"].as_str())
        .collect();
    assert!(
        names.contains(&"report.html") && names.contains(&"result.json"),
        "{names:?}"
    );
    assert!(!names.iter().any(|name| name.starts_with("runs/")), "{names:?}");
    let (status, report) = served.bytes("GET", "runs/1/files/report.html", "");
    let on_disk = std::fs::read(folder.path("sumpwright-page/run-1/results/report.html")).unwrap();
    assert!(
        status == 200 && report == on_disk,
        "{status}, {} bytes",
        report.len()
    );
    for (name, status) in [
        ("../design/pan.toml", 422),
        ("runs/read-me.txt", 404),
        ("other.html", 404),
    ] {
        assert_eq!(
            served.ask("GET", &format!("runs/1/files/{name}"), &Value::Null).0,
            status,
            "{name}"
        );
    }
    #[cfg(unix)]
    {
        let link = folder.path("sumpwright-page/run-1/results/out.toml");
        std::os::unix::fs::symlink(folder.path("pan.toml"), link).unwrap();
        assert_eq!(served.ask("GET", "runs/1/files/out.toml", &Value::Null).0, 404);
    }
    assert_eq!(served.ask("POST", "runs/1/forget", &Value::Null).0, 200);
    assert_eq!(served.ask("POST", "runs/1/resume", &Value::Null).0, 404);
    assert!(
        folder.path("sumpwright-page/run-1/results/report.html").is_file(),
        "what it wrote stays"
    );
}

#[test]
fn what_is_wrong_is_told_and_nothing_waits_in_vain() {
    let folder = Folder::new("page-wrong");
    folder.write("pan.toml", PAN);
    if !has_page(&folder) {
        return;
    }
    // In the way of the folder of runs.
    folder.write("sumpwright-page", "");
    let served = Served::open(&folder);
    let ask = |design: &str, cell: &str, changes: Value| {
        let ask = json!({
            "variant": { "design": design, "changes": changes }, "kind": "shop", "cell": cell, "brief": true,
        });
        let (status, answer) = served.ask("POST", "runs", &ask);
        (
            status,
            answer["faults"][0]["what"]
                .as_str()
                .unwrap_or_default()
                .to_owned(),
        )
    };
    let (status, what) = ask("pan.toml", "9 mm", json!([]));
    assert!(
        status == 500 && what.starts_with("cannot make the folder"),
        "{status} {what}"
    );
    assert_eq!(ask("other.toml", "9 mm", json!([])).0, 404);
    assert_eq!(ask("pan.toml", "8 furlongs", json!([])).0, 422);
    assert_eq!(
        ask(
            "pan.toml",
            "9 mm",
            json!([{ "key": "fill.volume", "value": "\"3 kg\"" }])
        )
        .0,
        422
    );
    assert_eq!(served.ask("GET", "runs", &Value::Null).1, json!([]));
    std::fs::remove_file(folder.path("sumpwright-page")).unwrap();

    // A run that its program refuses says so in the program's words.
    let run = served.start("check", "18 mm", json!([]));
    let begun = Instant::now();
    let failed = loop {
        let run = served.run(run);
        if state(&run) == "failed" {
            break run;
        }
        assert!(begun.elapsed() < PATIENCE, "{run}");
        std::thread::sleep(Duration::from_millis(20));
    };
    let fault = &failed["faults"][0];
    assert!(
        fault["what"]
            .as_str()
            .is_some_and(|what| what.contains("18.0 mm")),
        "{fault}"
    );
    assert!(
        fault["mend"].as_str().is_some_and(|mend| !mend.is_empty()),
        "{fault}"
    );

    let place = fault["place"].as_str().unwrap_or_default();
    assert!(
        place.starts_with("pan.toml:") && fault["key"] == "pickup",
        "{fault}"
    );

    // Runs of a folder are one server's at a time.
    let other = start(&folder).wait_with_output().expect("it ends");
    assert_eq!(other.status.code(), Some(3));
    let said = String::from_utf8_lossy(&other.stderr).into_owned();
    assert!(
        said.contains("another `sumpwright open`") && said.contains("mend: "),
        "{said}"
    );
    served.kill();

    // A list that is spoilt is put aside, and the number of a run that wrote something is not taken again.
    folder.write("sumpwright-page/runs.json", "{ spoilt");
    let served = Served::open(&folder);
    assert_eq!(served.ask("GET", "runs", &Value::Null).1, json!([]));
    assert!(folder.path("sumpwright-page/runs.json.damaged").is_file());
    assert_eq!(served.start("sketch", "9 mm", json!([])), run + 1);
}

#[cfg(unix)]
#[test]
fn ctrl_c_ends_it_at_once_and_the_run_goes_on_with_the_next() {
    let folder = Folder::new("page-ctrl-c");
    folder.write("pan.toml", PAN);
    if !has_page(&folder) {
        return;
    }
    let mut served = Served::open(&folder);
    let id = served.start("check", "8 mm", json!([]));
    served.until(id, "it begins", at_work);
    let begun = Instant::now();
    let asked = Command::new("kill")
        .args(["-INT", &served.child.id().to_string()])
        .status();
    assert!(asked.expect("kill is there").success());
    let status = served.child.wait().expect("it ends");
    assert_eq!(status.code(), Some(0));
    assert!(
        begun.elapsed() < Duration::from_secs(5),
        "it took {:?}",
        begun.elapsed()
    );
    let served = Served::open(&folder);
    served.until(id, "it goes on", at_work);
    assert_eq!(served.ask("POST", "runs/1/stop", &Value::Null).0, 200);
}
