//! Plain cavities that several subjects fill.

use glam::{DVec2, DVec3};
use pan::{Cavity, Mouth, Outline, Pan, Pocket, Side};

/// A pocket with upright walls over `outline`, between two heights [m].
pub fn pocket(outline: Outline, z_low: f64, z_high: f64) -> Pocket {
    Pocket {
        name: "pocket".into(),
        side: Side::Pan,
        outline,
        z_low,
        z_high,
        draft: 0.0,
        corner_radius: 0.0,
        floor_radius: 0.0,
    }
}

/// A rectangular pocket between two corners [m].
pub fn block(low: DVec3, high: DVec3) -> Pocket {
    pocket(Outline::rectangle(low.truncate(), high.truncate()), low.z, high.z)
}

/// The union of pockets that are known to be good.
pub fn cavity(pockets: &[Pocket]) -> Cavity {
    Cavity::from_pockets(pockets).expect("these pockets are sound")
}

/// A regular outline with `corners` on a circle round the origin [m].
pub fn regular(corners: usize, radius: f64) -> Outline {
    let corner = |i: usize| {
        let angle = std::f64::consts::TAU * i as f64 / corners as f64;
        (radius * DVec2::from_angle(angle), 0.0)
    };
    Outline {
        vertices: (0..corners).map(corner).collect(),
    }
}

/// A box `size` [m] with its low corner at the origin and nothing in it but a mouth.
pub fn tank(size: [f64; 3], mouth: DVec3) -> Pan {
    Pan {
        cavity: cavity(&[block(DVec3::ZERO, DVec3::from(size))]),
        plates: Vec::new(),
        doors: Vec::new(),
        mouth: Mouth {
            at: mouth,
            diameter: 0.02,
            outside: 0.023,
        },
        returns: Vec::new(),
        crank: None,
    }
}
