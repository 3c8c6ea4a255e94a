//! Plates and doors laid flat: cut files, a page each with sizes, and templates at true size.

use job::{Design, DoorWork, Place, PlateWork};
use measure::{Dimension, show};
use outline::write::{Format, checked_flat};
use pan::{Door, Opening};
use report::drawing::pdf;
use report::findings::Warning;
use report::paper;
use report::pictures::plates as pictures;
use serde::Serialize;
use shop::sheet::{Blank, SheetFault, Work, door, plate};

use super::{Folder, stem};
use crate::failure::{Complaint, Failure};

/// A direction says too little when it lies this close along a plate: cos 75°.
const ALONG: f64 = 0.26;

/// What is said of the plates.
#[derive(Debug, Serialize)]
pub struct PlatesFacts {
    /// Every kind of piece.
    pub blanks: Vec<BlankFact>,
}

/// A kind of piece, in SI.
#[derive(Debug, Serialize)]
pub struct BlankFact {
    /// Name.
    pub name: String,
    /// "wall", "shelf", "sheet", "door" or "stop".
    pub kind: &'static str,
    /// How many.
    pub count: usize,
    /// Metal.
    pub material: &'static str,
    /// Thickness [m].
    pub thickness: f64,
    /// Length and width of the blank [m].
    pub size: [f64; 2],
    /// Area of one [m²].
    pub area: f64,
    /// Mass of one [kg].
    pub mass: f64,
    /// Length of all edges that are cut [m].
    pub cut_length: f64,
    /// Round holes.
    pub holes: usize,
    /// Other openings.
    pub windows: usize,
    /// Bends: name, up, angle, radius, allowance, deduction, lines.
    pub bends: Vec<shop::sheet::FlatBend>,
}

/// Makes the files; `None` for a pan without plates.
pub fn make(design: &Design, folder: &mut Folder) -> Result<Option<(PlatesFacts, Vec<Blank>)>, Failure> {
    if design.pan.plates.is_empty() {
        return Ok(None);
    }
    let blanks = blanks(design, folder)?;
    if blanks.is_empty() {
        return Ok(None);
    }
    let (mut templates, mut pages, mut taken) = (Vec::new(), Vec::new(), Vec::new());
    for blank in &blanks {
        let stem = stem(&blank.name, &mut taken);
        for (format, ending) in [(Format::Dxf, "dxf"), (Format::Svg, "svg")] {
            let text = checked_flat(&blank.figure, &blank.marks, format)
                .map_err(|fault| Failure::computing(format!("{}: {fault}", blank.name), ""))?;
            let what = format!("{}, flat, to cut and bend", blank.name);
            folder.add(&format!("plates/{stem}.{ending}"), &what, text);
        }
        let drawing = pictures::template(blank, &format!("template-{stem}"));
        templates.extend(paper::sheets(&drawing, design.shop.paper).pages);
        pages.push(pictures::page(
            blank,
            &format!("page-{stem}"),
            design.shop.paper,
            design.units,
        ));
    }
    for (path, what, drawings) in [
        (
            "plates/drawings.pdf",
            "a page for every plate: sizes, bends, holes",
            &pages,
        ),
        (
            "plates/templates.pdf",
            "plates at true size, for cardboard or the sheet; print at 100 %",
            &templates,
        ),
    ] {
        let bytes = pdf::file(drawings).map_err(|fault| Failure::computing(fault.to_string(), ""))?;
        folder.add(path, what, bytes);
    }
    say(design, folder, &blanks);
    let facts = PlatesFacts {
        blanks: blanks.iter().map(fact).collect(),
    };
    Ok(Some((facts, blanks)))
}

