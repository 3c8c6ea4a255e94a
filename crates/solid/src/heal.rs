//! From triangles as they came to a closed surface, and what had to be done on the way.
//!
//! In this order: triangles that say nothing dropped; neighbours made to agree which side is out; gaps sewn; small
//! holes closed flat; edges of touching bodies parted; crumbs dropped; shells turned right side out; crossings
//! looked for. Whatever is larger than stated is a fault with its place and never closed in silence.

use crate::edges::{self, Pairing, pair};
use crate::fault::{Fault, Mark, length, place};
use crate::mesh::Mesh;
use crate::tree::Tree;
use crate::{crossings, ears, gaps, sense, shells, tidy, wedges};
use glam::DVec3;

/// What may be healed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Healing {
    /// Open edges nearer than this are sewn together [m].
    pub gap: f64,
    /// Holes up to so far across are closed flat, loose crumbs up to so large dropped, and places up to so far
    /// across where the skin runs through itself let be [m].
    pub hole: f64,
}

impl Default for Healing {
    /// 0.05 mm and 2 mm; common practice, no source: what rounding, chord tolerance and scanners leave behind, and
    /// less than anything that oil would notice.
    fn default() -> Healing {
        Healing {
            gap: 5e-5,
            hole: 2e-3,
        }
    }
}

/// What was done, and what is worth knowing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Healed {
    /// Facets that used a corner twice, dropped.
    pub repeated: usize,
    /// Facets that stood in the file more than once, dropped.
    pub copies: usize,
    /// Facets back to back, dropped: walls of no thickness.
    pub walls: usize,
    /// Facets turned to agree with their neighbours.
    pub flipped: usize,
    /// Corners joined across gaps.
    pub joined: usize,
    /// Edges split to meet a corner of the neighbour.
    pub split: usize,
    /// Farthest that a corner was moved [m].
    pub farthest: f64,
    /// Holes closed flat.
    pub holes: Vec<Mark>,
    /// Edges at which touching bodies were parted.
    pub parted: usize,
    /// Loose crumbs dropped.
    pub crumbs: usize,
    /// Shells that were inside out and were turned.
    pub turned: usize,
    /// Places where the skin runs through itself, small enough to be let be.
    pub crossings: Vec<Mark>,
    /// Shells.
    pub shells: usize,
    /// How many of them are hollows in others.
    pub voids: usize,
}

/// Rounds of sewing: an edge is split one side of a triangle at a time.
const ROUNDS: usize = 6;
/// Most places that a fault or remark keeps.
const MOST_MARKS: usize = 50;

/// A mesh that could not be closed, for a picture of where.
#[derive(Clone, Debug)]
pub struct Refused {
    /// Why, with places.
    pub fault: Fault,
    /// The mesh [m, axes of the file] as far as it came.
    pub mesh: Mesh,
}

/// Closes `mesh` [m]. On success every edge is shared by exactly two triangles that agree on which side is out.
pub(crate) fn heal(mut mesh: Mesh, healing: Healing) -> Result<(Mesh, Healed), Box<Refused>> {
    match closed(&mut mesh, healing) {
        Ok(healed) => Ok((mesh, healed)),
        Err(fault) => Err(Box::new(Refused { fault, mesh })),
    }
}

fn closed(mesh: &mut Mesh, healing: Healing) -> Result<Healed, Fault> {
    let mut healed = Healed::default();
    let mut pairing = tidied(mesh, &mut healed)?;
    if !pairing.open.is_empty() {
        pairing = sewn(mesh, pairing, healing.gap, &mut healed)?;
    }
    if !pairing.crowded.is_empty() {
        // A hole beside the line makes a fan of it; holes come after.
        healed.parted = wedges::part(mesh, &mut pairing)?;
        pairing = pair(mesh.points.len(), &mesh.triangles);
        if !pairing.crowded.is_empty() {
            wedges::part(mesh, &mut pairing)?;
            return Err(Fault::new(
                "solid-crowded",
                "bodies touch along lines that cannot be told apart",
                "unite the bodies in the program that made the solid",
            ));
        }
    }
    let mut sense = agreed(mesh, &mut pairing)?;
    healed.flipped = sense.flipped;
    if !pairing.open.is_empty() {
        close_holes(mesh, &mut pairing, &mut sense, healing.hole, &mut healed)?;
    }
    let mut measured = shells::measure(mesh, &sense.shell, sense.shells);
    let largest = measured.iter().map(shells::Shell::across).fold(0.0, f64::max);
    let crumb = |s: &shells::Shell| s.across() <= healing.hole && s.across() < largest;
    if measured.iter().any(crumb) {
        let keep: Vec<bool> = measured.iter().map(|s| !crumb(s)).collect();
        healed.crumbs += keep.iter().filter(|k| !**k).count();
        drop_shells(mesh, &sense.shell, &keep);
        pairing = pair(mesh.points.len(), &mesh.triangles);
        sense = sense::agree(mesh, &pairing)?;
        measured = shells::measure(mesh, &sense.shell, sense.shells);
    }
    let right = shells::set_right(mesh, &sense.shell, &measured)?;
    (healed.turned, healed.voids, healed.shells) = (right.turned, right.voids, sense.shells);
    if right.turned > 0 {
        pairing = pair(mesh.points.len(), &mesh.triangles);
    }
    drop(sense);
    look_for_crossings(mesh, &pairing, healing.hole, &mut healed)?;
    drop(pairing);
    mesh.drop_unused();
    let size = mesh.bounds().map_or(0.0, |(low, high)| (high - low).length());
    if !(mesh.volume() > 1e-12 * size.powi(3)) {
        return Err(Fault::new(
            "solid-flat",
            "the mesh encloses no volume",
            "export a solid and not a sheet: skin that has a thickness or closes round the oil",
        ));
    }
    Ok(healed)
}

