//! Reads DXF drawings: lines, arcs, circles, polylines with bulges, ellipses, splines, blocks and their inserts.
//!
//! A reader of our own: the file is a list of pairs (a group code and a value, a line each), of which an outline needs
//! a few. Every piece is kept as it was drawn; blocks are laid out with their scale, turn and mirroring; ellipses,
//! splines and arcs in unevenly scaled blocks become arcs within the tolerance. Text, dimensions and the like are
//! passed over and counted.
//!
//! Bounds: [`MOST_PIECES`] pieces and inserts after blocks are laid out, blocks [`DEEPEST`] deep. Counts that the file
//! states (of vertices, knots) are never believed: memory follows what is really there.
//!
//! Source of codes and meanings: the published DXF reference (from memory), checked by files of an independent library.

mod entity;
mod layout;
mod spline;
mod tags;

use crate::assemble::assemble;
use crate::fault::OutlineFault;
use crate::figure::{Figure, Layer, ReadOptions};
use crate::unit::{LengthUnit, UnitOrigin};
use entity::{Entity, Parser};
use glam::DVec2;
use std::collections::BTreeMap;
use tags::{Tag, Tags};

/// Pieces and inserts at most, after blocks are laid out.
pub const MOST_PIECES: usize = 200_000;
/// Entities at most that are kept before blocks are laid out.
pub const MOST_ENTITIES: usize = 400_000;
/// Blocks within blocks at most.
pub const DEEPEST: usize = 16;
/// A layer of this name carries helps that are not cut, such as the measured bar of our own drawings.
pub const NOT_CUT: &str = "NOT_CUT";

/// What a drawing holds before it is laid out.
#[derive(Default)]
struct Drawing {
    insertion_units: Option<i64>,
    layers: BTreeMap<String, Shown>,
    blocks: BTreeMap<String, Block>,
    entities: Vec<Entity>,
    passed_over: BTreeMap<String, usize>,
}

/// Whether a layer is on, and may be cut.
#[derive(Clone, Copy, PartialEq)]
enum Shown {
    Yes,
    Off,
    NotCut,
}

#[derive(Default)]
struct Block {
    base: DVec2,
    entities: Vec<Entity>,
}

/// Reads a drawing; see the module.
///
/// # Errors
/// Everything that is wrong with it, up to twenty faults, each with its line.
pub fn read(bytes: &[u8], options: &ReadOptions) -> Result<Figure, Vec<OutlineFault>> {
    let text = tags::text(bytes).map_err(|f| vec![f])?;
    let drawing = parse(&text).map_err(|f| vec![f])?;
    let scale = unit(&drawing, options);
    // Without a unit the drawing is still laid out, so that the question for it can show how large it is.
    let metres = scale.map_or(1.0, |(unit, _)| unit.metres());
    let laid = layout::lay_out(&drawing, options, options.fit / metres).map_err(|f| vec![f])?;
    let mut layers: Vec<Layer> = laid.layers.into_values().collect();
    check_layers(&layers, &drawing, options)?;
    let Some((unit, origin)) = scale else {
        return Err(vec![no_unit(&laid.chains, drawing.insertion_units)]);
    };
    let off = laid.off * metres;
    let chains = (laid.chains.into_iter())
        .map(|mut c| {
            c.vertices.iter_mut().for_each(|v| v.0 *= metres);
            c
        })
        .collect();
    let mut figure = assemble(chains, options)?;
    layers.retain(|l| l.pieces > 0);
    figure.layers = layers;
    figure.unit = Some((unit, origin));
    say(&mut figure, &drawing, options, off);
    if laid.climbing > 0 {
        figure.cautions.push(format!(
            "{} lines run from one height to another; they were taken as seen from above.",
            laid.climbing
        ));
    }
    Ok(figure)
}

fn unit(drawing: &Drawing, options: &ReadOptions) -> Option<(LengthUnit, UnitOrigin)> {
    let stated = drawing.insertion_units.and_then(LengthUnit::of_insertion_units);
    (options.unit.map(|u| (u, UnitOrigin::Asked))).or(stated.map(|u| (u, UnitOrigin::Stated)))
}

fn no_unit(chains: &[crate::join::Chain], stated: Option<i64>) -> OutlineFault {
    let points = chains.iter().flat_map(|c| c.vertices.iter().map(|v| v.0));
    let (low, high) = points.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(l, h), p| {
        (l.min(p), h.max(p))
    });
    let size = (high - low).max(DVec2::ZERO);
    let says = match stated {
        None | Some(0) => "says no unit".to_owned(),
        Some(code) => format!("states the unit code {code}, which is no length of a workshop"),
    };
    let what = format!(
        "the drawing {says}; it is {:.4} x {:.4} of whatever it is drawn in",
        size.x, size.y
    );
    let mend = format!(
        "state the unit: as mm it is {:.1} x {:.1} mm, as inches {:.1} x {:.1} mm",
        size.x,
        size.y,
        size.x * 25.4,
        size.y * 25.4
    );
    OutlineFault::new("no-unit", what, mend)
}

