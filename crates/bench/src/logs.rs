//! Reading a long log: bytes of CSV to columns of numbers, by our table reader and by the general CSV libraries for
//! Rust, from the same file in the same run, each in a process of its own.
//!
//! The file is what a club racer's logger exports in a day: a preamble, a units row, sixteen columns at 100 Hz. The libraries
//! know no decimal comma, units row or missing cell; they are handed the file past its preamble and only split it, or
//! split it and parse each cell with the standard library.

use crate::machine;
use drive::log::{self, LogOptions};
use drive::table::{self, Layout};
use serde::{Deserialize, Serialize};
use std::fs::File;
use std::io::{BufReader, BufWriter, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::time::Instant;

/// Who reads, and how far.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, clap::ValueEnum)]
pub enum Reader {
    /// Our table reader, every column.
    Table,
    /// Our log reader: the table, its units, signs, mounting and laps, to a drive.
    Drive,
    /// The csv library, cells split.
    CsvSplit,
    /// The csv library, cells split and parsed.
    CsvNumbers,
    /// The simd-csv library, cells split.
    SimdSplit,
    /// The simd-csv library, cells split and parsed.
    SimdNumbers,
}

impl Reader {
    /// All, ours first.
    pub const ALL: [Reader; 6] = [
        Reader::Table,
        Reader::Drive,
        Reader::CsvNumbers,
        Reader::SimdNumbers,
        Reader::CsvSplit,
        Reader::SimdSplit,
    ];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Reader::Table => "ours, to columns of numbers",
            Reader::Drive => "ours, to a drive with units, signs, mounting and laps",
            Reader::CsvNumbers => "csv, to columns of numbers",
            Reader::SimdNumbers => "simd-csv, to columns of numbers",
            Reader::CsvSplit => "csv, cells split only",
            Reader::SimdSplit => "simd-csv, cells split only",
        }
    }

    /// Its name on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Reader::Table => "table",
            Reader::Drive => "drive",
            Reader::CsvNumbers => "csv-numbers",
            Reader::SimdNumbers => "simd-numbers",
            Reader::CsvSplit => "csv-split",
            Reader::SimdSplit => "simd-split",
        }
    }
}

/// What one reading cost.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct ReadLog {
    /// Bytes of the file.
    pub bytes: u64,
    /// Wall time [s].
    pub wall: f64,
    /// Processor time [s]; none where the system does not say.
    pub cpu: Option<f64>,
    /// Rows read.
    pub rows: usize,
    /// Cells that were seen, or numbers that were kept.
    pub cells: usize,
    /// Sum of one column: readers to numbers agree in it.
    pub sum: f64,
    /// Most memory that the process held [bytes].
    pub peak_memory: Option<u64>,
}

impl ReadLog {
    /// Megabytes a second of processor time, or of wall time where the system does not tell the first.
    pub fn rate(&self) -> f64 {
        self.bytes as f64 / 1e6 / self.cpu.filter(|cpu| *cpu > 0.0).unwrap_or(self.wall)
    }
}

const HEAD: &str = "file;track day\ndriver;none\n\n";

/// Writes a log of about so many bytes, unless it is there.
pub fn write(path: &Path, bytes: u64) -> Result<(), String> {
    let there = std::fs::metadata(path).map_or(0, |m| m.len());
    if there >= bytes && there < bytes + 4096 {
        return Ok(());
    }
    rows(path, bytes).map_err(|why| format!("{} cannot be written: {why}", path.display()))
}

fn rows(path: &Path, bytes: u64) -> std::io::Result<()> {
    let mut out = BufWriter::new(File::create(path)?);
    let names = "time,speed,engine speed,lateral,longitudinal,vertical,roll rate,pitch rate,yaw rate,distance,lap,\
                 oil pressure,oil temperature,throttle,brake pressure,battery\n";
    let units = "s,km/h,rpm,g,g,g,deg/s,deg/s,deg/s,m,,bar,C,%,bar,V\n";
    let mut written = (HEAD.len() + names.len() + units.len()) as u64;
    out.write_all(HEAD.as_bytes())?;
    out.write_all(names.as_bytes())?;
    out.write_all(units.as_bytes())?;
    let (mut distance, mut i) = (0.0, 0_u64);
    // A grain that repeats after 5003 rows, so that digits are as mixed as a logger's.
    let grain = |i: u64, k: u64| ((i * (2 * k + 7919) % 5003) as f64 / 5003.0 - 0.5) * 0.04;
    while written < bytes {
        let t = i as f64 * 0.01;
        let w = std::f64::consts::TAU / 90.0;
        let v = 32.0 + 9.0 * (3.0 * w * t).sin();
        let along = 27.0 * w * (3.0 * w * t).cos();
        let yaw = w * (1.0 + 3.0 * (4.0 * w * t).sin());
        distance += v * 0.01;
        let row = format!(
            "{t:.2},{:.1},{:.0},{:.3},{:.3},{:.3},{:.2},{:.2},{:.2},{distance:.1},{},{:.2},{:.1},{:.0},{:.1},{:.2}\n",
            v * 3.6,
            3000.0 + 90.0 * v,
            v * yaw / 9.80665 + grain(i, 1),
            along / 9.80665 + grain(i, 2),
            1.0 + grain(i, 3),
            40.0 * grain(i, 4),
            40.0 * grain(i, 5),
            yaw.to_degrees() + 20.0 * grain(i, 6),
            1 + (t / 90.0) as u64,
            4.2 + grain(i, 7),
            96.0 + 50.0 * grain(i, 8),
            50.0 + 40.0 * (3.0 * w * t).cos(),
            (-20.0 * (3.0 * w * t).cos()).max(0.0),
            13.8 + grain(i, 9),
        );
        out.write_all(row.as_bytes())?;
        written += row.len() as u64;
        i += 1;
    }
    out.flush()
}

