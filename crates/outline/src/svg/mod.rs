//! Reads SVG drawings: paths with all their commands, rectangles, circles, ellipses, lines, polylines and polygons,
//! with transforms, groups, reused symbols, physical sizes and view boxes.
//!
//! Circles and circular arcs stay arcs as long as their transforms keep them round; curves become arcs within the
//! tolerance. A drawing whose size is stated in mm or inches has a scale. One in bare user units is taken at 96 to the
//! inch, which is said and wants proof.
//!
//! Bounds: [`MOST_NODES`] elements and attributes, [`MOST_PIECES`] pieces after reuse, groups [`DEEPEST`] deep;
//! references of the markup itself are bounded by the XML library. Nothing outside the file is ever fetched.
//!
//! Source: SVG 1.1 and 2 (W3C), from memory.

mod numbers;
mod page;
mod path;
mod pen;

use crate::assemble::assemble;
use crate::fault::{OutlineFault, quoted};
use crate::figure::{Figure, Layer, ReadOptions};
use glam::DVec2;
use numbers::{Placing, length, list, transform};
use pen::Pen;
use roxmltree::{Document, Node, ParsingOptions};
use std::collections::{BTreeMap, HashMap};

/// Elements and attributes at most.
pub const MOST_NODES: u32 = 400_000;
/// Pieces at most, after what is used several times is laid out.
pub const MOST_PIECES: usize = 200_000;
/// Groups within groups at most.
pub const DEEPEST: usize = 64;
/// A group of this name carries helps that are not cut.
pub const NOT_CUT: &str = "not-cut";

/// Reads a drawing; see the module.
///
/// # Errors
/// What is wrong with it, with its line.
pub fn read(bytes: &[u8], options: &ReadOptions) -> Result<Figure, Vec<OutlineFault>> {
    let one = |f: OutlineFault| vec![f];
    let text = std::str::from_utf8(bytes).map_err(|fault| {
        let line = 1 + bytes[..fault.valid_up_to()]
            .iter()
            .filter(|b| **b == b'\n')
            .count();
        one(OutlineFault::new(
            "not-text",
            "the drawing is not UTF-8 text",
            "save it as plain SVG",
        )
        .on_line(line))
    })?;
    let parsing = ParsingOptions {
        allow_dtd: true,
        nodes_limit: MOST_NODES,
        ..ParsingOptions::default()
    };
    let document =
        Document::parse_with_options(text.trim_start_matches('\u{feff}'), parsing).map_err(|fault| {
            let what = format!("the drawing is not well-formed: {fault}");
            one(OutlineFault::new("not-svg", what, "save it again as plain SVG")
                .on_line(fault.pos().row as usize))
        })?;
    let root = document.root_element();
    if root.tag_name().name() != "svg" {
        let what = format!(
            "its outermost element is {}, not svg",
            quoted(root.tag_name().name())
        );
        return Err(one(OutlineFault::new(
            "not-svg",
            what,
            "export the drawing as SVG",
        )));
    }
    let page = page::Page::of(&root, options.unit).map_err(one)?;
    let mut walk = Walk {
        options,
        lines: Lines::of(text),
        named: document
            .descendants()
            .filter_map(|n| Some((n.attribute("id")?, n)))
            .collect(),
        pen: Pen::new(options.fit),
        layers: BTreeMap::new(),
        groups: Vec::new(),
        passed_over: BTreeMap::new(),
        spent: 0,
    };
    let start = Context {
        placing: page.placing,
        layer: String::new(),
        chosen: options.layers.is_empty(),
        depth: 0,
    };
    for child in root.children() {
        walk.node(child, &start).map_err(one)?;
    }
    walk.check_layers()?;
    let off = walk.pen.off;
    let (layers, passed_over) = (walk.layers, walk.passed_over);
    let mut figure = assemble(walk.pen.chains, options)?;
    figure.unit = page.unit;
    figure.said.push(page.said);
    figure.cautions.extend(page.caution);
    figure.layers = layers.into_values().collect();
    if off > 0.0 {
        figure.said.push(format!(
            "Curves were followed by arcs to within {:.4} mm.",
            off * 1e3
        ));
    }
    figure.say_layers_left_out();
    if !passed_over.is_empty() {
        let kinds: Vec<String> = passed_over.iter().map(|(k, n)| format!("{n} {k}")).collect();
        figure
            .said
            .push(format!("Passed over, being no outline: {}.", kinds.join(", ")));
    }
    Ok(figure)
}

