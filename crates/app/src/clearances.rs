//! From a design's surroundings to what is said of them: plain mapping.

mod removal;

use clearance::growth::{self, Room};
use clearance::survey::{Around, Kind, Row, named_bodies, survey};
use clearance::{Body, outside, silhouette};
use glam::{DVec2, DVec3};
use job::{Clearances, Design};
use measure::{Dimension, UnitOrder, show};
use report::findings::{
    BodyOutline, ClearanceFacts, ClearanceView, GapFact, GapLine, GapState, GrowthFact, SeenFrom, rounded,
};

/// Room shown round the pan [m].
const MARGIN: f64 = 0.09;

/// What is said of the surroundings of a design.
pub struct Looked {
    /// As facts.
    pub facts: ClearanceFacts,
    /// What is too close: what, where, how to mend it.
    pub notes: Vec<String>,
}

/// Measures everything; `None` when the design states no surroundings.
pub fn look(design: &Design) -> Option<Looked> {
    let clearances = design.clearances.as_ref()?;
    let surroundings = &clearances.surroundings;
    let rows = survey(&design.pan, surroundings);
    let pairs: Vec<GapFact> = rows.iter().map(fact).collect();
    let notes = rows
        .iter()
        .filter(|r| !r.holds())
        .map(|r| note(design, clearances, r))
        .collect();
    let rooms = growth::growth(&design.pan, surroundings);
    let way_out = clearance::removal::removal(&design.pan, surroundings);
    Some(Looked {
        facts: ClearanceFacts {
            said: said(&pairs, design.units),
            growth: rooms.iter().map(|r| room(r, surroundings)).collect(),
            removal: way_out.map(|r| removal::fact(&r, &surroundings.removal, design.units)),
            views: views(design, &pairs),
            pairs,
        },
        notes,
    })
}

fn fact(row: &Row) -> GapFact {
    GapFact {
        body: row.body.clone(),
        body_part: row.body_part.clone(),
        against: row.against_name.clone(),
        part: row.part.clone(),
        at_rest: rounded(row.at_rest),
        moved: rounded(row.moved),
        wanted: row.wanted,
        state: if row.holds() {
            GapState::Clear
        } else if row.moved > 0.0 {
            GapState::Close
        } else {
            GapState::Touches
        },
        on_pan: row.on_pan.to_array(),
        on_body: row.on_body.to_array(),
    }
}

fn room(room: &Room, s: &clearance::Surroundings) -> GrowthFact {
    GrowthFact {
        pocket: room.pocket.clone(),
        toward: room.toward.said().to_owned(),
        free: rounded(room.free),
        open: room.stopped_by.is_none(),
        // Less than a millilitre is rounding.
        gained: (room.gained * 1e6).round() * 1e-6,
        stopped_by: room.stopped_by.map(|i| s.around[i].body.name.clone()),
    }
}

/// The whole in a sentence: how many hold, and which is worst.
fn said(pairs: &[GapFact], units: UnitOrder) -> String {
    let length = |v: f64| show(v, Dimension::Length, units);
    let Some(worst) = pairs
        .iter()
        .min_by(|a, b| (a.moved - a.wanted).total_cmp(&(b.moved - b.wanted)))
    else {
        return "Nothing that was stated comes near the pan.".to_owned();
    };
    let against = |p: &GapFact| format!("{} to {}", p.body_said(), p.against_said());
    let short = pairs.iter().filter(|p| p.state != GapState::Clear).count();
    if short == 0 {
        return format!(
            "Every gap is as large as wanted; the tightest is {}, with {} of {} wanted.",
            against(worst),
            length(worst.moved),
            length(worst.wanted)
        );
    }
    let many = match (short, pairs.len()) {
        (1, 1) => "The one gap is".to_owned(),
        (1, all) => format!("1 of {all} gaps is"),
        (short, all) => format!("{short} of {all} gaps are"),
    };
    let left = match worst.moved {
        gap if gap > 0.0 => format!("{} are left", length(gap)),
        0.0 => "they touch".to_owned(),
        gap => format!("they overlap by {}", length(-gap)),
    };
    format!(
        "{many} smaller than wanted; the worst is {}: {left} where {} are wanted.",
        against(worst),
        length(worst.wanted)
    )
}