/// Reads the log at `path` once.
pub fn read(path: &Path, reader: Reader) -> Result<ReadLog, String> {
    let say = |why: std::io::Error| format!("{}: {why}", path.display());
    let mut file = File::open(path).map_err(say)?;
    let bytes = file.metadata().map_err(say)?.len();
    // Once through, so that all readers find it in the system's cache.
    let mut block = vec![0; 1 << 20];
    while file.read(&mut block).map_err(say)? > 0 {}
    file.seek(SeekFrom::Start(0)).map_err(say)?;
    let cpu = machine::processor_time();
    let begun = Instant::now();
    let (rows, cells, sum) = match reader {
        Reader::Table => ours(&mut file)?,
        Reader::Drive => drive_of(&mut file)?,
        Reader::CsvSplit | Reader::CsvNumbers => {
            file.seek(SeekFrom::Start(HEAD.len() as u64)).map_err(say)?;
            csv_library(
                BufReader::with_capacity(1 << 20, file),
                reader == Reader::CsvNumbers,
            )?
        }
        Reader::SimdSplit | Reader::SimdNumbers => {
            file.seek(SeekFrom::Start(HEAD.len() as u64)).map_err(say)?;
            simd_library(file, reader == Reader::SimdNumbers)?
        }
    };
    let wall = begun.elapsed().as_secs_f64();
    Ok(ReadLog {
        bytes,
        wall,
        cpu: cpu.and_then(|cpu| Some(machine::processor_time()? - cpu)),
        rows,
        cells,
        sum,
        peak_memory: machine::peak_memory(),
    })
}

/// The column whose sum is compared: lateral.
const SUMMED: usize = 3;

fn ours(file: &mut File) -> Result<(usize, usize, f64), String> {
    let tables = table::read_all(file, &Layout::default(), &|head| vec![true; head.columns])
        .map_err(|fault| fault.to_string())?;
    let table = &tables[0];
    let cells = table.columns.iter().map(Vec::len).sum();
    Ok((table.lines.len(), cells, table.columns[SUMMED].iter().sum()))
}

fn drive_of(file: &mut File) -> Result<(usize, usize, f64), String> {
    let reading = log::read_from(file, &LogOptions::default()).map_err(|faults| format!("{faults:?}"))?;
    let rows = reading.taken.iter().map(|t| t.rows).max().unwrap_or(0);
    let cells = reading.taken.iter().map(|t| t.filled).sum();
    Ok((rows, cells, reading.drive.gravity.iter().map(|g| g.y).sum()))
}

/// Columns that grow as a library hands out its cells.
#[derive(Default)]
struct Columns {
    columns: Vec<Vec<f64>>,
    rows: usize,
    cells: usize,
}

impl Columns {
    fn take<'r>(&mut self, cells: impl Iterator<Item = &'r [u8]>, parse: bool) {
        for (k, cell) in cells.enumerate() {
            self.cells += 1;
            if parse {
                if self.columns.len() <= k {
                    self.columns.push(Vec::new());
                }
                let text = std::str::from_utf8(cell).unwrap_or("");
                self.columns[k].push(text.parse().unwrap_or(f64::NAN));
            }
        }
        self.rows += 1;
    }

    fn counted(self) -> (usize, usize, f64) {
        // The units row counts as a row without numbers here.
        let sum = self
            .columns
            .get(SUMMED)
            .map_or(0.0, |c| c.iter().filter(|v| !v.is_nan()).sum());
        (self.rows, self.cells, sum)
    }
}

fn csv_library(file: impl Read, parse: bool) -> Result<(usize, usize, f64), String> {
    let mut reader = csv::ReaderBuilder::new().from_reader(file);
    let (mut record, mut columns) = (csv::ByteRecord::new(), Columns::default());
    while reader.read_byte_record(&mut record).map_err(|e| e.to_string())? {
        columns.take(record.iter(), parse);
    }
    Ok(columns.counted())
}

fn simd_library(file: impl Read, parse: bool) -> Result<(usize, usize, f64), String> {
    let mut reader = simd_csv::ReaderBuilder::new()
        .buffer_capacity(1 << 20)
        .from_reader(file);
    let (mut record, mut columns) = (simd_csv::ByteRecord::new(), Columns::default());
    while reader.read_byte_record(&mut record).map_err(|e| e.to_string())? {
        columns.take(record.iter(), parse);
    }
    Ok(columns.counted())
}

/// Where the log to read lies.
pub fn place(target: PathBuf, megabytes: u64) -> PathBuf {
    target.join(format!("bench-{megabytes}.csv"))
}