/// Finds the line of a place in a text.
struct Lines(Vec<usize>);

impl Lines {
    fn of(text: &str) -> Lines {
        Lines(
            text.bytes()
                .enumerate()
                .filter(|(_, b)| *b == b'\n')
                .map(|(i, _)| i)
                .collect(),
        )
    }

    fn at(&self, place: usize) -> usize {
        1 + self.0.partition_point(|&end| end < place)
    }
}

#[derive(Clone)]
struct Context {
    placing: Placing,
    /// The nearest labelled group, or the outermost with a name.
    layer: String,
    /// Within a group that was asked for.
    chosen: bool,
    depth: usize,
}

struct Walk<'d, 'i> {
    options: &'d ReadOptions,
    lines: Lines,
    named: HashMap<&'d str, Node<'d, 'i>>,
    pen: Pen,
    layers: BTreeMap<String, Layer>,
    groups: Vec<String>,
    passed_over: BTreeMap<String, usize>,
    spent: usize,
}

/// What may be named elsewhere but is not drawn where it stands.
const NOT_DRAWN: [&str; 11] = [
    "defs",
    "symbol",
    "clipPath",
    "mask",
    "pattern",
    "marker",
    "linearGradient",
    "radialGradient",
    "filter",
    "metadata",
    "style",
];

impl<'d, 'i> Walk<'d, 'i> {
    fn line(&self, node: &Node) -> usize {
        self.lines.at(node.range().start)
    }

    fn fault(&self, node: &Node, id: &'static str, what: String, mend: &str) -> OutlineFault {
        OutlineFault::new(id, what, mend).on_line(self.line(node))
    }

    fn node(&mut self, node: Node<'d, 'i>, outer: &Context) -> Result<(), OutlineFault> {
        let space = node.tag_name().namespace();
        if !node.is_element() || !matches!(space, None | Some("http://www.w3.org/2000/svg")) || hidden(&node)
        {
            return Ok(());
        }
        // What is used many times is read many times: long attributes are counted too.
        let long = |name: &str| node.attribute(name).map_or(0, str::len);
        self.spend(
            1 + node.attributes().len() / 8 + (long("transform") + long("style")) / 64,
            &node,
        )?;
        let name = node.tag_name().name();
        if NOT_DRAWN.contains(&name) {
            return Ok(());
        }
        if outer.depth >= DEEPEST {
            let what = format!("groups lie in groups more than {DEEPEST} deep, or something uses itself");
            return Err(self.fault(
                &node,
                "too-deep",
                what,
                "dissolve the groups and save the drawing again",
            ));
        }
        let context = self.within(&node, outer)?;
        match name {
            "g" | "a" | "switch" => self.children(node, &context),
            "svg" => {
                let moved = Placing::moved(DVec2::new(self.number(&node, "x")?, self.number(&node, "y")?));
                let fitted = page::view(&node).unwrap_or(Placing::NONE);
                let placing = context.placing.after(&moved).after(&fitted);
                self.children(node, &Context { placing, ..context })
            }
            "use" => self.used(&node, &context),
            "path" | "rect" | "circle" | "ellipse" | "line" | "polyline" | "polygon" => {
                self.shape(&node, &context)
            }
            "title" | "desc" | "script" => Ok(()),
            other => {
                let known = self.passed_over.len() < 30 || self.passed_over.contains_key(other);
                let name = if known {
                    other.chars().take(24).collect()
                } else {
                    "others".to_owned()
                };
                *self.passed_over.entry(name).or_default() += 1;
                Ok(())
            }
        }
    }

    fn children(&mut self, node: Node<'d, 'i>, context: &Context) -> Result<(), OutlineFault> {
        for child in node.children() {
            self.node(child, context)?;
        }
        Ok(())
    }

