//! `[seal.pan_face]`, `[seal.block_face]`: a face as measured, in points or by straight edge and feeler.

use glam::{DVec2, DVec3};
use measure::Dimension::Length;
use seal::flatness::{EdgeReading, Line, net};

use super::measured_table;
use super::outline_file::Files;
use super::seal::holds;
use crate::design::ReadFile;
use crate::fault::{Fault, Place};
use crate::plan::NamedFile;
use crate::sealing::Face;
use crate::section::{Section, Shape};
use crate::sources::{self, OUTLINE_LIMIT, within};
use crate::tree::Value;

/// A measured place may lie off the flange's edges by so much [m]: tape and sketch.
const BESIDE: f64 = 5e-3;

/// A face with the place of each point.
pub(crate) struct Read {
    pub face: Face,
    /// Of each point, where points were measured.
    places: Vec<Place>,
    key: &'static str,
}

impl Read {
    /// A fault at a point, or at the face's own key.
    pub fn fault(&self, section: &Section, point: Option<usize>, what: String, mend: String) {
        let place = point.and_then(|i| self.places.get(i).cloned());
        section.desk.fault(Fault {
            id: "measured",
            place: place.unwrap_or_else(|| section.place_of(self.key)),
            key: section.key(self.key),
            what,
            mend,
        });
    }
}

/// The face that a section states.
pub(crate) fn read(section: &Section, files: &Files) -> Option<Read> {
    let mirrored = section.choice(
        "seen_from",
        &[("above", false), ("below", true)],
        Some((
            "above",
            "x and y are taken in the pan's axes, seen from above, unless stated",
        )),
    );
    let way = section.one_of(&["points", "lines", "file"], "file = \"flange.csv\"")?;
    let (key, raw) = match way {
        "points" => ("points", points(section)),
        "lines" => ("lines", lines(section)),
        _ => ("file", from_file(section, files)),
    };
    let mirror = |p: DVec2| {
        if mirrored == Some(true) {
            DVec2::new(p.x, -p.y)
        } else {
            p
        }
    };
    let raw = raw?;
    mirrored?;
    let lines: Vec<Line> = raw
        .lines
        .into_iter()
        .map(|l| Line {
            from: mirror(l.from),
            to: mirror(l.to),
            ..l
        })
        .collect();
    let points: Vec<DVec3> = match lines.is_empty() {
        true => raw
            .points
            .iter()
            .map(|p| mirror(p.truncate()).extend(p.z))
            .collect(),
        false => net(&lines).points.unwrap_or_default(),
    };
    Some(Read {
        face: Face {
            points,
            lines,
            place: section.place_of(key),
        },
        places: raw.places,
        key,
    })
}

/// What a file or the design states, not yet turned over.
#[derive(Default)]
struct Raw {
    points: Vec<DVec3>,
    lines: Vec<Line>,
    places: Vec<Place>,
}

fn points(section: &Section) -> Option<Raw> {
    section.shaped("points", Shape::Rows(vec![Length; 3]));
    let node = section.node("points")?;
    let nodes = section.list("points", node)?;
    let rows: Vec<Option<[f64; 3]>> = nodes
        .iter()
        .map(|n| section.row("points", n, [Length; 3]))
        .collect();
    let points: Vec<DVec3> = rows
        .into_iter()
        .map(|r| r.map(DVec3::from_array))
        .collect::<Option<_>>()?;
    section.note("points", node, format!("{} points", points.len()));
    Some(Raw {
        points,
        lines: Vec::new(),
        places: nodes.iter().map(|n| n.place.clone()).collect(),
    })
}

fn lines(section: &Section) -> Option<Raw> {
    let lines: Vec<Option<Line>> = section
        .several("lines")
        .into_iter()
        .map(|inside| {
            let line = line(&inside);
            inside.finish();
            line
        })
        .collect();
    if lines.is_empty() {
        let what = "there is no line".to_owned();
        let mend = "add for instance { from = [\"0 mm\", \"0 mm\"], to = [\"300 mm\", \"0 mm\"], gaps = [[\"150 mm\", \"0.05 mm\"]] }";
        section.fault("measured", "lines", what, mend.to_owned());
        return None;
    }
    Some(Raw {
        lines: lines.into_iter().collect::<Option<_>>()?,
        ..Raw::default()
    })
}

fn line(section: &Section) -> Option<Line> {
    let (from, to) = (section.point2("from"), section.point2("to"));
    section.shaped("gaps", Shape::Rows(vec![Length; 2]));
    let node = section.required(
        "gaps",
        "[[\"0 mm\", \"0 mm\"], [\"150 mm\", \"0.05 mm\"], [\"300 mm\", \"0 mm\"]]",
    )?;
    let list = section.list("gaps", node)?;
    if let Some(bare) = list.iter().find(|n| !matches!(n.value, Value::List(_))) {
        section.desk.fault(Fault {
            id: "no-place",
            place: bare.place.clone(),
            key: section.key("gaps"),
            what: format!("the feeler reading {} has no place", bare.raw),
            mend: "write each as [distance from the line's start, gap], such as [\"150 mm\", \"0.05 mm\"]"
                .to_owned(),
        });
        return None;
    }
    let rows = section.rows_of("gaps", node, [Length; 2])?;
    section.note("gaps", node, format!("{} readings", rows.len()));
    let (from, to) = (from?, to?);
    let readings = rows
        .into_iter()
        .map(|[along, gap]| EdgeReading { along, gap })
        .collect();
    checked(Line { from, to, readings }, &|v| section.show(v, Length))
        .map_err(|(what, mend)| section.fault("measured", "gaps", what, mend))
        .ok()
}

