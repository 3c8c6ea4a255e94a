//! The gasket: cut files of the whole or its pieces, and the template on paper.

use job::{Design, Gasket, JointKind};
use outline::Figure;
use outline::write::{Format, Mark, MarkKind, checked_flat};
use report::findings::Warning;
use serde::Serialize;
use shop::gasket::{self, Asked, Bridge, Hole, HoleKind};

use super::Folder;
use crate::failure::{Complaint, Failure};

/// What was made of the gasket, for programs.
#[derive(Debug, Serialize)]
pub struct GasketFacts {
    /// What it is cut from.
    pub material: &'static str,
    /// Thickness [m].
    pub thickness: f64,
    /// Width and height of the whole [m].
    pub size: [f64; 2],
    /// Area of material [m²].
    pub area: f64,
    /// Length of all cuts [m].
    pub cut: f64,
    /// How far the bore stands back from the cavity's edge [m].
    pub bore_allowance: f64,
    /// The holes as cut.
    pub holes: Vec<Hole>,
    /// The narrowest bridge of material.
    pub least: Option<Bridge>,
    /// The pieces with their sizes [m].
    pub pieces: Vec<PieceFact>,
    /// Sheets of the template.
    pub sheets: usize,
}

/// A piece.
#[derive(Debug, Serialize)]
pub struct PieceFact {
    /// P1, P2, …
    pub name: String,
    /// Width and height [m].
    pub size: [f64; 2],
    /// The bolts and holes in it.
    pub holes: Vec<String>,
}

/// Makes the gasket, when the design describes one.
pub fn make(design: &Design, folder: &mut Folder) -> Result<Option<GasketFacts>, Failure> {
    let Some(own) = &design.shop.gasket else {
        folder.said.extend(why_none(design));
        return Ok(None);
    };
    let asked = asked(design, own)?;
    let made = gasket::made(&asked).map_err(|faults| {
        let told = |f: gasket::GasketFault| Complaint {
            what: format!("the gasket cannot be cut: {}", f.what),
            place: format!("{}, shop.gasket", own.place),
            mend: f.mend,
        };
        Failure::Input(faults.into_iter().map(told).collect())
    })?;
    files(&made, own, folder)?;
    let sheets = template(design, own, &made, folder)?;
    warn(own, &made, folder);
    let size = |f: &Figure| {
        let (low, high) = f.bounds();
        (high - low).to_array()
    };
    Ok(Some(GasketFacts {
        material: own.material.name,
        thickness: own.thickness,
        size: size(&made.whole),
        area: made.area,
        cut: made.cut,
        bore_allowance: own.set_back,
        least: made.least.clone(),
        pieces: (made.pieces.iter())
            .map(|p| PieceFact {
                name: p.name.clone(),
                size: size(&p.figure),
                holes: p.holes.clone(),
            })
            .collect(),
        holes: made.holes,
        sheets,
    }))
}

fn why_none(design: &Design) -> Option<String> {
    let sealing = design.sealing.as_ref()?;
    Some(match sealing.kind {
        JointKind::Sheet { .. } => {
            "No gasket is cut: add [shop.gasket] to the design; material and thickness come from [seal.joint].".to_owned()
        }
        _ => "The joint seals without a sheet, so no gasket is cut; [shop.gasket] would make one all the same.".to_owned(),
    })
}

/// Edges and holes: the flange's, or those of a file; then what is stated besides.
fn asked(design: &Design, own: &Gasket) -> Result<Asked, Failure> {
    let (outer, windows, mut holes) = match (&own.drawn, &design.sealing) {
        (Some(drawn), _) => (drawn.outer.clone(), drawn.windows.clone(), drawn.holes.clone()),
        (None, Some(sealing)) => {
            let bolts = sealing.bolts.at.iter().enumerate().map(|(i, at)| Hole {
                name: (i + 1).to_string(),
                kind: HoleKind::Bolt,
                at: *at,
                diameter: sealing.bolts.thread.diameter + own.hole,
            });
            let (outer, bore) = gasket::edges(&sealing.outer, &sealing.inner);
            (outer, vec![bore], bolts.collect())
        }
        (None, None) => {
            return Err(Failure::input(
                "nothing says what shape the gasket has",
                format!("{}, shop.gasket", own.place),
                "describe the joint in [seal], or name a drawing: outline = { file = \"gasket.dxf\" }",
            ));
        }
    };
    holes.extend(own.holes.iter().cloned());
    Ok(Asked {
        outer,
        windows,
        holes,
        set_back: own.set_back,
        least: own.least,
        mat: own.mat,
    })
}

