//! The best few taken out of the study: computed in three dimensions as `check` does, or written as design files.

use super::folder::StudyFolder;
use super::reading::Reading;
use super::say;
use super::single::Shared;
use crate::cli::{Check, Common, Computing};
use crate::commands::check;
use crate::failure::Failure;
use crate::preparation::wrong_input;
use crate::stop::Stop;
use crate::store::atomic;
use crate::terminal;
use measure::Dimension;
use report::findings::Findings;
use report::numbers::short;
use std::path::{Component, Path, PathBuf};

/// Moments that are computed of each design: as many as `check` takes.
const MOMENTS: u8 = 4;

/// A design that was computed in three dimensions.
pub struct Proved {
    /// Case.
    pub case: usize,
    /// What came of it.
    pub findings: Findings,
    /// Its report.
    pub report: PathBuf,
}

/// Proves the cases, one after the other.
pub fn prove(
    shared: &Shared,
    folder: &StudyFolder,
    reading: &Reading,
    cases: &[usize],
    threads: Option<usize>,
    stop: &Stop,
) -> Result<Vec<Proved>, Failure> {
    let mut proved = Vec::new();
    for number in cases {
        let (case, _) = reading.case(*number).ok_or_else(|| unknown(*number, reading))?;
        let prepared = shared.prepared(&case.levels)?;
        let own = shared.own_drive(&prepared, &case.levels)?;
        let driven = own.as_ref().unwrap_or(shared.driven);
        let out = folder.path.join("proved").join(format!("case-{number}"));
        terminal::remark(&format!("case {number}: proving in three dimensions"));
        let arguments = Check {
            common: Common::of(&shared.common.design),
            computing: Computing {
                out: Some(out.clone()),
                cell: None,
                within: None,
                refine: None,
                threads,
            },
            moments: MOMENTS,
            whole: false,
            brief: true,
            gate: false,
        };
        let (findings, _) = check::findings(&arguments, &prepared, driven, stop)?;
        proved.push(Proved {
            case: *number,
            findings,
            report: out.join("report.html"),
        });
    }
    Ok(proved)
}

/// Sketch and proof side by side.
pub fn table(reading: &Reading, proved: &[Proved]) -> String {
    let units = reading.study.of.design.units;
    let length = |v: f64| short(v, Dimension::Length, units);
    let mut rows = vec![
        ["case", "sketch", "least cover", "proof", "least cover", "report"]
            .map(str::to_owned)
            .to_vec(),
    ];
    for one in proved {
        let Some((_, figures)) = reading.case(one.case) else {
            continue;
        };
        let verdict = &one.findings.verdict;
        rows.push(vec![
            one.case.to_string(),
            figures.word.said().to_owned(),
            length(figures.cover),
            verdict.word.said().to_owned(),
            length(verdict.least_cover.value),
            one.report.display().to_string(),
        ]);
    }
    format!("\n  proved in three dimensions:\n{}", terminal::columns(&rows))
}

/// The case that is asked for, else the best.
pub fn chosen(reading: &Reading, asked: Option<usize>) -> Result<usize, Failure> {
    match asked {
        Some(number) if reading.case(number).is_some() => Ok(number),
        Some(number) => Err(unknown(number, reading)),
        None => reading.ranked.first().copied().ok_or_else(|| {
            Failure::input(
                "no case of the study is computed yet, so there is no best one",
                reading.study.place().to_string(),
                "let the study run first",
            )
        }),
    }
}

fn unknown(number: usize, reading: &Reading) -> Failure {
    let at = reading.cases.iter().position(|case| case.number == number);
    let what = match at.map(|at| &reading.outcomes[at]) {
        Some(Some(super::folder::Outcome::Invalid { what, .. })) => {
            format!("the design of case {number} cannot be: {what}")
        }
        Some(Some(super::folder::Outcome::Failed { what })) => {
            format!("case {number} could not be computed: {what}")
        }
        Some(_) => format!("case {number} is not computed yet"),
        None => format!(
            "there is no case {number}; the study has {}, numbered from 0",
            reading.study.plan.cases()
        ),
    };
    Failure::input(what, "--case", "name a case that results.csv lists as computed")
}

/// Writes a case as a revision of the design. It names its base from where it lies, so it must lie beside the design or in a folder
/// above it, as every design and its base do; it is read back before it is announced.
pub fn write(reading: &Reading, number: usize, to: &Path) -> Result<(), Failure> {
    let study = reading.study;
    let (case, figures) = reading.case(number).ok_or_else(|| unknown(number, reading))?;
    let base = below(to, &study.of.path)?;
    if to.exists() {
        return Err(Failure::input(
            format!("{} is there already", to.display()),
            "--write",
            "choose another name; no file is replaced",
        ));
    }
    let aims: Vec<String> = (study.aims.iter())
        .map(|aim| {
            format!(
                "{} {}",
                aim.word(),
                say::figure(*aim, figures, study.of.design.units)
            )
        })
        .collect();
    let notes = format!(
        "Case {number} of the study \"{}\". By bays: {}, {}. Compute it with `sumpwright check` before metal is cut.",
        study.name,
        figures.word.said(),
        aims.join(", ")
    );
    let name = format!("{}, case {number} of {}", study.of.design.name, study.name);
    let text = study
        .revision(&case.levels, &name, &base, &notes)
        .map_err(wrong_input)?;
    atomic::write(to, text.as_bytes())?;
    match job::read(to) {
        Ok(_) => Ok(()),
        Err(faults) => {
            let _ = atomic::remove(to);
            Err(wrong_input(faults))
        }
    }
}

/// How the design is named from the folder of `to`.
fn below(to: &Path, design: &Path) -> Result<String, Failure> {
    let fault = || {
        Failure::input(
            format!(
                "a design and its base lie in one folder or the base below it, but {} would lie elsewhere",
                to.display()
            ),
            "--write",
            format!(
                "write it into {}",
                design
                    .parent()
                    .filter(|p| !p.as_os_str().is_empty())
                    .unwrap_or(Path::new("."))
                    .display()
            ),
        )
    };
    let folder = |path: &Path| {
        let parent = path
            .parent()
            .filter(|parent| !parent.as_os_str().is_empty())
            .unwrap_or(Path::new("."));
        parent.canonicalize()
    };
    let here = folder(to).map_err(|_| fault())?;
    let there = folder(design).map_err(|_| fault())?;
    let way = there.strip_prefix(&here).map_err(|_| fault())?;
    let mut parts: Vec<String> = way
        .components()
        .filter_map(|part| match part {
            Component::Normal(part) => Some(part.to_string_lossy().into_owned()),
            _ => None,
        })
        .collect();
    parts.push(
        design
            .file_name()
            .ok_or_else(fault)?
            .to_string_lossy()
            .into_owned(),
    );
    Ok(parts.join("/"))
}
