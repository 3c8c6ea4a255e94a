//! All cases as one table: CSV for people and spreadsheets, Parquet for programs.

use super::folder::Outcome;
use super::work::Case;
use crate::failure::Failure;
use crate::store::atomic;
use job::Study;
use parquet::basic::{Compression, LogicalType, Repetition, Type as Physical, ZstdLevel};
use parquet::column::writer::ColumnWriter;
use parquet::data_type::ByteArray;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::Type;
use std::path::Path;
use std::sync::Arc;

/// A column of the table.
pub struct Column {
    /// Head, with its unit: `margin [mm]`.
    pub head: String,
    /// One cell a row.
    pub cells: Cells,
}

/// The cells of a column.
pub enum Cells {
    /// Whole numbers.
    Whole(Vec<i64>),
    /// Numbers, where there are some.
    Numbers(Vec<Option<f64>>),
    /// Texts, where there are some.
    Texts(Vec<Option<String>>),
}

/// The columns of a study. Every row is a case that is done; invalid ones have their fault and no figures.
pub fn columns(
    study: &Study,
    cases: &[Case],
    outcomes: &[Option<Outcome>],
    ranks: &[(usize, usize)],
) -> Vec<Column> {
    let rows: Vec<(&Case, &Outcome)> = cases
        .iter()
        .zip(outcomes)
        .filter_map(|(case, outcome)| Some((case, outcome.as_ref()?)))
        .collect();
    let mut columns = Vec::new();
    let mut add = |head: &str, cells: Cells| {
        columns.push(Column {
            head: head.to_owned(),
            cells,
        });
    };
    add(
        "case",
        Cells::Whole(rows.iter().map(|(case, _)| case.number as i64).collect()),
    );
    let state = |outcome: &Outcome| match outcome {
        Outcome::Computed(_) => "computed",
        Outcome::Invalid { .. } => "invalid",
        Outcome::Failed { .. } => "failed",
    };
    add(
        "state",
        Cells::Texts(
            rows.iter()
                .map(|(_, outcome)| Some(state(outcome).to_owned()))
                .collect(),
        ),
    );
    for (i, input) in study.inputs.iter().enumerate() {
        let words = rows
            .iter()
            .any(|(case, _)| matches!(case.levels[i].text.as_str(), "in" | "out"));
        let head = match input.unit.as_str() {
            "" => input.name.clone(),
            unit => format!("{} [{unit}]", input.name),
        };
        if words {
            add(
                &head,
                Cells::Texts(
                    rows.iter()
                        .map(|(case, _)| Some(case.levels[i].text.clone()))
                        .collect(),
                ),
            );
        } else {
            add(
                &head,
                Cells::Numbers(rows.iter().map(|(case, _)| Some(case.levels[i].number)).collect()),
            );
        }
    }
    let texts =
        |of: &dyn Fn(&Outcome) -> Option<String>| Cells::Texts(rows.iter().map(|(_, o)| of(o)).collect());
    let numbers = |of: &dyn Fn(&::study::Figures) -> Option<f64>, factor: f64| {
        let cell = |outcome: &Outcome| outcome.figures().and_then(of).map(|value| value / factor);
        Cells::Numbers(rows.iter().map(|(_, outcome)| cell(outcome)).collect())
    };
    add(
        "verdict",
        texts(&|o| o.figures().map(|f| f.word.said().to_owned())),
    );
    add("margin [mm]", numbers(&|f| Some(f.margin), 1e-3));
    add("least cover [mm]", numbers(&|f| Some(f.cover), 1e-3));
    add("mouth bare [s]", numbers(&|f| Some(f.bare), 1.0));
    add("air drawn [mL]", numbers(&|f| Some(f.air), 1e-6));
    add("oil [L]", numbers(&|f| Some(f.oil), 1e-3));
    add("depth [mm]", numbers(&|f| Some(f.depth), 1e-3));
    add("plates", numbers(&|f| Some(f.plates as f64), 1.0));
    add("at the crank [mL]", numbers(&|f| f.at_crank, 1e-6));
    add("worst place", texts(&|o| o.figures().map(|f| f.place.clone())));
    add("worst at [s]", numbers(&|f| Some(f.time), 1.0));
    let rank = |case: &Case| {
        ranks
            .iter()
            .find(|(number, _)| *number == case.number)
            .map(|(_, rank)| *rank as f64)
    };
    add(
        "unbeaten, rank",
        Cells::Numbers(rows.iter().map(|(case, _)| rank(case)).collect()),
    );
    add(
        "fault",
        texts(&|o| match o {
            Outcome::Computed(_) => None,
            Outcome::Invalid { what, .. } | Outcome::Failed { what } => Some(what.clone()),
        }),
    );
    add(
        "mend",
        texts(&|o| match o {
            Outcome::Invalid { mend, .. } => Some(mend.clone()),
            _ => None,
        }),
    );
    columns
}