/// DXF and SVG of the whole, or of each piece.
fn files(made: &gasket::Gasket, own: &Gasket, folder: &mut Folder) -> Result<(), Failure> {
    let sheet = format!("{} {:.1} mm", own.material.name, own.thickness * 1e3);
    let mut both = |path: &str, what: &str, figure: &Figure, words: String| {
        for (format, ending) in [(Format::Dxf, "dxf"), (Format::Svg, "svg")] {
            let (low, _) = figure.bounds();
            let marks = [Mark::Words {
                kind: MarkKind::Mark,
                // Between the outline and the bar that is to be measured.
                at: low - glam::DVec2::new(0.0, 0.004),
                turn: 0.0,
                height: 2.5e-3,
                words: words.clone(),
            }];
            let text = checked_flat(figure, &marks, format)
                .map_err(|f| Failure::computing(f.to_string(), "report this with the design"))?;
            folder.add(&format!("gasket/{path}.{ending}"), what, text);
        }
        Ok(())
    };
    if made.pieces.is_empty() {
        return both(
            "gasket",
            "gasket, to be cut",
            &made.whole,
            format!("gasket, {sheet}"),
        );
    }
    for piece in &made.pieces {
        let (path, what) = (
            format!("piece-{}", piece.name),
            format!("gasket, piece {} of {}", piece.name, made.pieces.len()),
        );
        both(&path, &what, &piece.figure, format!("{}, {sheet}", piece.name))?;
    }
    both(
        "gasket",
        "gasket in one, for a larger cutter",
        &made.whole,
        format!("gasket, {sheet}"),
    )
}

/// The template; how many sheets it takes.
fn template(
    design: &Design,
    own: &Gasket,
    made: &gasket::Gasket,
    folder: &mut Folder,
) -> Result<usize, Failure> {
    let bolts: Vec<&Hole> = made.holes.iter().filter(|h| h.kind == HoleKind::Bolt).collect();
    let mut about = vec![
        format!("Gasket, {}, {:.1} mm", own.material.name, own.thickness * 1e3),
        design.name.clone(),
    ];
    if let Some(bolt) = bolts.first() {
        about.push(format!(
            "{} bolt holes Ø {:.1} mm, numbered as in the design",
            bolts.len(),
            bolt.diameter * 1e3
        ));
    }
    about.push(format!("at the knife: {}", own.material.advice));
    if !made.pieces.is_empty() {
        about.push(format!(
            "{} pieces P1 to P{}: tongue into slot, a smear of sealant in each joint",
            made.pieces.len(),
            made.pieces.len()
        ));
    }
    about.push("seen from above, as it lies on the pan's flange".to_owned());
    let drawn = |about: &[String]| report::pictures::gasket::drawing(made, "Gasket", about);
    let mut sheets = report::paper::sheets(&drawn(&about), design.shop.paper);
    if sheets.sheets.len() > 1 {
        // Joints of sheets would run through the words: they stand on the map instead.
        sheets = report::paper::noted(&drawn(&[]), design.shop.paper, &about);
    }
    let pdf = report::drawing::pdf::file(&sheets.pages)
        .map_err(|f| Failure::computing(format!("the template is not printed: {f}"), "see what it says"))?;
    let lacking = report::drawing::pdf::lacking(&sheets.pages);
    if !lacking.is_empty() {
        let letters: String = lacking.iter().collect();
        folder
            .said
            .push(format!("The letters {letters} are not in the font of paper; boxes stand for them on the gasket's template."));
    }
    folder.add(
        "gasket/gasket.pdf",
        "gasket on paper, true to size: print at 100 %",
        pdf,
    );
    folder.said.extend(sheets.said);
    Ok(sheets.sheets.len())
}

fn warn(own: &Gasket, made: &gasket::Gasket, folder: &mut Folder) {
    let mm = |v: f64| format!("{:.2} mm", v * 1e3);
    for bridge in made.narrow.iter().take(12) {
        folder.warnings.push(Warning {
            said: format!(
                "between {} and {} the gasket is {} wide at x = {:.1} mm, y = {:.1} mm; {} asks for {}",
                bridge.between[0],
                bridge.between[1],
                mm(bridge.width),
                bridge.from.x * 1e3,
                bridge.from.y * 1e3,
                own.material.name,
                mm(own.least)
            ),
            mend: "a wider flange there, a smaller hole_allowance, or the hole farther in".to_owned(),
        });
    }
    if let Some(least) = &made.least {
        folder.said.push(format!(
            "The gasket's narrowest bridge is {}, between {} and {}.",
            mm(least.width),
            least.between[0],
            least.between[1]
        ));
    }
    if let (Some(mat), false) = (own.mat, made.pieces.is_empty()) {
        folder.said.push(format!(
            "On a mat of {:.0} mm by {:.0} mm the gasket is cut in {} pieces with {} joints.",
            mat[0] * 1e3,
            mat[1] * 1e3,
            made.pieces.len(),
            made.joints.len()
        ));
    }
}
