//! Why a command ended without an answer: what, where, how to mend it, and the exit code.

use crate::store::StoreFault;
use serde::{Deserialize, Serialize};
use std::io::Write;
use std::process::ExitCode;

/// One complaint.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Complaint {
    /// What is wrong.
    pub what: String,
    /// Where, such as "pan.toml:41, pickup.mouth"; empty when it has no place.
    pub place: String,
    /// How to mend it.
    pub mend: String,
}

/// Why there is no answer.
pub enum Failure {
    /// The input is wrong: everything that is wrong with it.
    Input(Vec<Complaint>),
    /// It could not be computed.
    Computing(Complaint),
    /// The user stopped it; the runs on disk go on where they stopped.
    Stopped,
}

impl Failure {
    /// One wrong input.
    pub fn input(what: impl Into<String>, place: impl Into<String>, mend: impl Into<String>) -> Failure {
        Failure::Input(vec![Complaint {
            what: what.into(),
            place: place.into(),
            mend: mend.into(),
        }])
    }

    /// One thing that went wrong while computing.
    pub fn computing(what: impl Into<String>, mend: impl Into<String>) -> Failure {
        Failure::Computing(Complaint {
            what: what.into(),
            place: String::new(),
            mend: mend.into(),
        })
    }

    /// Says it on stderr.
    pub fn show(&self) {
        let text = match self {
            Failure::Input(complaints) => complaints
                .iter()
                .map(Complaint::text)
                .collect::<Vec<_>>()
                .join("\n"),
            Failure::Computing(complaint) => complaint.text(),
            Failure::Stopped => "stopped; the same command goes on from here\n".to_string(),
        };
        let _ = std::io::stderr().lock().write_all(text.as_bytes());
    }

    /// 2 for wrong input, 3 for the rest.
    pub fn exit_code(&self) -> ExitCode {
        match self {
            Failure::Input(_) => ExitCode::from(2),
            Failure::Computing(_) | Failure::Stopped => ExitCode::from(3),
        }
    }
}

impl Complaint {
    fn text(&self) -> String {
        let mut text = format!("error: {}\n", self.what);
        if !self.place.is_empty() {
            text += &format!("  at {}\n", self.place);
        }
        if !self.mend.is_empty() {
            text += &format!("  mend: {}\n", self.mend);
        }
        text
    }
}

impl From<StoreFault> for Failure {
    fn from(fault: StoreFault) -> Failure {
        Failure::computing(fault.to_string(), fault.mend())
    }
}