/// Writes both tables.
pub fn write(folder: &Path, columns: &[Column]) -> Result<(), Failure> {
    let fault =
        |fault: String| Failure::computing(format!("the table cannot be written: {fault}"), "tell us");
    let csv = csv_text(columns).map_err(fault)?;
    atomic::write_among_others(&folder.join("results.csv"), &csv)?;
    let bytes = parquet_bytes(columns).map_err(fault)?;
    atomic::write_among_others(&folder.join("results.parquet"), &bytes)?;
    Ok(())
}

fn csv_text(columns: &[Column]) -> Result<Vec<u8>, String> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let say = |e: csv::Error| e.to_string();
    writer
        .write_record(columns.iter().map(|c| c.head.as_str()))
        .map_err(say)?;
    let rows = columns.first().map_or(0, |column| match &column.cells {
        Cells::Whole(cells) => cells.len(),
        Cells::Numbers(cells) => cells.len(),
        Cells::Texts(cells) => cells.len(),
    });
    for row in 0..rows {
        let cell = |column: &Column| match &column.cells {
            Cells::Whole(cells) => cells[row].to_string(),
            Cells::Numbers(cells) => cells[row].map_or(String::new(), rounded),
            Cells::Texts(cells) => cells[row].clone().unwrap_or_default(),
        };
        writer.write_record(columns.iter().map(cell)).map_err(say)?;
    }
    writer.into_inner().map_err(|e| e.to_string())
}

/// Nine figures: more than anything here is known to, and no rounding dust.
fn rounded(value: f64) -> String {
    let text = format!("{value:.8e}");
    text.parse::<f64>().map_or(text, |value| value.to_string())
}

fn parquet_bytes(columns: &[Column]) -> Result<Vec<u8>, String> {
    let schema = schema(columns)?;
    let level = ZstdLevel::try_new(3).map_err(|e| e.to_string())?;
    let properties = WriterProperties::builder()
        .set_compression(Compression::ZSTD(level))
        .build();
    let mut bytes = Vec::new();
    let mut write = || -> parquet::errors::Result<()> {
        let mut file =
            SerializedFileWriter::new(&mut bytes, Arc::new(schema.clone()), Arc::new(properties.clone()))?;
        let mut group = file.next_row_group()?;
        for column in columns {
            let Some(mut open) = group.next_column()? else {
                break;
            };
            match (open.untyped(), &column.cells) {
                (ColumnWriter::Int64ColumnWriter(writer), Cells::Whole(cells)) => {
                    writer.write_batch(cells, None, None)?;
                }
                (ColumnWriter::DoubleColumnWriter(writer), Cells::Numbers(cells)) => {
                    let there: Vec<f64> = cells.iter().flatten().copied().collect();
                    writer.write_batch(&there, Some(&levels(cells)), None)?;
                }
                (ColumnWriter::ByteArrayColumnWriter(writer), Cells::Texts(cells)) => {
                    let there: Vec<ByteArray> =
                        cells.iter().flatten().map(|text| text.as_str().into()).collect();
                    writer.write_batch(&there, Some(&levels(cells)), None)?;
                }
                _ => unreachable!("the schema was made from these very columns"),
            }
            open.close()?;
        }
        group.close()?;
        file.close()?;
        Ok(())
    };
    write().map_err(|e| e.to_string())?;
    Ok(bytes)
}

/// 1 where there is a cell, 0 where there is none.
fn levels<T>(cells: &[Option<T>]) -> Vec<i16> {
    cells.iter().map(|cell| i16::from(cell.is_some())).collect()
}

fn schema(columns: &[Column]) -> Result<Type, String> {
    let fields: Result<Vec<Arc<Type>>, String> = columns
        .iter()
        .map(|column| {
            let (kind, logical, repetition) = match column.cells {
                Cells::Whole(_) => (Physical::INT64, None, Repetition::REQUIRED),
                Cells::Numbers(_) => (Physical::DOUBLE, None, Repetition::OPTIONAL),
                Cells::Texts(_) => (
                    Physical::BYTE_ARRAY,
                    Some(LogicalType::String),
                    Repetition::OPTIONAL,
                ),
            };
            Type::primitive_type_builder(&column.head, kind)
                .with_repetition(repetition)
                .with_logical_type(logical)
                .build()
                .map(Arc::new)
                .map_err(|e| e.to_string())
        })
        .collect();
    Type::group_type_builder("study")
        .with_fields(fields?)
        .build()
        .map_err(|e| e.to_string())
}
