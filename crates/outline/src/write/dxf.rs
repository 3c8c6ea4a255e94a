//! DXF of the year 2000 (AC1015): light polylines with bulges, circles, layers, the unit said twice.
//!
//! The tables, blocks and objects that the format wants stand there with handles and owners, so that a strict reader
//! has nothing to mend. Source: the published DXF reference (from memory); audited with ezdxf, which finds nothing.

use super::{BAR, CUT, Mark, MarkKind, mm};
use crate::dxf::NOT_CUT;
use crate::figure::{Figure, Role, Shape};
use glam::DVec2;

/// Layers with their colour numbers: by role, and one that is not plotted.
const LAYERS: [(&str, i32); 4] = [("OUTLINE", 7), ("HOLES", 5), ("WINDOWS", 3), (NOT_CUT, 8)];
/// Layers of a flat pattern: black is cut, blue is bent, green is scribed.
const FLAT_LAYERS: [(&str, i32); 4] = [(CUT[0], 7), ("BEND", 5), ("MARK", 3), (NOT_CUT, 8)];

/// Writes pairs, and gives each thing its handle.
struct Pairs {
    text: String,
    next: u32,
}

impl Pairs {
    fn pair(&mut self, code: i32, value: &str) -> &mut Pairs {
        self.text += &format!("{code}\n{value}\n");
        self
    }

    fn number(&mut self, code: i32, value: f64) -> &mut Pairs {
        let text = format!("{value:.12}");
        let text = text.trim_end_matches('0');
        let text = if text.ends_with('.') {
            format!("{text}0")
        } else {
            text.to_owned()
        };
        self.pair(code, &text)
    }

    fn point(&mut self, code: i32, p: DVec2) -> &mut Pairs {
        // Millimetres to a millionth.
        let (x, y) = (mm(p.x), mm(p.y));
        self.pair(code, &x).pair(code + 10, &y)
    }

    /// A thing of a kind with its handle, its owner and its class.
    fn thing(&mut self, kind: &str, owner: &str, class: &str) -> String {
        let handle = format!("{:X}", self.next);
        self.next += 1;
        let code = if kind == "DIMSTYLE" { 105 } else { 5 };
        self.pair(0, kind)
            .pair(code, &handle)
            .pair(330, owner)
            .pair(100, class);
        handle
    }

    fn table(&mut self, name: &str, entries: usize) -> String {
        self.pair(0, "TABLE").pair(2, name);
        let handle = format!("{:X}", self.next);
        self.next += 1;
        self.pair(5, &handle)
            .pair(330, "0")
            .pair(100, "AcDbSymbolTable")
            .pair(70, &entries.to_string());
        if name == "DIMSTYLE" {
            self.pair(100, "AcDbDimStyleTable").pair(71, "1");
        }
        handle
    }

    fn record(&mut self, kind: &str, table: &str, class: &str, name: &str) -> String {
        let handle = self.thing(kind, table, "AcDbSymbolTableRecord");
        self.pair(100, class).pair(2, name).pair(70, "0");
        handle
    }
}

pub(super) fn file(figure: &Figure, marks: Option<&[Mark]>) -> String {
    let mut body = Pairs {
        text: String::new(),
        next: 0x20,
    };
    // The root dictionary's handle is set here: layouts and the root point to each other.
    let (root, groups, model_layout, paper_layout, layouts) = ("C", "D", "1A", "1E", "1B");
    body.pair(0, "SECTION").pair(2, "TABLES");
    let (model, paper) = tables(
        &mut body,
        if marks.is_some() { FLAT_LAYERS } else { LAYERS },
        model_layout,
        paper_layout,
    );
    body.pair(0, "ENDSEC").pair(0, "SECTION").pair(2, "BLOCKS");
    for (name, record) in [("*Model_Space", &model), ("*Paper_Space", &paper)] {
        body.thing("BLOCK", record, "AcDbEntity");
        body.pair(8, "0")
            .pair(100, "AcDbBlockBegin")
            .pair(2, name)
            .pair(70, "0");
        body.point(10, DVec2::ZERO)
            .pair(30, "0.0")
            .pair(3, name)
            .pair(1, "");
        body.thing("ENDBLK", record, "AcDbEntity");
        body.pair(8, "0").pair(100, "AcDbBlockEnd");
    }
    body.pair(0, "ENDSEC").pair(0, "SECTION").pair(2, "ENTITIES");
    for one in &figure.shapes {
        let layer = match (marks, one.role) {
            (Some(_), _) => CUT[0],
            (None, Role::Outline) => LAYERS[0].0,
            (None, Role::Hole) => LAYERS[1].0,
            (None, Role::Window) => LAYERS[2].0,
        };
        shape(&mut body, one, layer, &model);
    }
    marks
        .unwrap_or_default()
        .iter()
        .for_each(|m| mark(&mut body, m, &model));
    bar(&mut body, figure.bounds().0, &model);
    body.pair(0, "ENDSEC");
    objects(
        &mut body,
        [root, groups, layouts, model_layout, paper_layout],
        &model,
        &paper,
    );
    body.pair(0, "EOF");
    let seed = format!("{:X}", body.next);
    header(figure, &seed) + &body.text
}

