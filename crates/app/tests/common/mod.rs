//! Driving the real program from outside, each journey in a folder of its own.

#![allow(dead_code, reason = "each test file uses its own part")]

pub mod served;

use assert_cmd::Command;
use std::path::{Path, PathBuf};

/// A folder that is removed at the end.
pub struct Folder(PathBuf);

impl Folder {
    /// A fresh one; `name` must differ from test to test.
    pub fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("sumpwright-{}-{name}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        std::fs::create_dir_all(&path).expect("the temporary folder can be written to");
        Folder(path)
    }

    /// Path of a file in it.
    pub fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    /// Writes a file in it.
    pub fn write(&self, name: &str, text: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path(name);
        std::fs::write(&path, text).expect("the temporary folder can be written to");
        path
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// What the program answered.
pub struct Answer {
    /// Exit code.
    pub code: i32,
    /// Its stdout.
    pub out: String,
    /// Its stderr.
    pub err: String,
}

/// Runs the program in `folder`.
pub fn run(folder: &Path, arguments: &[&str]) -> Answer {
    let output = Command::cargo_bin("sumpwright")
        .expect("the program is built with its tests")
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .args(arguments)
        .output()
        .expect("the program starts");
    Answer {
        code: output.status.code().unwrap_or(-1),
        out: String::from_utf8_lossy(&output.stdout).into_owned(),
        err: String::from_utf8_lossy(&output.stderr).into_owned(),
    }
}

impl Folder {
    /// Runs the program here.
    pub fn run(&self, arguments: &[&str]) -> Answer {
        run(&self.0, arguments)
    }

    /// Runs `check` with large cells and one moment: the quickest true answer.
    pub fn check(&self, more: &[&str]) -> Answer {
        let mut arguments = vec![
            "check",
            "pan.toml",
            "--cell",
            "12 mm",
            "--moments",
            "1",
            "--brief",
        ];
        arguments.extend(more);
        self.run(&arguments)
    }
}

/// A small box sump with one wall and one door, and a short stop to drive.
pub const PAN: &str = r#"format = "2026-11"
name = "Box"
[engine]
name = "test engine"
idle = "900 rpm"
redline = "6500 rpm"
[installation]
orientation = "along"
[oil]
grade = "5W-30"
temperature = "100 C"
[pump]
displacement = "10 cc/rev"
relief_flow = "30 L/min"
[circuit]
aloft = [["900 rpm", "0.1 L"], ["6500 rpm", "0.5 L"]]
[[return]]
name = "mains"
at = ["60 mm", "0 mm", "10 mm"]
diameter = "80 mm"
share = 1
delay = "0.2 s"
[[pocket]]
name = "sump"
rectangle = { x = ["-150 mm", "150 mm"], y = ["-100 mm", "100 mm"] }
z = ["-100 mm", "0 mm"]
[[pocket]]
name = "crankcase"
side = "block"
rectangle = { x = ["-150 mm", "150 mm"], y = ["-90 mm", "90 mm"] }
z = ["0 mm", "80 mm"]
[[plate]]
name = "wall"
wall = [["20 mm", "-100 mm"], ["20 mm", "100 mm"]]
z = ["-100 mm", "-20 mm"]
thickness = "1.5 mm"
[[door]]
name = "flap"
plate = "wall"
low = ["60 mm", "-95 mm"]
high = ["140 mm", "-60 mm"]
hinge = "top"
opens = "rear"
[pickup]
mouth = ["-70 mm", "0 mm", "-86 mm"]
diameter = "36 mm"
[fill]
volume = "3.5 L"
[[drive.manoeuvre]]
name = "hard stop"
kind = "stop"
braking = "0.9 g"
speed = "45 km/h"
lead_in = "0.4 s"
run_out = "0.4 s"
"#;

/// A log of `seconds` at 20 Hz: a steady left, lateral acceleration as `lateral` writes it.
pub fn log(seconds: usize, lateral: impl Fn(usize) -> String) -> String {
    let mut text =
        String::from("time,speed,engine speed,lateral,longitudinal,yaw rate\ns,km/h,rpm,g,g,deg/s\n");
    for i in 0..seconds * 20 {
        let t = i as f64 / 20.0;
        let g = 0.8 * (t * 0.7).sin();
        let yaw = (g * 9.80665 / 25.0).to_degrees();
        text += &format!(
            "{t:.2},90.0,4500,{},{:.3},{yaw:.3}\n",
            lateral(i),
            0.05 * (t * 0.3).cos()
        );
    }
    text
}

/// The lateral column of an honest log, in g.
pub fn honest(i: usize) -> String {
    format!("{:.3}", 0.8 * (i as f64 / 20.0 * 0.7).sin())
}
