//! `sumpwright study`: many variants of one design.

use super::{Folders, Workers};
use crate::cli::{Common, Study as Arguments};
use crate::failure::Failure;
use crate::preparation::{Driven, Prepared, wrong_input};
use crate::stop::Stop;
use crate::store::atomic;
use crate::study::folder::{Manifest, Outcome, StudyFolder};
use crate::study::reading::Reading;
use crate::study::single::Shared;
use crate::study::work::{Reached, Work};
use crate::study::{pictures, proof, say, tables};
use crate::terminal;
use job::{Asks, ReadFile, Study};
use report::drawing::svg;
use std::path::Path;
use std::process::ExitCode;

/// Runs it.
pub fn run(arguments: &Arguments) -> Result<ExitCode, Failure> {
    let stop = Stop::listen();
    let study = job::read_study(&arguments.study).map_err(wrong_input)?;
    asked(arguments, &study)?;
    let common = Common {
        log: arguments.log.clone(),
        course: arguments.course.clone(),
        ..Common::of(&study.of.path)
    };
    let base = Prepared::of(study.of.design.clone(), &common)?;
    let driven = base.drive(&common)?;
    for warning in &base.warnings {
        terminal::remark(&format!("note: {warning}"));
    }
    let workers = Workers::new(arguments.threads)?;
    let path = Folders::place(&arguments.study, arguments.out.as_deref());
    let folder = StudyFolder::open(&path, &manifest(&study, &driven))?;
    let work = Work {
        shared: Shared {
            study: &study,
            common: &common,
            base: &base,
            driven: &driven,
        },
        folder: &folder,
        workers: &workers,
        stop: stop.clone(),
        slice: arguments.cases,
    };
    let reached = work.run()?;
    let outcomes = settled(&work, &reached, &folder)?;
    let reading = Reading::of(&study, &reached.cases, &outcomes);
    all_invalid(&reading)?;
    let waits_for = reached.waits_for.as_deref();
    let mut text = say::summary(&reading, waits_for);
    let drawing = pictures::drawing(&reading);
    if let Some(drawing) = &drawing {
        atomic::write_among_others(&path.join("trade-offs.svg"), svg::file(drawing).as_bytes())?;
    }
    let page = pictures::page(&reading, &format!("{text}\n  {}\n", say::BLIND), drawing.as_ref());
    atomic::write_among_others(&path.join("study.html"), page.as_bytes())?;
    let mut proved = Vec::new();
    if arguments.prove > 0 {
        let cases = match arguments.case {
            Some(case) => vec![proof::chosen(&reading, Some(case))?],
            None => reading
                .ranked
                .iter()
                .take(usize::from(arguments.prove))
                .copied()
                .collect(),
        };
        proved = proof::prove(&work.shared, &folder, &reading, &cases, arguments.threads, &stop)?;
        text += &proof::table(&reading, &proved);
    }
    let mut written = String::new();
    if let Some(to) = &arguments.write {
        let case = proof::chosen(&reading, arguments.case)?;
        proof::write(&reading, case, to)?;
        written = format!("{} (case {case})", to.display());
    }
    text += &format!(
        "\n{}\n  {}\n",
        terminal::table(&[
            ("page", path.join("study.html").display().to_string()),
            ("table", path.join("results.csv").display().to_string()),
            ("written", written),
        ]),
        say::BLIND
    );
    if arguments.json {
        terminal::remark(&text);
        let mut object = say::object(&reading, waits_for);
        let proofs = proved.iter().map(|one| {
            let report = one.report.display().to_string();
            serde_json::json!({ "case": one.case, "word": one.findings.verdict.word, "report": report })
        });
        object["proved"] = proofs.collect();
        let object = serde_json::to_string_pretty(&object).expect("plain data");
        terminal::say(&format!("{object}\n"));
    } else {
        terminal::say(&text);
    }
    Ok(ExitCode::SUCCESS)
}

/// What the command line asks that this study cannot give.
fn asked(arguments: &Arguments, study: &Study) -> Result<(), Failure> {
    if let Some(slice) = arguments.cases
        && slice.from >= study.plan.cases()
    {
        return Err(Failure::input(
            format!("the study has {} cases, numbered from 0", study.plan.cases()),
            "--cases",
            format!("state a slice that begins below {}", study.plan.cases()),
        ));
    }
    if study.asks == Asks::Chance && (arguments.write.is_some() || arguments.prove > 0) {
        return Err(Failure::input(
            "a study of what is not known has no best design: it is one design throughout",
            "--write, --prove",
            "use `sumpwright check` on the design itself",
        ));
    }
    Ok(())
}

fn manifest(study: &Study, driven: &Driven) -> Manifest {
    let hash = |files: &[ReadFile]| {
        let mut hasher = blake3::Hasher::new();
        for file in files {
            hasher.update(&(file.bytes.len() as u64).to_le_bytes());
            hasher.update(&file.bytes);
        }
        hasher.finalize().to_hex().to_string()
    };
    let drive = postcard::to_allocvec(&driven.car).expect("plain data");
    let name = |path: &Path| {
        path.file_name()
            .unwrap_or(path.as_os_str())
            .to_string_lossy()
            .into_owned()
    };
    Manifest {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        study: hash(&study.files),
        design: hash(&study.of.design.files),
        drive: blake3::hash(&drive).to_hex().to_string(),
        name: study.name.clone(),
        design_file: name(&study.of.path),
        driven: driven
            .file
            .as_deref()
            .map_or(driven.car.name.clone(), |file| name(Path::new(file))),
        cases: study.plan.cases(),
    }
}

/// What the cases came to, with the tables written; again while other processes finish cases meanwhile, so that the last one
/// to write has seen everything.
fn settled(work: &Work, reached: &Reached, folder: &StudyFolder) -> Result<Vec<Option<Outcome>>, Failure> {
    let count = |outcomes: &[Option<Outcome>]| outcomes.iter().flatten().count();
    loop {
        let outcomes = work.outcomes(&reached.cases);
        let reading = Reading::of(work.shared.study, &reached.cases, &outcomes);
        let columns = tables::columns(work.shared.study, &reached.cases, &outcomes, &reading.ranks());
        tables::write(&folder.path, &columns)?;
        if count(&work.outcomes(&reached.cases)) == count(&outcomes) {
            return Ok(outcomes);
        }
    }
}

/// A study of which no case can be is a wrong study.
fn all_invalid(reading: &Reading) -> Result<(), Failure> {
    let Some((what, mend, count, first)) = reading.faults.first() else {
        return Ok(());
    };
    if reading.computed() > 0 {
        return Ok(());
    }
    Err(Failure::input(
        format!(
            "none of the {} designs tried can be; {count} of them because, as in case {first}, {what}",
            reading.done()
        ),
        reading.study.place().to_string(),
        format!("{mend}; or change the ranges of the study (results.csv lists every case with its fault)"),
    ))
}
