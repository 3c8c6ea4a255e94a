//! Doors as they hang.

use glam::{DVec2, DVec3};
use pan::Pan;
use pan::door_swing::{Struck, strike};
use report::findings::DoorCard;

/// One a door.
pub fn facts(pan: &Pan) -> Vec<DoorCard> {
    let panels: Vec<_> = pan.plates.iter().map(pan::Plate::panels).collect();
    let card = |door: &pan::Door| {
        let own = door.panel(&panels[door.plate])?;
        let flap = door.flap(own);
        let strikes = strike(&pan.cavity, &panels, door, own).map(|(angle, struck)| {
            let what = match struck {
                Struck::Cavity => "the pan's wall or floor".to_owned(),
                Struck::Plate(i) => pan.plates[i].name.clone(),
            };
            (angle, what)
        });
        let swings = strikes
            .as_ref()
            .map_or(door.stop, |s| s.0)
            .min(std::f64::consts::FRAC_PI_2);
        let (view, flat) = seen(flap.hinge);
        let unit = |v: DVec3| flat(v).normalize_or(DVec2::X).to_array();
        Some(DoorCard {
            name: door.name.clone(),
            plate: pan.plates[door.plate].name.clone(),
            toward: way(flap.opens).to_owned(),
            hinge: edge(-flap.reach).to_owned(),
            stop: door.stop,
            strikes,
            width: flap.width,
            length: flap.length,
            out: flap.length * swings.sin(),
            gap: door.gap,
            view: view.to_owned(),
            reach: unit(flap.reach),
            opens: unit(flap.opens),
        })
    };
    pan.doors.iter().filter_map(card).collect()
}

/// From where a flap on this hinge is seen edge-on, and what of a vector is seen from there.
fn seen(hinge: DVec3) -> (&'static str, fn(DVec3) -> DVec2) {
    let h = hinge.abs();
    if h.y >= h.x && h.y >= h.z {
        ("seen from the right side", |v| DVec2::new(v.x, v.z))
    } else if h.x >= h.z {
        ("seen from the rear", |v| DVec2::new(-v.y, v.z))
    } else {
        ("seen from above, front right", |v| DVec2::new(v.x, v.y))
    }
}

/// The side toward which a vector points most.
fn way(v: DVec3) -> &'static str {
    let words = [("front", "rear"), ("left", "right"), ("top", "floor")];
    let a = v.abs();
    let axis = if a.x >= a.y && a.x >= a.z {
        0
    } else if a.y >= a.z {
        1
    } else {
        2
    };
    if v[axis] > 0.0 {
        words[axis].0
    } else {
        words[axis].1
    }
}

fn edge(v: DVec3) -> &'static str {
    match way(v) {
        "top" => "at its top",
        "floor" => "at its foot",
        "front" => "at its front edge",
        "rear" => "at its rear edge",
        "left" => "at its left edge",
        _ => "at its right edge",
    }
}