fn header(figure: &Figure, seed: &str) -> String {
    let (low, high) = figure.bounds();
    let mut head = Pairs {
        text: String::new(),
        next: 0,
    };
    head.pair(999, "Outline true to size, in millimetres.");
    head.pair(0, "SECTION").pair(2, "HEADER");
    head.pair(9, "$ACADVER").pair(1, "AC1015");
    head.pair(9, "$HANDSEED").pair(5, seed);
    // Insertion units: millimetres. Measurement: metric.
    head.pair(9, "$INSUNITS").pair(70, "4");
    head.pair(9, "$MEASUREMENT").pair(70, "1");
    head.pair(9, "$EXTMIN").point(10, low).pair(30, "0.0");
    head.pair(9, "$EXTMAX").point(10, high).pair(30, "0.0");
    head.pair(0, "ENDSEC");
    // An empty list of classes is part of the format.
    head.pair(0, "SECTION").pair(2, "CLASSES").pair(0, "ENDSEC");
    head.text
}

/// The tables; gives the handles of the records of model and paper space.
fn tables(
    body: &mut Pairs,
    layers: [(&str, i32); 4],
    model_layout: &str,
    paper_layout: &str,
) -> (String, String) {
    let table = body.table("VPORT", 1);
    body.record("VPORT", &table, "AcDbViewportTableRecord", "*ACTIVE");
    body.point(10, DVec2::ZERO)
        .point(11, DVec2::splat(1e-3))
        .point(12, DVec2::ZERO);
    body.number(40, 400.0).number(41, 1.5).pair(0, "ENDTAB");
    let table = body.table("LTYPE", 3);
    for name in ["ByBlock", "ByLayer", "Continuous"] {
        body.record("LTYPE", &table, "AcDbLinetypeTableRecord", name);
        body.pair(3, "").pair(72, "65").pair(73, "0").number(40, 0.0);
    }
    body.pair(0, "ENDTAB");
    let table = body.table("LAYER", layers.len() + 1);
    for (name, colour) in [("0", 7)].into_iter().chain(layers) {
        body.record("LAYER", &table, "AcDbLayerTableRecord", name);
        body.pair(62, &colour.to_string()).pair(6, "Continuous");
        if name == NOT_CUT {
            body.pair(290, "0");
        }
        // The plot style "as drawn" is the placeholder among the objects.
        body.pair(390, "F");
    }
    body.pair(0, "ENDTAB");
    let table = body.table("STYLE", 1);
    body.record("STYLE", &table, "AcDbTextStyleTableRecord", "Standard");
    body.number(40, 0.0)
        .number(41, 1.0)
        .number(50, 0.0)
        .pair(71, "0")
        .number(42, 2.5)
        .pair(3, "txt")
        .pair(4, "");
    body.pair(0, "ENDTAB");
    for name in ["VIEW", "UCS"] {
        body.table(name, 0);
        body.pair(0, "ENDTAB");
    }
    let table = body.table("APPID", 1);
    body.record("APPID", &table, "AcDbRegAppTableRecord", "ACAD");
    body.pair(0, "ENDTAB");
    let table = body.table("DIMSTYLE", 1);
    body.record("DIMSTYLE", &table, "AcDbDimStyleTableRecord", "Standard");
    body.pair(0, "ENDTAB");
    let table = body.table("BLOCK_RECORD", 2);
    let mut record = |name: &str, layout: &str| {
        let handle = body.thing("BLOCK_RECORD", &table, "AcDbSymbolTableRecord");
        body.pair(100, "AcDbBlockTableRecord")
            .pair(2, name)
            .pair(340, layout);
        handle
    };
    let handles = (
        record("*Model_Space", model_layout),
        record("*Paper_Space", paper_layout),
    );
    body.pair(0, "ENDTAB");
    handles
}

fn shape(body: &mut Pairs, shape: &Shape, layer: &str, model: &str) {
    if let Some(circle) = shape.circle {
        body.thing("CIRCLE", model, "AcDbEntity");
        body.pair(8, layer)
            .pair(100, "AcDbCircle")
            .point(10, circle.centre)
            .pair(30, "0.0");
        body.pair(40, &mm(circle.radius));
        return;
    }
    body.thing("LWPOLYLINE", model, "AcDbEntity");
    body.pair(8, layer).pair(100, "AcDbPolyline");
    body.pair(90, &shape.line.vertices.len().to_string())
        .pair(70, "1");
    for &(p, bulge) in &shape.line.vertices {
        body.point(10, p);
        if bulge != 0.0 {
            body.number(42, bulge);
        }
    }
}

