//! How long and with how much memory a large mesh file becomes a checked solid.
//!
//! The file is made first and read in a process of its own, so that the memory told is that of the reading alone. It
//! shows a pan part of our invention: a profile with walls, floor and flange, swept round a rounded rectangle.

use crate::machine;
use clap::ValueEnum;
use glam::DVec3;
use job::NamedSolid;
use std::f64::consts::TAU;
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::Path;
use std::process::Command;
use std::time::Instant;

/// Format of the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// Binary STL
    Binary,
    /// STL text
    Text,
    /// OBJ
    Obj,
    /// 3MF, packed
    #[value(name = "3mf")]
    ThreeMf,
}

/// Makes a file of about so many facets, and has another process read it.
pub fn run(facets: usize, format: Format, part: bool) -> Result<(), String> {
    let path = std::env::temp_dir().join(format!("sumpwright-bench-{}.mesh", std::process::id()));
    let made = make(&path, facets, format).map_err(|why| format!("{}: {why}", path.display()));
    let read = made.and_then(|count| {
        let size = std::fs::metadata(&path).map_or(0, |m| m.len());
        println!("machine            {}, on {}", machine::name(), machine::date());
        println!(
            "file               {format:?}, {count} facets, {:.0} MB",
            size as f64 / 1e6
        );
        let program = std::env::current_exe().map_err(|why| why.to_string())?;
        let mut command = Command::new(program);
        command.arg("solid").arg("--read").arg(&path);
        if part {
            command.arg("--part");
        }
        let status = command.status().map_err(|why| why.to_string())?;
        if status.success() {
            Ok(())
        } else {
            Err("the reading failed".to_owned())
        }
    });
    let _ = std::fs::remove_file(&path);
    read
}

/// Reads a file and says what it cost.
pub fn read(path: &Path, part: bool) -> Result<(), String> {
    let named = NamedSolid {
        path: path.to_path_buf(),
        asked: solid::Asked::default(),
        part: part.then(|| Some(solid::part::Stated::default())),
    };
    let start = Instant::now();
    let looked_at = job::look_at_solid(&named).map_err(|(fault, _)| fault.to_string())?;
    let wall = start.elapsed().as_secs_f64();
    println!("threads            {}", rayon::current_num_threads());
    println!("wall               {wall:.2} s");
    let seconds =
        machine::processor_time().map_or("not measured on this system".to_owned(), |s| format!("{s:.2} s"));
    println!("processor          {seconds}");
    let memory = machine::peak_memory().map_or("not measured on this system".to_owned(), |b| {
        format!("{:.0} MB", b as f64 / 1e6)
    });
    println!("peak memory        {memory}");
    println!("solid              {:.4} L", looked_at.surface.volume() * 1e3);
    if let Some(part) = &looked_at.part {
        println!("oil side           {:.4} L", part.volume * 1e3);
    }
    Ok(())
}

/// Corners and triangles of the part, row by row.
struct Shape {
    profile: Vec<[f64; 2]>,
    round: usize,
}

impl Shape {
    fn of(facets: usize) -> Shape {
        // As many round as along: facets = 2 x round x along.
        let side = ((facets / 2) as f64).sqrt();
        let (round, along) = ((side * 1.5) as usize, (side / 1.5) as usize);
        let bends = [
            [0.0, -110.0],
            [0.98, -110.0],
            [1.0, -104.0],
            [1.0, 0.0],
            [1.2, 0.0],
            [1.2, -10.0],
            [1.04, -10.0],
            [1.03, -112.0],
            [1.0, -116.0],
            [0.0, -116.0],
        ];
        let length = |a: [f64; 2], b: [f64; 2]| (150.0 * (a[0] - b[0])).hypot(a[1] - b[1]);
        let whole: f64 = bends.windows(2).map(|w| length(w[0], w[1])).sum();
        let mut profile = Vec::new();
        for pair in bends.windows(2) {
            let steps = ((along as f64 * length(pair[0], pair[1]) / whole).round() as usize).max(1);
            profile.extend((0..steps).map(|k| {
                let share = k as f64 / steps as f64;
                [0, 1].map(|i| pair[0][i] + share * (pair[1][i] - pair[0][i]))
            }));
        }
        profile.push(bends[bends.len() - 1]);
        Shape { profile, round }
    }

    /// Corner of ring `row` (the first and last are single points).
    fn corner(&self, row: usize, k: usize) -> DVec3 {
        let [scale, z] = self.profile[row];
        let (sine, cosine) = (TAU * (k % self.round) as f64 / self.round as f64).sin_cos();
        let square = |v: f64| v.signum() * v.abs().powf(0.4);
        DVec3::new(170.0 * scale * square(cosine), 100.0 * scale * square(sine), z)
    }

    fn name(&self, row: usize, k: usize) -> usize {
        match row {
            0 => 0,
            row if row + 1 == self.profile.len() => 1 + (row - 1) * self.round,
            row => 1 + (row - 1) * self.round + k % self.round,
        }
    }

    fn corners(&self) -> impl Iterator<Item = DVec3> + '_ {
        let rows = 1..self.profile.len() - 1;
        let rings = rows.flat_map(move |row| (0..self.round).map(move |k| self.corner(row, k)));
        std::iter::once(self.corner(0, 0))
            .chain(rings)
            .chain(std::iter::once(self.corner(self.profile.len() - 1, 0)))
    }

    /// Triangles as (row, number) of their corners, out being out of the metal.
    fn triangles(&self) -> impl Iterator<Item = [(usize, usize); 3]> + '_ {
        (0..self.profile.len() - 1).flat_map(move |row| {
            (0..self.round).flat_map(move |k| {
                // At both ends one side of the quad is a single point.
                let (first, last) = (row == 0, row + 2 == self.profile.len());
                let lower = (!last).then_some([(row, k), (row + 1, k), (row + 1, k + 1)]);
                let upper = (!first).then_some([(row, k), (row + 1, k + 1), (row, k + 1)]);
                lower.into_iter().chain(upper)
            })
        })
    }
}