    /// The context inside an element: its transform, and its name where it is a group.
    fn within(&mut self, node: &Node, outer: &Context) -> Result<Context, OutlineFault> {
        let mut inner = outer.clone();
        inner.depth += 1;
        if let Some(text) = node.attribute("transform") {
            let Some(placing) = transform(text) else {
                let what = format!("the transform {} is none", quoted(text));
                return Err(self.fault(node, "transform", what, "save the drawing again as plain SVG"));
            };
            inner.placing = outer.placing.after(&placing);
        }
        let label = node.attributes().find(|a| a.name() == "label").map(|a| a.value());
        let names: Vec<&str> = [label, node.attribute("id")].into_iter().flatten().collect();
        inner.chosen |= self.options.layers.iter().any(|l| names.contains(&l.as_str()));
        if matches!(node.tag_name().name(), "g" | "svg") {
            self.groups.extend(names.iter().map(|n| (*n).to_owned()));
            match (label, names.first()) {
                (Some(label), _) => inner.layer = label.to_owned(),
                (None, Some(id)) if outer.layer.is_empty() => inner.layer = (*id).to_owned(),
                _ => {}
            }
            if names.contains(&NOT_CUT) {
                inner.layer = NOT_CUT.to_owned();
            }
        }
        Ok(inner)
    }

    fn used(&mut self, node: &Node<'d, 'i>, context: &Context) -> Result<(), OutlineFault> {
        let href = node
            .attributes()
            .find(|a| a.name() == "href")
            .map_or("", |a| a.value());
        let found = href.strip_prefix('#').and_then(|id| self.named.get(id).copied());
        let Some(target) = found else {
            let what = format!("it uses {}, which is not in the drawing", quoted(href));
            return Err(self.fault(
                node,
                "no-such-use",
                what,
                "save the drawing with everything in it",
            ));
        };
        let by = DVec2::new(self.number(node, "x")?, self.number(node, "y")?);
        let context = Context {
            placing: context.placing.after(&Placing::moved(by)),
            ..context.clone()
        };
        if target.tag_name().name() != "symbol" {
            return self.node(target, &context);
        }
        let fitted = page::view(&target).unwrap_or(Placing::NONE);
        let placing = context.placing.after(&fitted);
        let inside = self.within(&target, &Context { placing, ..context })?;
        self.children(target, &inside)
    }

    fn spend(&mut self, pieces: usize, node: &Node) -> Result<(), OutlineFault> {
        self.spent += pieces;
        if self.spent <= MOST_PIECES {
            return Ok(());
        }
        let what = format!("the drawing has more than {MOST_PIECES} pieces once everything used is laid out");
        Err(self.fault(node, "too-many", what, "export only the outline"))
    }

    /// A length in user units; 0 when it is not stated.
    fn number(&self, node: &Node, name: &str) -> Result<f64, OutlineFault> {
        let Some(text) = node.attribute(name) else {
            return Ok(0.0);
        };
        match length(text) {
            Some((value, _)) => Ok(value),
            None => {
                let what = format!("{name} = {} is no length", quoted(text));
                Err(self.fault(
                    node,
                    "not-a-number",
                    what,
                    "write it in user units, without percent",
                ))
            }
        }
    }

    /// Counts a piece for its layer and says whether it is taken.
    fn wanted(&mut self, context: &Context) -> bool {
        let taken = context.chosen && (context.layer != NOT_CUT || !self.options.layers.is_empty());
        let fresh = || Layer {
            name: context.layer.clone(),
            pieces: 0,
            taken,
        };
        let layer = self.layers.entry(context.layer.clone()).or_insert_with(fresh);
        layer.pieces += 1;
        layer.taken |= taken;
        taken
    }