/// Drops what says nothing, and pairs the rest.
fn tidied(mesh: &mut Mesh, healed: &mut Healed) -> Result<Pairing, Fault> {
    healed.repeated += tidy::drop_repeated(mesh);
    let mut pairing = pair(mesh.points.len(), &mesh.triangles);
    if !pairing.crowded.is_empty() {
        let dropped = tidy::drop_doubled(mesh, &pairing);
        healed.copies += dropped.copies;
        healed.walls += dropped.walls;
        if dropped != tidy::Doubled::default() {
            pairing = pair(mesh.points.len(), &mesh.triangles);
        }
    }
    if mesh.triangles.is_empty() {
        return Err(Fault::new(
            "solid-empty",
            "the mesh has no facets that enclose anything",
            "export the solid again",
        ));
    }
    Ok(pairing)
}

fn sewn(mesh: &mut Mesh, mut pairing: Pairing, gap: f64, healed: &mut Healed) -> Result<Pairing, Fault> {
    if gap <= 0.0 {
        return Ok(pairing);
    }
    let mut sewn = gaps::Sewn::default();
    let repeated = healed.repeated;
    for _ in 0..ROUNDS {
        let before = (sewn.joined, sewn.split);
        gaps::join(mesh, &pairing, gap, &mut sewn);
        if sewn.joined > before.0 {
            pairing = tidied(mesh, healed)?;
        }
        if gaps::split(mesh, &pairing, gap, &mut sewn) > 0 {
            pairing = tidied(mesh, healed)?;
        }
        if before == (sewn.joined, sewn.split) || pairing.open.is_empty() {
            break;
        }
    }
    // Slivers that sewing pressed flat are no fault of the file.
    healed.repeated = repeated;
    (healed.joined, healed.split, healed.farthest) = (sewn.joined, sewn.split, sewn.farthest);
    Ok(pairing)
}

fn agreed(mesh: &mut Mesh, pairing: &mut Pairing) -> Result<sense::Sense, Fault> {
    let sense = sense::agree(mesh, pairing)?;
    if sense.flipped > 0 {
        *pairing = pair(mesh.points.len(), &mesh.triangles);
    }
    Ok(sense)
}

fn drop_shells(mesh: &mut Mesh, shell_of: &[u32], keep: &[bool]) {
    let mut t = 0;
    mesh.triangles.retain(|_| {
        t += 1;
        keep[shell_of[t - 1] as usize]
    });
}

/// Closes small holes, drops small loose flaps, and refuses the rest.
fn close_holes(
    mesh: &mut Mesh,
    pairing: &mut Pairing,
    sense: &mut sense::Sense,
    hole: f64,
    healed: &mut Healed,
) -> Result<(), Fault> {
    let measured = shells::measure(mesh, &sense.shell, sense.shells);
    let mut open = vec![false; sense.shells];
    for side in &pairing.open {
        open[sense.shell[*side as usize / 3] as usize] = true;
    }
    let flap = |s: usize| open[s] && measured[s].across() <= hole;
    if (0..sense.shells).any(flap) && !(0..sense.shells).all(flap) {
        let keep: Vec<bool> = (0..sense.shells).map(|s| !flap(s)).collect();
        healed.crumbs += keep.iter().filter(|k| !**k).count();
        drop_shells(mesh, &sense.shell, &keep);
        *pairing = pair(mesh.points.len(), &mesh.triangles);
        *sense = agreed(mesh, pairing)?;
    }
    let mut large = Vec::new();
    let mut added = Vec::new();
    for corners in edges::loops(&mesh.triangles, pairing) {
        let points: Vec<DVec3> = corners.iter().map(|&c| mesh.points[c as usize]).collect();
        let (low, high) = points.iter().fold((points[0], points[0]), |(low, high), p| {
            (low.min(*p), high.max(*p))
        });
        let mark = Mark {
            at: 0.5 * (low + high),
            across: low.distance(high),
            what: "hole",
        };
        if mark.across > hole || corners.len() < 3 {
            large.push(mark);
            continue;
        }
        // The new facets run against the open sides.
        let points: Vec<DVec3> = points.into_iter().rev().collect();
        let corners: Vec<u32> = corners.into_iter().rev().collect();
        added.extend(ears::in_space(&points).into_iter().map(|t| t.map(|k| corners[k])));
        healed.holes.push(mark);
    }
    if !large.is_empty() {
        return Err(open_fault(pairing.open.len(), large, hole));
    }
    mesh.triangles.extend(added);
    *pairing = pair(mesh.points.len(), &mesh.triangles);
    if !pairing.open.is_empty() || !pairing.crowded.is_empty() {
        let marks = std::mem::take(&mut healed.holes);
        let what = format!(
            "a small hole near {} cannot be closed: its rim crosses itself",
            place(marks[0].at)
        );
        let mend = "close it in the program that made the solid";
        return Err(Fault::new("solid-open", what, mend).marked(marks));
    }
    *sense = agreed(mesh, pairing)?;
    Ok(())
}