/// Every blank of the design: plates, then flaps and stops of doors.
///
/// # Errors
/// Everything that cannot be made, with its place.
pub fn blanks(design: &Design, folder: &mut Folder) -> Result<Vec<Blank>, Failure> {
    let sheet = &design.shop.sheet;
    let (mut blanks, mut complaints): (Vec<Blank>, Vec<Complaint>) = Default::default();
    let made: Vec<(&Door, &DoorWork)> = design
        .pan
        .doors
        .iter()
        .zip(&sheet.doors)
        .filter(|(_, w)| w.make)
        .collect();
    for (index, (p, stated)) in design.pan.plates.iter().zip(&sheet.plates).enumerate() {
        if !stated.make {
            continue;
        }
        // A door that is not made here still has its opening.
        let mut openings: Vec<Opening> = Vec::new();
        for (d, w) in design
            .pan
            .doors
            .iter()
            .zip(&sheet.doors)
            .filter(|(d, _)| d.plate == index)
        {
            let all = door::openings(d, &sheet.hanging);
            openings.extend(all.into_iter().take(if w.make { usize::MAX } else { 1 }));
        }
        let made = work(design, index, stated).and_then(|work| {
            plate::blank(&design.pan, index, &work, &openings)
                .map_err(|fault| complaint(&fault, &stated.place, &format!("plate \"{}\"", p.name)))
        });
        match made {
            Ok(blank) => blanks.push(blank),
            Err(complaint) => complaints.push(complaint),
        }
    }
    for (d, w) in made {
        let flat = flap_work(design, d, w);
        if !door::row_is_free(&design.pan, d, &sheet.hanging) {
            folder.warnings.push(Warning {
                said: format!("{}: the row of its hinge meets an opening", d.name),
                mend: "move the door or the opening, or narrow the hinge leaf (shop.sheet.leaf)".to_owned(),
            });
        }
        let both = [
            door::flap(d, &sheet.hanging, &flat),
            door::stop(d, &sheet.hanging, &flat),
        ];
        for made in both {
            match made {
                Ok(blank) => blanks.push(blank),
                Err(fault) => complaints.push(complaint(&fault, &w.place, &format!("door \"{}\"", d.name))),
            }
        }
    }
    if complaints.is_empty() {
        Ok(blanks)
    } else {
        Err(Failure::Input(complaints))
    }
}

fn complaint(fault: &SheetFault, place: &Place, part: &str) -> Complaint {
    // Of a part that has no entry of its own under [shop.sheet] no line is known.
    let at = match place.line {
        0 | 1 => place.file.display().to_string(),
        _ => place.to_string(),
    };
    Complaint {
        what: format!("{part} cannot be made of sheet: {fault}"),
        place: format!("{at}, {part}"),
        mend: fault.mend(),
    }
}

fn work(design: &Design, index: usize, stated: &PlateWork) -> Result<Work, Complaint> {
    let plate = &design.pan.plates[index];
    let sheet = &design.shop.sheet;
    let normal = plate.panels().first().map(|p| p.normal).unwrap_or_default();
    let along = stated.toward.map_or(1.0, |way| normal.dot(way));
    if along.abs() < ALONG {
        return Err(Complaint {
            what: format!(
                "the plate {} lies along the way to which its tabs should turn",
                plate.name
            ),
            place: format!("{}, shop.sheet.plate.toward", stated.place),
            mend: "state a way that leaves the plate's plane, or leave it out".to_owned(),
        });
    }
    Ok(Work {
        metal: stated.metal,
        thickness: plate.thickness,
        radius: stated.radius,
        gap: sheet.gap,
        die: sheet.die,
        tabs: stated.tabs.clone(),
        tab: stated.tab,
        tabs_positive: along > 0.0,
        fasten: stated.fasten,
        rivet_edge: sheet.hanging.rivet.least_edge(),
    })
}

fn flap_work(design: &Design, d: &Door, stated: &DoorWork) -> Work {
    Work {
        metal: stated.metal,
        thickness: door::flap_thickness(d),
        radius: None,
        gap: design.shop.sheet.gap,
        die: design.shop.sheet.die,
        tabs: Vec::new(),
        tab: 0.0,
        tabs_positive: true,
        fasten: shop::sheet::Fasten::Plain,
        rivet_edge: design.shop.sheet.hanging.rivet.least_edge(),
    }
}

fn say(design: &Design, folder: &mut Folder, blanks: &[Blank]) {
    for blank in blanks {
        for (said, mend) in &blank.warnings {
            let (said, mend) = (said.clone(), mend.clone());
            folder.warnings.push(Warning { said, mend });
        }
        for note in &blank.notes {
            folder.notes.push(format!("{}: {note}.", blank.name));
        }
    }
    let bends: usize = blanks.iter().map(|b| b.bends.len() * b.count).sum();
    let mass: f64 = blanks.iter().map(|b| b.mass * b.count as f64).sum();
    let pieces: usize = blanks.iter().map(|b| b.count).sum();
    let many = |n: usize, word: &str| format!("{n} {word}{}", if n == 1 { "" } else { "s" });
    folder.said.push(format!(
        "Plates: {}, {}, {} together. A bend up comes toward you. Bend a strip of known length first: material and tooling \
         move a flat length by some tenths of a millimetre.",
        many(pieces, "piece"),
        many(bends, "bend"),
        show(mass, Dimension::Mass, design.units)
    ));
}

fn fact(blank: &Blank) -> BlankFact {
    BlankFact {
        name: blank.name.clone(),
        kind: blank.kind,
        count: blank.count,
        material: blank.metal.word(),
        thickness: blank.thickness,
        size: blank.size.to_array(),
        area: blank.area,
        mass: blank.mass,
        cut_length: blank.cut_length,
        holes: blank.holes,
        windows: blank.windows,
        bends: blank.bends.clone(),
    }
}
