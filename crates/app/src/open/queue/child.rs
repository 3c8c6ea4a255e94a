//! A run as a program of its own: started, listened to, asked to stop, ended when it does not.

use super::ledger::{Kept, place};
use crate::failure::Complaint;
use crate::overseer::{OVERSEEN, Told};
use serve::wire::RunKind;
use std::ffi::OsString;
use std::io::{self, BufRead, BufReader, Read};
use std::path::Path;
use std::process::{Child, ChildStderr, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

/// Longest line that is listened to [bytes].
const LONGEST_LINE: u64 = 1 << 20;

/// Lines kept of what a run said beside its answer.
const LAST_WORDS: usize = 12;

/// Between two looks at a child.
pub const LOOK: Duration = Duration::from_millis(50);

/// How long a child that was asked to stop may take.
pub const PATIENCE: Duration = Duration::from_secs(8);

/// Name of the folder for what a run writes, in the run's folder.
pub const RESULTS: &str = "results";

/// Name of the folder that holds the design and what it reads, in the run's folder.
pub const DESIGN: &str = "design";

/// A child that computes a run.
pub struct Working {
    child: Child,
    asked: Option<Instant>,
}

/// Starts a run; what it tells is read from the second.
pub fn start(program: &Path, folder: &Path, kept: &Kept) -> io::Result<(Working, ChildStderr)> {
    let home = place(folder, kept.run.id);
    let mut child = Command::new(program)
        .args(arguments(kept))
        .current_dir(&home)
        .env(OVERSEEN, home.join("lock"))
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()?;
    let said = child.stderr.take().expect("it is piped");
    Ok((Working { child, asked: None }, said))
}

/// The command of a run, given in its folder.
fn arguments(kept: &Kept) -> Vec<OsString> {
    let ask = &kept.run.ask;
    let mut words: Vec<OsString> = Vec::new();
    words.push(match ask.kind {
        RunKind::Check => "check".into(),
        RunKind::Sketch => "bays".into(),
        RunKind::Shop => "shop".into(),
    });
    words.push(Path::new(DESIGN).join(&kept.design).into());
    words.push(format!("--out={RESULTS}").into());
    match ask.kind {
        RunKind::Check => {
            words.extend(ask.cell.iter().map(|cell| format!("--cell={cell}").into()));
            words.extend(ask.brief.then(|| "--brief".into()));
        }
        RunKind::Sketch => words.push("--report".into()),
        RunKind::Shop => {}
    }
    words
}

impl Working {
    /// Asks it to stop by ending its input.
    pub fn ask(&mut self) {
        if self.asked.is_none() {
            self.asked = Some(Instant::now());
            drop(self.child.stdin.take());
        }
    }

    /// How it ended, if it has; one that was asked and does not end is killed.
    pub fn ended(&mut self) -> io::Result<Option<ExitStatus>> {
        if self.asked.is_some_and(|asked| asked.elapsed() > PATIENCE) {
            self.child.kill()?;
            return self.child.wait().map(Some);
        }
        self.child.try_wait()
    }

    /// Ends it whatever it does.
    pub fn kill(&mut self) {
        // It may have ended by itself.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// What a run said in the end.
#[derive(Default)]
pub struct LastWords {
    /// Why there is no answer.
    pub faults: Vec<Complaint>,
    /// Whether it stopped because it was asked to.
    pub stopped: bool,
    /// The last lines that are no message.
    pub lines: Vec<String>,
}

/// Reads all that a run says; progress and moments are handed on as they come.
pub fn listen(said: impl Read, mut hear: impl FnMut(Told)) -> LastWords {
    let mut said = BufReader::new(said);
    let mut words = LastWords::default();
    let mut line = Vec::new();
    loop {
        line.clear();
        match (&mut said).take(LONGEST_LINE).read_until(b'\n', &mut line) {
            Ok(read) if read > 0 => {}
            _ => return words,
        }
        match serde_json::from_slice(&line) {
            Ok(Told::Faults(faults)) => words.faults.extend(faults),
            Ok(Told::Stopped) => words.stopped = true,
            Ok(told) => hear(told),
            Err(_) => {
                words
                    .lines
                    .push(String::from_utf8_lossy(&line).trim_end().to_owned());
                if words.lines.len() > LAST_WORDS {
                    words.lines.remove(0);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn messages_are_heard_among_other_lines() {
        let complaint = Complaint {
            what: "it does not hold".into(),
            place: "pan.toml:4".into(),
            mend: "change it".into(),
        };
        let progress = Told::Progress {
            line: "half".into(),
            share: Some(0.5),
            left: None,
        };
        let mut said = b"note: one\n\xff\xfe\n{}\n".to_vec();
        for told in [&progress, &Told::Faults(vec![complaint.clone()]), &Told::Stopped] {
            said.extend(serde_json::to_vec(told).unwrap());
            said.push(b'\n');
        }
        said.extend(b"no end of line");
        let mut heard = Vec::new();
        let words = listen(said.as_slice(), |told| heard.push(told));
        assert_eq!(heard, [progress]);
        assert_eq!(words.faults, [complaint]);
        assert!(words.stopped);
        assert_eq!(words.lines.len(), 4);
        assert_eq!(
            (words.lines[0].as_str(), words.lines[3].as_str()),
            ("note: one", "no end of line")
        );
    }
}
