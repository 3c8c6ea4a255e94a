//! The picture of a solid: seen from above and cut open; or, refused, its edges and where it is wrong.

use ::solid::part::Opening;
use ::solid::{Mesh, Refused};
use glam::{DVec2, DVec3};
use job::LookedAt;
use measure::UnitOrder;
use pan::mesh::ClosedMesh;
use report::drawing::svg;
use report::pictures::Look;
use report::pictures::solid::{Note, View, solid};

/// Edges drawn in a view at most; the longest are kept.
const MOST_EDGES: usize = 4_000;
/// Neighbours that turn more than this meet in a drawn edge [rad].
const TURN: f64 = 0.5;
/// How far beside the flange's face the plan is cut [m].
const BESIDE: f64 = 1e-4;

/// The two axes of a view, and the way the eye looks from.
struct Eye {
    right: DVec3,
    up: DVec3,
    names: [&'static str; 2],
}

const ABOVE: Eye = Eye {
    right: DVec3::X,
    up: DVec3::Y,
    names: ["x", "y"],
};
const SIDE: Eye = Eye {
    right: DVec3::X,
    up: DVec3::Z,
    names: ["x", "z"],
};
const FRONT: Eye = Eye {
    right: DVec3::Y,
    up: DVec3::Z,
    names: ["y", "z"],
};

impl Eye {
    fn sees(&self, p: DVec3) -> DVec2 {
        DVec2::new(p.dot(self.right), p.dot(self.up))
    }

    fn view(&self, title: String) -> View {
        View {
            title,
            axes: self.names.map(str::to_owned),
            ..View::default()
        }
    }

    fn edges(&self, mesh: &Mesh, edges: &[[u32; 2]]) -> Vec<[DVec2; 2]> {
        let mut seen: Vec<[DVec2; 2]> = edges
            .iter()
            .map(|e| e.map(|c| self.sees(mesh.points[c as usize])))
            .filter(|[a, b]| a.distance(*b) > 1e-6)
            .collect();
        seen.sort_by(|a, b| b[0].distance(b[1]).total_cmp(&a[0].distance(a[1])));
        seen.truncate(MOST_EDGES);
        seen
    }

    /// Loops of the cut through `at`, square to the way the eye looks.
    fn cut(&self, mesh: &Option<ClosedMesh>, at: DVec3) -> Vec<Vec<DVec2>> {
        let Some(mesh) = mesh else { return Vec::new() };
        let along = self.right.cross(self.up);
        let origin = along * at.dot(along);
        mesh.section(origin, self.right, self.up)
            .loops()
            .cloned()
            .collect()
    }
}

fn checked(mesh: &Mesh) -> Option<ClosedMesh> {
    ClosedMesh::from_closed(mesh.points.clone(), mesh.triangles.clone()).ok()
}

/// The solid as it was understood.
pub fn understood(name: &str, looked_at: &LookedAt) -> String {
    let surface = looked_at.surface.mesh();
    let (metal, oil) = match &looked_at.part {
        Some(part) => {
            let moved = Mesh {
                points: surface
                    .points
                    .iter()
                    .map(|p| part.pan_from_file.transform_point3(*p))
                    .collect(),
                triangles: surface.triangles.clone(),
            };
            (Some(moved), &part.oil)
        }
        None => (None, surface),
    };
    let whole = metal.as_ref().unwrap_or(oil);
    let edges = whole.sharp_edges(TURN);
    let (low, high) = oil.bounds().unwrap_or_default();
    let middle = 0.5 * (low + high);
    // Through the widest hole in the wall, if any: there is most to see.
    let through = looked_at
        .part
        .as_ref()
        .and_then(|part| part.openings.first())
        .map_or(middle, |o| o.at);
    let (cut_metal, cut_oil) = (metal.as_ref().and_then(checked), checked(oil));
    let mut views = Vec::new();
    let mut plan = ABOVE.view("from above, the oil's space at its top shaded".to_owned());
    plan.oil = ABOVE.cut(&cut_oil, high - DVec3::new(0.0, 0.0, BESIDE));
    plan.edges = ABOVE.edges(whole, &edges);
    if let Some(part) = &looked_at.part {
        plan.outlines = part.flange.outlines.clone();
        plan.notes.extend(part.flange.holes.iter().map(|hole| Note {
            at: hole.at.truncate(),
            across: hole.diameter,
            words: hole.number.to_string(),
            fault: false,
        }));
    }
    views.push(plan);
    for (eye, axis) in [(SIDE, "y"), (FRONT, "x")] {
        let at = if axis == "y" { through.y } else { through.x };
        let mut view = eye.view(format!(
            "cut open along {axis} = {:.1} mm, oil's space shaded",
            at * 1e3 + 0.0
        ));
        view.metal = eye.cut(&cut_metal, through);
        view.oil = eye.cut(&cut_oil, through);
        if let Some(part) = &looked_at.part {
            let along = eye.right.cross(eye.up);
            let cut = |o: &&Opening| (o.at - through).dot(along).abs() < 0.5 * o.across;
            view.notes.extend(part.openings.iter().filter(cut).map(|o| Note {
                at: eye.sees(o.at),
                across: 0.0,
                words: format!("closed, {:.1} mm across", o.across * 1e3),
                fault: false,
            }));
        }
        views.push(view);
    }
    let healed = looked_at.surface.healed();
    let to_pan = looked_at
        .part
        .as_ref()
        .map(|part| part.pan_from_file)
        .unwrap_or_default();
    for (marks, words) in [(&healed.holes, "hole closed"), (&healed.crossings, "crossing")] {
        for mark in marks.iter().take(10) {
            views[0].notes.push(Note {
                at: ABOVE.sees(to_pan.transform_point3(mark.at)),
                across: mark.across,
                words: words.to_owned(),
                fault: true,
            });
        }
    }
    let look = Look::wide(UnitOrder::MetricFirst);
    solid(name, &views, &look)
        .map(|d| svg::file(&d))
        .unwrap_or_default()
}

/// A solid that was refused: its edges from three sides, and where it is wrong. `None` when nothing of it is known.
pub fn refused(name: &str, refused: &Refused) -> Option<String> {
    let mesh = &refused.mesh;
    if mesh.triangles.is_empty() {
        return None;
    }
    let edges = mesh.sharp_edges(TURN);
    let eyes = [
        (ABOVE, "along -z of the file"),
        (SIDE, "along y of the file"),
        (FRONT, "along -x of the file"),
    ];
    let views: Vec<View> = eyes
        .into_iter()
        .map(|(eye, way)| {
            let mut view = eye.view(format!("seen {way}; rings where it is wrong"));
            view.edges = eye.edges(mesh, &edges);
            let notes = refused
                .fault
                .marks
                .iter()
                .take(12)
                .enumerate()
                .map(|(k, mark)| Note {
                    at: eye.sees(mark.at),
                    across: mark.across,
                    words: format!("{} {}", mark.what, k + 1),
                    fault: true,
                });
            view.notes = notes.collect();
            view
        })
        .collect();
    solid(name, &views, &Look::wide(UnitOrder::MetricFirst)).map(|d| svg::file(&d))
}