fn mark(body: &mut Pairs, mark: &Mark, model: &str) {
    let layer = (MarkKind::ALL.iter())
        .find(|(kind, ..)| *kind == mark.kind())
        .map_or(NOT_CUT, |(_, layer, _)| layer);
    match mark {
        Mark::Line { from, to, .. } => line(body, layer, *from, *to, model),
        Mark::Words {
            at,
            turn,
            height,
            words,
            ..
        } => text(body, layer, *at, *turn, *height, words, model),
    }
}

fn line(body: &mut Pairs, layer: &str, from: DVec2, to: DVec2, model: &str) {
    body.thing("LINE", model, "AcDbEntity");
    body.pair(8, layer).pair(100, "AcDbLine");
    body.point(10, from).pair(30, "0.0").point(11, to).pair(31, "0.0");
}

fn text(body: &mut Pairs, layer: &str, at: DVec2, turn: f64, height: f64, words: &str, model: &str) {
    body.thing("TEXT", model, "AcDbEntity");
    body.pair(8, layer).pair(100, "AcDbText");
    body.point(10, at).pair(30, "0.0").pair(40, &mm(height));
    // One line: a line feed would end the value.
    let words: String = words
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    body.pair(1, &words);
    if turn != 0.0 {
        body.number(50, turn.to_degrees());
    }
    body.pair(100, "AcDbText");
}

fn bar(body: &mut Pairs, low: DVec2, model: &str) {
    let from = low - DVec2::new(0.0, 0.01);
    line(body, NOT_CUT, from, from + DVec2::new(BAR, 0.0), model);
    let words = "100 mm, measure it; do not cut";
    text(
        body,
        NOT_CUT,
        from + DVec2::new(0.0, 0.001),
        0.0,
        4e-3,
        words,
        model,
    );
}

/// The objects that a strict reader looks for: the root with groups, layouts and the plot style "as drawn".
fn objects(
    body: &mut Pairs,
    [root, groups, layouts, model_layout, paper_layout]: [&str; 5],
    model: &str,
    paper: &str,
) {
    body.pair(0, "SECTION").pair(2, "OBJECTS");
    let mut dictionary = |handle: &str, owner: &str, entries: &[(&str, &str)]| {
        body.pair(0, "DICTIONARY")
            .pair(5, handle)
            .pair(330, owner)
            .pair(100, "AcDbDictionary")
            .pair(281, "1");
        for (name, entry) in entries {
            body.pair(3, name).pair(350, entry);
        }
    };
    dictionary(
        root,
        "0",
        &[
            ("ACAD_GROUP", groups),
            ("ACAD_LAYOUT", layouts),
            ("ACAD_PLOTSTYLENAME", "E"),
        ],
    );
    dictionary(groups, root, &[]);
    dictionary(
        layouts,
        root,
        &[("Model", model_layout), ("Layout1", paper_layout)],
    );
    body.pair(0, "ACDBDICTIONARYWDFLT")
        .pair(5, "E")
        .pair(330, root)
        .pair(100, "AcDbDictionary")
        .pair(281, "1");
    body.pair(3, "Normal")
        .pair(350, "F")
        .pair(100, "AcDbDictionaryWithDefault")
        .pair(340, "F");
    body.pair(0, "ACDBPLACEHOLDER").pair(5, "F").pair(330, "E");
    for (handle, name, order, record) in [
        (model_layout, "Model", 0, model),
        (paper_layout, "Layout1", 1, paper),
    ] {
        body.pair(0, "LAYOUT")
            .pair(5, handle)
            .pair(330, layouts)
            .pair(100, "AcDbPlotSettings");
        body.pair(1, "").pair(2, "none_device").pair(4, "").pair(6, "");
        for code in [40, 41, 42, 43, 44, 45, 46, 47, 48, 49, 140, 141] {
            body.number(code, 0.0);
        }
        body.number(142, 1.0).number(143, 1.0);
        let flags = if order == 0 { "1712" } else { "688" };
        body.pair(70, flags)
            .pair(72, "1")
            .pair(73, "0")
            .pair(74, "5")
            .pair(7, "")
            .pair(75, "16")
            .number(147, 1.0);
        body.number(148, 0.0).number(149, 0.0);
        body.pair(100, "AcDbLayout")
            .pair(1, name)
            .pair(70, "1")
            .pair(71, &order.to_string());
        body.point(10, DVec2::ZERO)
            .point(11, DVec2::new(0.42, 0.297))
            .point(12, DVec2::ZERO)
            .pair(32, "0.0");
        body.point(14, DVec2::ZERO)
            .pair(34, "0.0")
            .point(15, DVec2::new(0.42, 0.297))
            .pair(35, "0.0")
            .number(146, 0.0);
        body.point(13, DVec2::ZERO)
            .pair(33, "0.0")
            .point(16, DVec2::new(1e-3, 0.0))
            .pair(36, "0.0");
        body.point(17, DVec2::new(0.0, 1e-3))
            .pair(37, "0.0")
            .pair(76, "0")
            .pair(330, record);
    }
    body.pair(0, "ENDSEC");
}