fn open_fault(edges: usize, mut large: Vec<Mark>, hole: f64) -> Fault {
    large.sort_by(|a, b| b.across.total_cmp(&a.across));
    let told: Vec<String> = large
        .iter()
        .take(3)
        .map(|m| format!("{} across around {}", length(m.across), place(m.at)))
        .collect();
    let holes = match large.len() {
        1 => "a hole".to_owned(),
        n => format!("{n} holes, the largest"),
    };
    let what = format!(
        "the mesh is open: {edges} edges have a facet on one side only; {holes} {}",
        told.join(", then ")
    );
    let mend = format!(
        "close it in the program that made it, an open top included; holes up to {} across are closed by themselves, \
         and `hole` allows larger ones",
        length(hole)
    );
    large.truncate(MOST_MARKS);
    Fault::new("solid-open", what, mend).marked(large)
}

fn look_for_crossings(mesh: &Mesh, pairing: &Pairing, hole: f64, healed: &mut Healed) -> Result<(), Fault> {
    let tree = Tree::new(mesh);
    let found = crossings::find(mesh, &tree);
    if found.is_empty() {
        return Ok(());
    }
    let mut marks = crossings::places(pairing, &found);
    let places = marks.len();
    let worst = marks[0].clone();
    marks.truncate(MOST_MARKS);
    if worst.across <= hole {
        healed.crossings = marks;
        return Ok(());
    }
    let where_else = match places {
        1 => String::new(),
        n => format!("; {n} such places in all"),
    };
    let what = format!(
        "the skin runs through itself: {} pairs of facets cross, over {} around {}{where_else}",
        found.len(),
        length(worst.across),
        place(worst.at)
    );
    let mend = "unite the bodies, or repair the faces there, in the program that made the solid";
    Err(Fault::new("solid-crossing", what, mend).marked(marks))
}

impl Healed {
    /// What a person should know, one sentence each; empty when the mesh was sound.
    pub fn said(&self) -> Vec<String> {
        let mut said = Vec::new();
        let mut say = |count: usize, one: &str, many: &str| match count {
            0 => {}
            1 => said.push(one.to_owned()),
            n => said.push(many.replace('#', &n.to_string())),
        };
        say(
            self.repeated,
            "a facet without area was dropped",
            "# facets without area were dropped",
        );
        say(
            self.copies,
            "a facet stood there twice and was dropped once",
            "# facets stood there more than once; the copies were dropped",
        );
        say(
            self.walls / 2,
            "two facets lay back to back, a wall of no thickness, and were dropped",
            "# pairs of facets lay back to back, walls of no thickness, and were dropped",
        );
        say(
            self.flipped,
            "a facet faced against its neighbours and was turned",
            "# facets faced against their neighbours and were turned",
        );
        say(
            self.parted,
            "bodies touch along an edge and were parted there",
            "bodies touch along # edges and were parted there",
        );
        say(
            self.crumbs,
            "a loose crumb was dropped",
            "# loose crumbs were dropped",
        );
        say(
            self.turned,
            "a shell was inside out and was turned",
            "# shells were inside out and were turned",
        );
        say(
            self.voids,
            "a hollow is closed in on all sides",
            "# hollows are closed in on all sides",
        );
        let pieces = self.shells - self.voids.min(self.shells);
        if pieces > 1 {
            said.push(format!("the solid is in {pieces} pieces"));
        }
        if self.joined + self.split > 0 {
            said.push(format!(
                "gaps were sewn: {} corners joined, {} edges split, none moved more than {}",
                self.joined,
                self.split,
                length(self.farthest)
            ));
        }
        let places = |marks: &[Mark], one: &str, many: &str| {
            let worst = &marks[0];
            let what = match marks.len() {
                1 => one.to_owned(),
                n => many.replace('#', &n.to_string()),
            };
            format!(
                "{what} {} across around {}",
                length(worst.across),
                place(worst.at)
            )
        };
        let mut holes = self.holes.clone();
        holes.sort_by(|a, b| b.across.total_cmp(&a.across));
        if !holes.is_empty() {
            said.push(places(
                &holes,
                "a small hole was closed flat,",
                "# small holes were closed flat, the largest",
            ));
        }
        if !self.crossings.is_empty() {
            said.push(places(
                &self.crossings,
                "the skin runs through itself at a small place, which was let be,",
                "the skin runs through itself at # small places, which were let be, the largest",
            ));
        }
        said
    }
}
