//! A log looked at before anything is computed: by itself, with the statements of a design, or with statements typed by hand.

use std::path::{Path, PathBuf};

use ::drive::log::{LogOptions, Reading};
use measure::UnitOrder;

use crate::fault::{Fault, Place};
use crate::inherit;
use crate::plan::{NamedFile, read_log};
use crate::section::{Desk, Section};
use crate::sections::{drive, logs};
use crate::sources::Sources;
use crate::tree::{self, Node};

/// What is looked at, and how it is to be taken.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LogRequest {
    /// The log; by default the one that the design names.
    pub log: Option<PathBuf>,
    /// A design whose `[drive]` says how to take the log.
    pub design: Option<PathBuf>,
    /// Lines as they would stand under `[drive]`, such as `channels.lateral = { column = "#4", sign = "-" }`; they stand over
    /// the design's.
    pub statements: Vec<String>,
}

/// Reads a log to be looked at: engine speed may be missing.
///
/// # Errors
/// The faults of the statements, of the design's `[drive]`, or of the log, each with its line and column where it has one.
pub fn look_at_log(request: &LogRequest) -> Result<Reading, Vec<Fault>> {
    let typed = typed(&request.statements)?;
    let tree = match &request.design {
        None => typed,
        Some(path) => {
            let design = inherit::read(path, &Sources::Disk)?.tree;
            let mut faults = Vec::new();
            let merged = match typed {
                None => design,
                Some(typed) => inherit::merge(design, typed, "", &mut faults),
            };
            if !faults.is_empty() {
                return Err(faults);
            }
            Some(merged)
        }
    };
    let root = request
        .design
        .as_deref()
        .and_then(Path::parent)
        .unwrap_or(Path::new(""));
    let desk = Desk::new(UnitOrder::MetricFirst);
    let mut file = request.log.as_ref().map(NamedFile::by_user);
    let options = match tree
        .as_ref()
        .and_then(|tree| Section::open(&desk, tree, String::new()))
    {
        None => Some(LogOptions::default()),
        Some(top) => {
            let section = top.below_or_empty("drive");
            if file.is_none() {
                file = drive::file(&section, "log", root);
            }
            let options = logs::options(&section);
            section.finish();
            options
        }
    };
    let (mut faults, _) = desk.done();
    // A design's [drive] holds more than is asked for here; what is typed may not.
    faults.retain(|fault| fault.id != "unknown-key" || *fault.place.file == *Path::new(TYPED));
    let (Some(options), Some(file), true) = (options, file, faults.is_empty()) else {
        return Err(faults);
    };
    let options = LogOptions {
        name: file.name(),
        without_engine: true,
        ..options
    };
    read_log(&file, &options, &Sources::Disk)
}

/// Stands for a file in the place of a fault.
const TYPED: &str = "--with";

/// The tree of statements typed by hand, each a line of its own.
fn typed(statements: &[String]) -> Result<Option<Node>, Vec<Fault>> {
    if statements.is_empty() {
        return Ok(None);
    }
    let text: String = statements
        .iter()
        .map(|line| format!("drive.{}\n", line.trim()))
        .collect();
    tree::parse(&text, &Place::file(TYPED))
        .map(Some)
        .map_err(|fault| vec![fault])
}
