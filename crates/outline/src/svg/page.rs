//! Size of the page: how long a user unit is, and where the page's lower left corner lies.

use super::numbers::{Placing, length, list};
use crate::fault::{OutlineFault, quoted};
use crate::unit::{LengthUnit, UnitOrigin};
use glam::{DMat2, DVec2};
use roxmltree::Node;

/// A pixel of style sheets [m].
const PIXEL: f64 = 0.0254 / 96.0;

pub(super) struct Page {
    /// From user units, y down, to metres, y up.
    pub placing: Placing,
    pub unit: Option<(LengthUnit, UnitOrigin)>,
    pub said: String,
    pub caution: Option<String>,
}

impl Page {
    pub fn of(root: &Node, asked: Option<LengthUnit>) -> Result<Page, OutlineFault> {
        let size = |name: &str| root.attribute(name).and_then(length);
        let (width, height) = (size("width"), size("height"));
        let stated = root.attribute("viewBox");
        let view_box = stated
            .and_then(list)
            .filter(|v| v.len() == 4 && v[2] > 0.0 && v[3] > 0.0);
        if let (Some(text), None) = (stated, &view_box) {
            let what = format!("the viewBox {} is no x, y, width and height", quoted(text));
            return Err(OutlineFault::new(
                "view-box",
                what,
                "save the drawing again as plain SVG",
            ));
        }
        for (name, side) in [("width", width), ("height", height)] {
            if side.is_some_and(|(v, _)| !(v > 0.0)) {
                let what = format!("the drawing's {name} is not above zero");
                return Err(OutlineFault::new("view-box", what, "state the page's size in mm"));
            }
        }
        let fitted = view(root).unwrap_or(Placing::NONE);
        let physical = width.or(height).is_some_and(|(_, physical)| physical);
        // Height of the page in pixels: y is counted from its foot.
        let foot = match (height, width, &view_box) {
            (Some((h, _)), _, _) => h,
            (None, Some((w, _)), Some(v)) => w * v[3] / v[2],
            (None, _, Some(v)) => v[3],
            _ => 0.0,
        };
        let up = |scale: f64| Placing {
            turn: DMat2::from_diagonal(DVec2::new(scale, -scale)),
            by: DVec2::new(0.0, scale * foot),
        };
        if let Some(unit) = asked {
            let (x, h) = view_box.as_ref().map_or((0.0, foot), |v| (v[0], v[1] + v[3]));
            let m = unit.metres();
            let placing = Placing {
                turn: DMat2::from_diagonal(DVec2::new(m, -m)),
                by: m * DVec2::new(-x, h),
            };
            return Ok(Page {
                placing,
                unit: Some((unit, UnitOrigin::Asked)),
                said: format!("A user unit was taken as one of {}, as asked.", unit.words()),
                caution: None,
            });
        }
        let placing = up(PIXEL).after(&fitted);
        let one = placing.turn.x_axis.length() * 1e3;
        if physical {
            let said = format!("The page states its size; a user unit is {one:.6} mm.");
            let even = (placing.turn.x_axis.length() / placing.turn.y_axis.length() - 1.0).abs() < 1e-6;
            let caution =
                "The page's width and height do not go with its viewBox: it is scaled unevenly.".to_owned();
            return Ok(Page {
                placing,
                unit: None,
                said,
                caution: (!even).then_some(caution),
            });
        }
        Ok(Page {
            placing,
            unit: Some((LengthUnit::Pixel96, UnitOrigin::Assumed)),
            said: format!("No physical size is stated: user units were taken at 96 to the inch, one is {one:.6} mm."),
            caution: Some(
                "The scale is assumed (96 user units to the inch): prove it by two measured lengths, or state the unit.".to_owned(),
            ),
        })
    }
}

/// How a viewBox is fitted into width and height, in pixels; `None` without a viewBox.
pub(super) fn view(node: &Node) -> Option<Placing> {
    let view = node.attribute("viewBox").and_then(list)?;
    let &[x, y, w, h] = &view[..] else { return None };
    if !(w > 0.0 && h > 0.0) {
        return None;
    }
    let size = |name: &str| node.attribute(name).and_then(length).map(|l| l.0);
    let (width, height) = match (size("width"), size("height")) {
        (Some(a), Some(b)) => (a, b),
        (Some(a), None) => (a, a * h / w),
        (None, Some(b)) => (b * w / h, b),
        (None, None) => (w, h),
    };
    let (sx, sy) = (width / w, height / h);
    let words = node.attribute("preserveAspectRatio").unwrap_or("xMidYMid meet");
    let scale = if words.contains("none") {
        DVec2::new(sx, sy)
    } else if words.contains("slice") {
        DVec2::splat(sx.max(sy))
    } else {
        DVec2::splat(sx.min(sy))
    };
    // What is left over goes to both ends unless stated.
    let share = |low: &str, high: &str| {
        if words.contains(low) {
            0.0
        } else if words.contains(high) {
            1.0
        } else {
            0.5
        }
    };
    let spare = DVec2::new(width, height) - scale * DVec2::new(w, h);
    let by = spare * DVec2::new(share("xMin", "xMax"), share("YMin", "YMax"));
    Some(Placing {
        turn: DMat2::from_diagonal(scale),
        by: by - scale * DVec2::new(x, y),
    })
}
