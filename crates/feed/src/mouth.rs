//! What a mouth wants of the floor below it and of the oil over it.
//!
//! The rules are those of pump intakes in water. They ask for several times the depth of oil that a pan has, and every pan
//! breaks them: oil is a hundred times as viscous, a whirl needs seconds to form, and a lap gives it tenths. So depth ranks
//! one bell against another and passes or fails none. What a covered mouth draws is computed by `slosh`.

use std::f64::consts::PI;

use oil::hydraulics::submergence;

/// Clearance under a bell as a part of its diameter that dredging and pump books name: 0.25 to 0.5 (read in a dictionary
/// entry; 0.3 to 0.5 in ANSI/HI 9.8, from memory).
pub const CLEARANCE: (f64, f64) = (0.25, 0.5);

/// Clearance of pickups [m]: common practice, no source (1/4 to 3/8 in).
pub const USUAL_CLEARANCE: (f64, f64) = (6e-3, 10e-3);

/// A mouth of one diameter at one flow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bell {
    /// Its diameter [m].
    pub diameter: f64,
    /// Speed of the oil into it [m/s].
    pub speed: f64,
    /// `V/√(gD)`.
    pub froude: f64,
    /// The depth that the intake rule asks for [m]: for ranking only.
    pub asked: f64,
    /// Area of the ring between rim and floor as a part of the bore's area: under 1 the floor throttles the tube.
    pub ring: f64,
    /// Clearance over diameter.
    pub clearance: f64,
}

/// A mouth of `diameter` at `flow`, `floor` [m] over what lies below it, feeding a tube of `bore` [m].
pub fn bell(diameter: f64, flow: f64, floor: f64, bore: f64) -> Bell {
    let speed = flow / (0.25 * PI * diameter * diameter);
    let gravity = measure::STANDARD_GRAVITY;
    Bell {
        diameter,
        speed,
        froude: speed / (gravity * diameter).sqrt(),
        asked: submergence(flow, diameter, gravity),
        ring: ring(diameter, floor, bore),
        clearance: floor / diameter,
    }
}

/// Area of the ring under a rim over that of the bore: `4 D c/d²`.
pub fn ring(diameter: f64, floor: f64, bore: f64) -> f64 {
    4.0 * diameter * floor / (bore * bore)
}

/// The bells worth a look: the stated mouth, the tube's bare end, and 1.5, 2, 2.5 and 3 bores; narrowest first, the asked
/// depth falls along the list.
pub fn bells(stated: f64, flow: f64, floor: f64, bore: f64) -> Vec<Bell> {
    let mut wide: Vec<f64> = [1.0, 1.5, 2.0, 2.5, 3.0].map(|times| times * bore).to_vec();
    // A row beside the stated one, to within a twentieth, tells nothing.
    wide.retain(|d| (d / stated - 1.0).abs() > 0.05);
    wide.push(stated);
    wide.sort_by(f64::total_cmp);
    wide.into_iter().map(|d| bell(d, flow, floor, bore)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `proofs::hydraulics::SUBMERGENCE` holds the rule itself; here the numbers that rank.
    #[test]
    fn a_bell_of_30_mm_at_40_litres_a_minute_is_as_worked_outside() {
        let bell = bell(0.030, 40e-3 / 60.0, 0.008, 0.018);
        // Fr 1.7388, S 150.0 mm: worked outside this program to the digits printed.
        assert!((bell.froude - 1.7388).abs() < 1e-3, "Fr {}", bell.froude);
        assert!((bell.asked - 0.1500).abs() < 1e-4, "S {}", bell.asked);
        assert!((bell.speed - 0.94314).abs() < 1e-4, "V {}", bell.speed);
        // π·30·8 mm² over π/4·18² mm².
        assert!((bell.ring - 753.982 / 254.469).abs() < 1e-4, "ring {}", bell.ring);
    }

    #[test]
    fn a_wider_bell_asks_for_less_depth_and_stands_once_in_the_list() {
        let list = bells(0.036, 40e-3 / 60.0, 0.010, 0.018);
        assert_eq!(list.iter().filter(|b| b.diameter == 0.036).count(), 1);
        assert_eq!(list.len(), 5, "two bores are the stated one: {list:?}");
        assert!(list.windows(2).all(|w| w[0].asked > w[1].asked), "{list:?}");
    }
}