    fn shape(&mut self, node: &Node, context: &Context) -> Result<(), OutlineFault> {
        if !self.wanted(context) {
            return Ok(());
        }
        let line = self.line(node);
        let before = self.pen.pieces();
        self.pen.begin(context.placing, &context.layer, line);
        match node.tag_name().name() {
            "path" => {
                let data = node.attribute("d").unwrap_or_default();
                let pieces = path::pieces(data, MOST_PIECES).map_err(|left| {
                    let what = format!(
                        "the path data goes wrong at {}",
                        quoted(&data[data.len() - left..])
                    );
                    self.fault(node, "path", what, "save the drawing again as plain SVG")
                })?;
                self.spend(pieces.len() / 4, node)?;
                pieces.iter().for_each(|p| self.pen.piece(p));
            }
            "rect" => {
                let corner = DVec2::new(self.number(node, "x")?, self.number(node, "y")?);
                let size = DVec2::new(self.number(node, "width")?, self.number(node, "height")?);
                let (rx, ry) = (self.number(node, "rx")?, self.number(node, "ry")?);
                let stated = |own: &str, own_value: f64, other: f64| {
                    if node.has_attribute(own) { own_value } else { other }
                };
                let radii = DVec2::new(stated("rx", rx, ry), stated("ry", ry, rx)).min(0.5 * size);
                self.pen.rectangle(corner, size, radii);
            }
            "circle" | "ellipse" => {
                let centre = DVec2::new(self.number(node, "cx")?, self.number(node, "cy")?);
                let r = self.number(node, "r")?;
                let radii = match node.tag_name().name() {
                    "circle" => DVec2::splat(r),
                    _ => DVec2::new(self.number(node, "rx")?, self.number(node, "ry")?),
                };
                if !(radii.min_element() > 0.0) {
                    let what = "a circle or an ellipse has no radius".to_owned();
                    return Err(self.fault(node, "no-radius", what, "delete it or draw it again"));
                }
                self.pen.ellipse(centre, radii);
            }
            "line" => {
                let from = DVec2::new(self.number(node, "x1")?, self.number(node, "y1")?);
                let to = DVec2::new(self.number(node, "x2")?, self.number(node, "y2")?);
                self.pen.piece(&path::Piece::Move(from));
                self.pen.piece(&path::Piece::Line(to));
            }
            many => {
                let text = node.attribute("points").unwrap_or_default();
                let Some(numbers) = list(text).filter(|n| n.len() % 2 == 0) else {
                    let what = format!("the points {} are no pairs of numbers", quoted(text));
                    return Err(self.fault(
                        node,
                        "not-a-number",
                        what,
                        "save the drawing again as plain SVG",
                    ));
                };
                self.spend(numbers.len() / 8, node)?;
                for (i, pair) in numbers.chunks(2).enumerate() {
                    let p = DVec2::new(pair[0], pair[1]);
                    let piece = if i == 0 {
                        path::Piece::Move(p)
                    } else {
                        path::Piece::Line(p)
                    };
                    self.pen.piece(&piece);
                }
                if many == "polygon" {
                    self.pen.piece(&path::Piece::Close);
                }
            }
        }
        self.pen.end();
        if self.pen.lost {
            let what =
                "a curve cannot be followed by arcs: it is no number somewhere, or too long".to_owned();
            return Err(self.fault(node, "curve", what, "draw it again, or allow a wider tolerance"));
        }
        self.spend(self.pen.pieces() - before, node)
    }

    fn check_layers(&self) -> Result<(), Vec<OutlineFault>> {
        let missing = |l: &&String| !self.groups.contains(l) && !self.named.contains_key(l.as_str());
        let faults: Vec<OutlineFault> = (self.options.layers.iter().filter(missing))
            .map(|name| {
                let there: Vec<&str> = self
                    .layers
                    .keys()
                    .map(String::as_str)
                    .filter(|n| !n.is_empty())
                    .take(20)
                    .collect();
                let near = measure::nearest(name, self.groups.iter().map(String::as_str));
                let near = near.map_or(String::new(), |n| format!("did you mean {n}? "));
                let mend = format!(
                    "{near}groups with lines in them: {}",
                    if there.is_empty() {
                        "none".into()
                    } else {
                        there.join(", ")
                    }
                );
                OutlineFault::new("no-layer", format!("there is no group {}", quoted(name)), mend)
            })
            .collect();
        if faults.is_empty() { Ok(()) } else { Err(faults) }
    }
}

/// Whether an element is not shown.
fn hidden(node: &Node) -> bool {
    let style = node.attribute("style").unwrap_or_default();
    let styled = |name: &str, value: &str| {
        style
            .split(';')
            .filter_map(|d| d.split_once(':'))
            .any(|(n, v)| n.trim() == name && v.trim() == value)
    };
    let is = |name: &str, value: &str| node.attribute(name) == Some(value) || styled(name, value);
    is("display", "none") || is("visibility", "hidden") || is("visibility", "collapse")
}