fn note(design: &Design, clearances: &Clearances, row: &Row) -> String {
    let length = |v: f64| show(v, Dimension::Length, design.units);
    let (place, key) = clearances.place_of(row.which);
    let f = fact(row);
    let whose = |said: String| {
        if said.starts_with("pan") {
            format!("the {said}")
        } else {
            said
        }
    };
    let gap = match f.moved {
        gap if gap > 0.0 => format!("comes within {} of", length(gap)),
        0.0 => "touches".to_owned(),
        gap => format!("reaches {} into", length(-gap)),
    };
    let engine = if f.moved < f.at_rest {
        format!(" when the engine moves ({} at rest)", length(f.at_rest))
    } else {
        String::new()
    };
    let short = length(rounded(row.wanted - row.moved));
    format!(
        "warning: {} {gap} {}{engine}; {} are wanted\n  at {place}, {key}; on the pan at {}\n  mend: give it {short} more \
         room there, or state a smaller gap if you know that it will do",
        f.body_said(),
        whose(f.against_said()),
        length(row.wanted),
        at(row.on_pan),
    )
}

/// A place of the pan in millimetres.
pub fn at(p: DVec3) -> String {
    format!("({:.0}, {:.0}, {:.0}) mm", p.x * 1e3, p.y * 1e3, p.z * 1e3)
}

fn views(design: &Design, pairs: &[GapFact]) -> Vec<ClearanceView> {
    let Some(clearances) = &design.clearances else {
        return Vec::new();
    };
    let s = &clearances.surroundings;
    let pan = outside::outside(&design.pan, &s.outside);
    let Some((low, high)) = pan.bounds() else {
        return Vec::new();
    };
    // Above the flange only as far as something inside is measured.
    let inner = named_bodies(&design.pan, s, Some(DRAWN_PIECES));
    let top = inner
        .iter()
        .filter_map(|(_, body)| body.bounds())
        .map(|(_, high)| high.z)
        .fold(high.z, f64::max)
        .min(0.15);
    let (low, high) = (
        low - MARGIN,
        DVec3::new(high.x + MARGIN, high.y + MARGIN, top + 0.3 * MARGIN),
    );
    [
        (SeenFrom::Above, DVec3::X, DVec3::Y),
        (SeenFrom::Right, DVec3::X, DVec3::Z),
        (SeenFrom::Rear, DVec3::NEG_Y, DVec3::Z),
    ]
    .map(|(side, right, up)| {
        let view = silhouette::View { right, up };
        let (a, b) = (view.seen(low), view.seen(high));
        let window = (a.min(b), a.max(b));
        let outline = |body: &Body| loops(&silhouette::silhouette(body, &view, window));
        let drawn = |body: &Body, hidden: bool| BodyOutline {
            name: body.name.clone(),
            loops: outline(body),
            hidden,
        };
        // The road seen from above would hide everything.
        let shown = |a: &&Around| side != SeenFrom::Above || a.kind != Kind::Road;
        let around = s.around.iter().filter(shown).map(|a| drawn(&a.body, false));
        let within = inner.iter().map(|(_, body)| drawn(body, true));
        ClearanceView {
            side,
            window: [window.0.to_array(), window.1.to_array()],
            pan: outline(&pan),
            bodies: around.chain(within).filter(|b| !b.loops.is_empty()).collect(),
            gaps: gap_lines(pairs, &view, window),
        }
    })
    .into()
}

/// Pieces of a rod's turn that a picture needs.
const DRAWN_PIECES: usize = 72;

fn gap_lines(pairs: &[GapFact], view: &silhouette::View, (low, high): (DVec2, DVec2)) -> Vec<GapLine> {
    let line = |(i, pair): (usize, &GapFact)| {
        let seen = |p: [f64; 3]| view.seen(DVec3::from_array(p));
        let (from, to) = (seen(pair.on_pan), seen(pair.on_body));
        let inside = |p: DVec2| p.cmpge(low).all() && p.cmple(high).all();
        (inside(from) && inside(to)).then(|| GapLine {
            number: i + 1,
            from: from.to_array(),
            to: to.to_array(),
            state: pair.state,
        })
    };
    pairs.iter().enumerate().filter_map(line).collect()
}

fn loops(region: &pan::Region) -> Vec<Vec<[f64; 2]>> {
    region
        .loops()
        .map(|l| l.iter().map(|p| p.to_array()).collect())
        .collect()
}