fn check_layers(layers: &[Layer], drawing: &Drawing, options: &ReadOptions) -> Result<(), Vec<OutlineFault>> {
    let known = || (layers.iter().map(|l| l.name.as_str())).chain(drawing.layers.keys().map(String::as_str));
    let missing = options
        .layers
        .iter()
        .filter(|l| !known().any(|k| k == l.as_str()));
    let faults: Vec<OutlineFault> = missing
        .map(|name| {
            let there: Vec<&str> = layers
                .iter()
                .filter(|l| l.pieces > 0)
                .map(|l| l.name.as_str())
                .take(20)
                .collect();
            let mend = match measure::nearest(name, known()) {
                Some(near) => format!(
                    "did you mean {near}? Layers with lines on them: {}",
                    there.join(", ")
                ),
                None => format!("layers with lines on them: {}", there.join(", ")),
            };
            OutlineFault::new(
                "no-layer",
                format!("there is no layer {}", crate::fault::quoted(name)),
                mend,
            )
        })
        .collect();
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

fn say(figure: &mut Figure, drawing: &Drawing, options: &ReadOptions, off: f64) {
    let stated = drawing.insertion_units.and_then(LengthUnit::of_insertion_units);
    match (options.unit, stated) {
        (Some(asked), Some(stated)) if asked != stated => figure.cautions.push(format!(
            "The header says {}, but it was read in {} as asked.",
            stated.words(),
            asked.words()
        )),
        (Some(asked), _) => figure.said.push(format!("Drawn in {}, as asked.", asked.words())),
        (None, Some(stated)) => figure
            .said
            .push(format!("Drawn in {}, by the header ($INSUNITS).", stated.words())),
        (None, None) => {}
    }
    if off > 0.0 {
        figure.said.push(format!(
            "Curves were followed by arcs to within {:.4} mm.",
            off * 1e3
        ));
    }
    let left: Vec<String> = (figure.layers.iter().filter(|l| !l.taken))
        .map(|l| format!("{} ({})", l.name, l.pieces))
        .collect();
    if !left.is_empty() {
        figure.said.push(format!(
            "Layers left out, with their pieces: {}.",
            left.join(", ")
        ));
    }
    if !drawing.passed_over.is_empty() {
        let kinds: Vec<String> = drawing
            .passed_over
            .iter()
            .map(|(k, n)| format!("{n} {k}"))
            .collect();
        figure
            .said
            .push(format!("Passed over, being no outline: {}.", kinds.join(", ")));
    }
}

fn parse(text: &str) -> Result<Drawing, OutlineFault> {
    let mut tags = Tags::new(text);
    let mut drawing = Drawing::default();
    let mut section = String::new();
    let mut block: Option<(String, Block)> = None;
    let mut header_variable = "";
    let mut kept = 0;
    let mut tag = tags.next()?;
    while let Some(t) = tag {
        match (t.code, t.value) {
            (0, "EOF") => return Ok(drawing),
            (0, "SECTION") => {
                tag = tags.next()?;
                if let Some(Tag { code: 2, value, .. }) = tag {
                    section = value.to_owned();
                    tag = tags.next()?;
                }
                continue;
            }
            (0, "ENDSEC") => section.clear(),
            (9, name) if section == "HEADER" => header_variable = name,
            (70, value) if section == "HEADER" && header_variable == "$INSUNITS" => {
                drawing.insertion_units = value.trim().parse().ok();
            }
            (0, "LAYER") if section == "TABLES" => {
                tag = layer(&mut tags, &mut drawing)?;
                kept += 1;
                continue;
            }
            (0, "BLOCK") if section == "BLOCKS" => {
                let (head, next) = entity::gather(&mut tags)?;
                kept += 1;
                let name = head.text(2).unwrap_or_default().to_owned();
                let base = DVec2::new(head.number(10)?.unwrap_or(0.0), head.number(20)?.unwrap_or(0.0));
                block = Some((
                    name,
                    Block {
                        base,
                        ..Block::default()
                    },
                ));
                tag = next;
                continue;
            }
            (0, "ENDBLK") => {
                if let Some((name, block)) = block.take() {
                    drawing.blocks.insert(name, block);
                }
            }
            (0, kind) if section == "ENTITIES" || (section == "BLOCKS" && block.is_some()) => {
                let mut parser = Parser {
                    tags: &mut tags,
                    passed_over: &mut drawing.passed_over,
                };
                let (entity, next) = parser.entity(kind, t.line)?;
                let home = match &mut block {
                    Some((_, block)) => &mut block.entities,
                    None => &mut drawing.entities,
                };
                home.extend(entity);
                kept += 1;
                if kept > MOST_ENTITIES {
                    let what = format!("the drawing holds more than {MOST_ENTITIES} entities");
                    return Err(
                        OutlineFault::new("too-many", what, "export only the outline").on_line(t.line)
                    );
                }
                tag = next;
                continue;
            }
            _ => {}
        }
        tag = tags.next()?;
    }
    let what = "the file ends without its end mark (EOF): it was cut short, or is no DXF file";
    Err(OutlineFault::new("cut-short", what, "export or copy the drawing again").on_line(tags.line()))
}

/// Name and state of a layer: a negative colour is off, flag 1 frozen, a plot flag of 0 not drawn on paper.
fn layer<'t>(tags: &mut Tags<'t>, drawing: &mut Drawing) -> Result<Option<Tag<'t>>, OutlineFault> {
    let (entry, next) = entity::gather(tags)?;
    let Some(name) = entry.text(2) else {
        return Ok(next);
    };
    let off = entry.whole(62)?.unwrap_or(7) < 0 || entry.whole(70)?.unwrap_or(0) & 1 == 1;
    let shown = if off {
        Shown::Off
    } else if entry.whole(290)? == Some(0) || name == NOT_CUT {
        Shown::NotCut
    } else {
        Shown::Yes
    };
    drawing.layers.insert(name.to_owned(), shown);
    Ok(next)
}