fn make(path: &Path, facets: usize, format: Format) -> io::Result<usize> {
    let shape = Shape::of(facets);
    let count = shape.triangles().count();
    let mut file = BufWriter::new(File::create(path)?);
    match format {
        Format::Binary => {
            file.write_all(&[b' '; 80])?;
            file.write_all(&(count as u32).to_le_bytes())?;
            for t in shape.triangles() {
                let mut facet = [0u8; 50];
                for (i, (row, k)) in t.into_iter().enumerate() {
                    for (j, v) in shape.corner(row, k).to_array().into_iter().enumerate() {
                        facet[12 + 12 * i + 4 * j..][..4].copy_from_slice(&(v as f32).to_le_bytes());
                    }
                }
                file.write_all(&facet)?;
            }
        }
        Format::Text => {
            writeln!(file, "solid bench")?;
            for t in shape.triangles() {
                writeln!(file, "facet normal 0 0 0\nouter loop")?;
                for (row, k) in t {
                    let p = shape.corner(row, k);
                    writeln!(file, "vertex {:.6e} {:.6e} {:.6e}", p.x, p.y, p.z)?;
                }
                writeln!(file, "endloop\nendfacet")?;
            }
            writeln!(file, "endsolid bench")?;
        }
        Format::Obj => {
            for p in shape.corners() {
                writeln!(file, "v {:.6} {:.6} {:.6}", p.x, p.y, p.z)?;
            }
            for t in shape.triangles() {
                let [a, b, c] = t.map(|(row, k)| shape.name(row, k) + 1);
                writeln!(file, "f {a} {b} {c}")?;
            }
        }
        Format::ThreeMf => package(&mut file, &shape)?,
    }
    file.flush()?;
    Ok(count)
}

/// A 3MF package; sizes and checksums are known when a part has been packed, so it is packed in memory.
fn package(file: &mut impl Write, shape: &Shape) -> io::Result<()> {
    let relations = "<Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\"><Relationship \
         Target=\"/3D/3dmodel.model\" Id=\"r\" Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/>\
         </Relationships>";
    let mut at = 0u32;
    let mut directory = Vec::new();
    let mut parts = 0u16;
    for name in ["_rels/.rels", "3D/3dmodel.model"] {
        let mut packing = Packing::default();
        if name.starts_with('_') {
            packing.write_all(relations.as_bytes())?;
        } else {
            model(&mut BufWriter::new(&mut packing), shape)?;
        }
        let (packed, checksum, length) = packing.done()?;
        let mut common = vec![20, 0, 0, 0, 8, 0, 0, 0, 0, 0];
        common.extend(checksum.to_le_bytes());
        common.extend((packed.len() as u32).to_le_bytes());
        common.extend(length.to_le_bytes());
        common.extend((name.len() as u16).to_le_bytes());
        common.extend([0, 0]);
        let head = [b"PK\x03\x04", &common[..], name.as_bytes()].concat();
        file.write_all(&head)?;
        file.write_all(&packed)?;
        directory.extend(
            [
                b"PK\x01\x02\x14\x00",
                &common[..],
                &[0; 10],
                &at.to_le_bytes(),
                name.as_bytes(),
            ]
            .concat(),
        );
        at += (head.len() + packed.len()) as u32;
        parts += 1;
    }
    file.write_all(&directory)?;
    let [n, m] = [parts.to_le_bytes(); 2];
    let length = (directory.len() as u32).to_le_bytes();
    file.write_all(
        &[
            b"PK\x05\x06\0\0\0\0",
            &n[..],
            &m,
            &length,
            &at.to_le_bytes(),
            &[0, 0],
        ]
        .concat(),
    )
}

fn model(file: &mut impl Write, shape: &Shape) -> io::Result<()> {
    write!(
        file,
        "<model unit=\"millimeter\" xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\"><resources>\
         <object id=\"1\"><mesh><vertices>"
    )?;
    for p in shape.corners() {
        writeln!(
            file,
            "<vertex x=\"{:.6}\" y=\"{:.6}\" z=\"{:.6}\" />",
            p.x, p.y, p.z
        )?;
    }
    write!(file, "</vertices><triangles>")?;
    for t in shape.triangles() {
        let [a, b, c] = t.map(|(row, k)| shape.name(row, k));
        writeln!(file, "<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\" />")?;
    }
    write!(
        file,
        "</triangles></mesh></object></resources><build><item objectid=\"1\"/></build></model>"
    )?;
    file.flush()
}

/// Packs what is written to it.
struct Packing {
    encoder: flate2::write::DeflateEncoder<Vec<u8>>,
    checksum: crc32fast::Hasher,
    length: u32,
}

impl Default for Packing {
    fn default() -> Packing {
        Packing {
            encoder: flate2::write::DeflateEncoder::new(Vec::new(), flate2::Compression::fast()),
            checksum: crc32fast::Hasher::new(),
            length: 0,
        }
    }
}

impl Packing {
    fn done(self) -> io::Result<(Vec<u8>, u32, u32)> {
        Ok((self.encoder.finish()?, self.checksum.finalize(), self.length))
    }
}

impl Write for Packing {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.encoder.write_all(bytes)?;
        self.checksum.update(bytes);
        self.length += bytes.len() as u32;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}