/// A line in order, or what is wrong with it and how to mend it.
pub(super) fn checked(mut line: Line, show: &dyn Fn(f64) -> String) -> Result<Line, (String, String)> {
    let length = line.length();
    let fault = |what: String, mend: &str| Err((what, mend.to_owned()));
    if length < 10e-3 {
        return fault(
            format!("the line is {} long", show(length)),
            "give the two ends of the straight edge",
        );
    }
    line.readings.sort_by(|a, b| a.along.total_cmp(&b.along));
    if line.readings.len() < 2 {
        return fault(
            format!("the line has {} readings", line.readings.len()),
            "give the places where the straight edge touches, with a gap of 0, and the gaps between",
        );
    }
    for r in &line.readings {
        if r.along < -1e-9 || r.along > length + 1e-6 {
            return fault(
                format!(
                    "a reading {} along lies off the line of {}",
                    show(r.along),
                    show(length)
                ),
                "count distances from the line's first end",
            );
        }
        if r.gap < 0.0 || r.gap > 20e-3 {
            return fault(
                format!("a gap of {} is none that a feeler finds", show(r.gap)),
                "write the gap under the straight edge, 0 where it touches",
            );
        }
    }
    if let Some(pair) = line.readings.windows(2).find(|w| w[1].along - w[0].along < 1e-6) {
        return fault(
            format!("two readings stand {} along the line", show(pair[0].along)),
            "keep the one that you trust",
        );
    }
    Ok(line)
}

fn from_file(section: &Section, files: &Files) -> Option<Raw> {
    let name = section.text("file", "flange.csv")?;
    let (place, key) = (section.place_of("file"), section.key("file"));
    let tell = |fault: Fault| {
        section.desk.fault(Fault {
            key: key.clone(),
            ..fault
        });
    };
    let path = within(files.root, &place.file, &name, &place, &key)
        .map_err(tell)
        .ok()?;
    let file = NamedFile {
        path: path.clone(),
        named: Some((files.root.to_owned(), place.clone(), key.clone())),
    };
    let bytes = file.bytes(files.sources, OUTLINE_LIMIT).map_err(tell).ok()?;
    files.read.borrow_mut().push(ReadFile {
        path: path.clone(),
        bytes: bytes.clone(),
    });
    let text = sources::text(bytes, &Place::file(&path)).map_err(tell).ok()?;
    let read = measured_table::read(&text, &|v| section.show(v, Length));
    match read {
        Ok(read) => {
            let at = |line: usize| Place {
                line,
                ..Place::file(&path)
            };
            let said = match read.lines.is_empty() {
                true => format!("{} points", read.points.len()),
                false => format!("{} straight-edge lines", read.lines.len()),
            };
            if let Some(node) = section.node("file") {
                section.note("", node, said);
            }
            Some(Raw {
                places: read.at.into_iter().map(at).collect(),
                points: read.points,
                lines: read.lines,
            })
        }
        Err(faults) => {
            for f in faults {
                tell(Fault {
                    id: "measured",
                    place: Place {
                        line: f.line,
                        ..Place::file(&path)
                    },
                    key: String::new(),
                    what: f.what,
                    mend: f.mend,
                });
            }
            None
        }
    }
}

/// Tells the measured points that lie off the flange; of straight-edge lines, leaves those over the opening out: they
/// tie lines together, but no metal is there.
pub(crate) fn on_flange(section: &Section, read: &mut Read, outer: &[DVec2], inner: &[DVec2]) -> bool {
    let off = |at: DVec2| match !holds(outer, at) || holds(inner, at) {
        true => Some(distance(outer, at).min(distance(inner, at))).filter(|edge| *edge > BESIDE),
        false => None,
    };
    if !read.face.lines.is_empty() {
        read.face.points.retain(|p| off(p.truncate()).is_none());
        return true;
    }
    // The first only: a slip of axes would fill the screen.
    let points = read.face.points.iter().enumerate();
    let Some((i, at, edge)) = points
        .filter_map(|(i, p)| off(p.truncate()).map(|edge| (i, p.truncate(), edge)))
        .next()
    else {
        return true;
    };
    let what = format!(
        "point {} at ({:.1}, {:.1}) mm lies {} off the flange",
        i + 1,
        at.x * 1e3,
        at.y * 1e3,
        section.show(edge, Length)
    );
    let mend =
        "give x and y in the pan's axes; a face measured upside down is seen_from = \"below\"".to_owned();
    read.fault(section, Some(i), what, mend);
    false
}

fn distance(polygon: &[DVec2], p: DVec2) -> f64 {
    let n = polygon.len();
    (0..n)
        .map(|i| {
            let (a, b) = (polygon[i], polygon[(i + 1) % n]);
            let side = b - a;
            let t = ((p - a).dot(side) / side.length_squared().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
            p.distance(a + side * t)
        })
        .fold(f64::INFINITY, f64::min)
}
