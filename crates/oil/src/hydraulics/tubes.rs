//! Losses of a tube and its fittings: `Δp = K ρV²/2`, from creeping to turbulent flow.
//!
//! Hot oil in a suction tube runs at Reynolds numbers of 2,000 to 10,000, cold oil at 10 to 100. So every loss here is one
//! smooth law over all of them: friction by Churchill, fittings by a turbulent coefficient and a part that grows as
//! 1/Re (Hooper). Reynolds numbers are those of the smaller bore, and `K` counts on the speed there, unless said.

use std::f64::consts::PI;

/// Below this Reynolds number the friction inside a turbulent coefficient is that of this number: what grows in slower
/// flow is the part with 1/Re.
const TURBULENT: f64 = 4e3;

/// Darcy friction factor of a round tube at any Reynolds number above zero, `roughness` as a part of the bore:
/// `f = 8 [(8/Re)^12 + (a + b)^-1.5]^(1/12)`, `a = {2.457 ln[1/((7/Re)^0.9 + 0.27 ε)]}^16`, `b = (37530/Re)^16`.
///
/// 64/Re where the flow is laminar, within a few percent of Colebrook where it is turbulent, smooth between.
///
/// Source: S. W. Churchill, Chemical Engineering 84 (1977), 7 November.
pub fn friction_factor(reynolds: f64, roughness: f64) -> f64 {
    let a = (-2.457 * ((7.0 / reynolds).powf(0.9) + 0.27 * roughness).ln()).powi(16);
    let b = (37_530.0 / reynolds).powi(16);
    let laminar = 8.0 / reynolds;
    // (a + b)^-1.5 underflows where the flow creeps; then the laminar part is all.
    8.0 * (laminar.powi(12) + (a + b).powf(-1.5)).powf(1.0 / 12.0)
}

/// `K` of the edge of a tube or box that stands free in the oil, `wall` = wall thickness as a part of the bore:
/// 1.12 for a knife edge, 0.57 from 5 % on: `1.12 − 22 t + 216 t² + 80 t³`.
///
/// Source: Rennels & Hudson, Pipe Flow (2012), entrance at a distance, as a general library gives it.
pub fn free_edge(wall: f64) -> f64 {
    let t = wall.clamp(0.0, 0.05);
    1.12 + t * (t * (80.0 * t + 216.0) - 22.0)
}

/// `K` of a flush entrance whose edge is rounded, `radius` as a part of the bore, 0 to 1 (more is taken as 1):
/// `0.0696 (1 − 0.569 r) λ² + (λ − 1)²`, `λ = 1 + 0.622 (1 − 0.30 √r − 0.70 r)⁴`. 0.57 for a sharp edge.
///
/// Source: Rennels & Hudson, Pipe Flow (2012), as a general library gives it.
pub fn rounded_entrance(radius: f64) -> f64 {
    let r = radius.clamp(0.0, 1.0);
    let jet = 1.0 + 0.622 * (1.0 - 0.30 * r.sqrt() - 0.70 * r).powi(4);
    0.0696 * (1.0 - 0.569 * r) * jet * jet + (jet - 1.0).powi(2)
}

/// `K` of a cone from a wide bore to a narrow one, `narrow` = narrow as a part of wide, `angle` [rad] between opposite
/// walls (π is a step), at the friction factor of the narrow bore, on the speed there:
/// `f (1 − β⁴)/(8 sin(α/2)) + 0.0696 sin(α/2) (1 − β⁵) λ² + (λ − 1)²`, `λ = 1 + 0.622 (α/π)^0.8 (1 − 0.215β² − 0.785β⁵)`;
/// of a step without the friction.
///
/// Source: Rennels & Hudson, Pipe Flow (2012), as a general library gives it.
pub fn contraction(narrow: f64, angle: f64, friction: f64) -> f64 {
    let (b2, b4, b5) = (narrow.powi(2), narrow.powi(4), narrow.powi(5));
    let half = (0.5 * angle).sin();
    let jet = 1.0 + 0.622 * (angle / PI).powf(0.8) * (1.0 - 0.215 * b2 - 0.785 * b5);
    let rubbing = if angle < PI {
        friction * (1.0 - b4) / (8.0 * half)
    } else {
        0.0
    };
    rubbing + 0.0696 * half * (1.0 - b5) * jet * jet + (jet - 1.0).powi(2)
}

/// `K` of a step from a narrow bore to a wide one, `narrow` as a part of wide, on the speed in the narrow one:
/// `(1 − β²)²` (Borda and Carnot).
pub fn expansion(narrow: f64) -> f64 {
    (1.0 - narrow * narrow).powi(2)
}

/// `K` of a smooth bend in turbulent flow, its own length counted in: `angle` [rad], `radius` of the tube's middle line as
/// a part of the bore, `friction` factor of the tube:
/// `f α r + (0.10 + 2.4 f) sin(α/2) + 6.6 f [√sin(α/2) + sin(α/2)] / r^(4α/π)`.
///
/// Source: Rennels & Hudson, Pipe Flow (2012), as a general library gives it.
pub fn bend_turbulent(angle: f64, radius: f64, friction: f64) -> f64 {
    let half = (0.5 * angle).sin();
    friction * angle * radius
        + (0.10 + 2.4 * friction) * half
        + 6.6 * friction * (half.sqrt() + half) / radius.powf(4.0 * angle / PI)
}

/// What a fitting adds in slow flow, as `K₁` in `K = K₁/Re + …`.
///
/// Source: W. B. Hooper, Chemical Engineering 88 (1981), 24 August, table as a general library gives it.
pub mod slow {
    /// An entrance, flush or free (from memory of the same table).
    pub const ENTRANCE: f64 = 160.0;

    /// A bend of `angle` [rad]: 500, 800, 1000 at 45°, 90°, 180°, straight lines between and from nothing at 0°.
    pub fn bend(angle: f64) -> f64 {
        let degrees = angle.to_degrees();
        match degrees {
            d if d <= 45.0 => 500.0 * d.max(0.0) / 45.0,
            d if d <= 90.0 => 500.0 + 300.0 * (d - 45.0) / 45.0,
            d => 800.0 + 200.0 * (d.min(180.0) - 90.0) / 90.0,
        }
    }

    /// A cone or step to a narrower bore, `narrow` as a part of wide, `angle` [rad] between opposite walls: 160 (1/β⁴ − 1)
    /// on speed and Re of the wide bore (Hooper, Chemical Engineering 95 (1988), 7 November), here on those of the narrow one.
    pub fn contraction(narrow: f64, angle: f64) -> f64 {
        let half = (0.5 * angle).sin();
        let slope = if angle > 0.25 * std::f64::consts::PI {
            half.sqrt()
        } else {
            1.6 * half
        };
        160.0 * (1.0 - narrow.powi(4)) / narrow * slope
    }
}

/// `K` of a fitting by Hooper's two constants: `K₁/Re + K∞ (1 + 25.4 mm / bore)`, `bore` [m].
///
/// Made for pipe fittings; a drawn bend is smoother in turbulent flow ([`bend`]).
///
/// Source: W. B. Hooper, Chemical Engineering 88 (1981), 24 August.
pub fn two_constants(reynolds: f64, slow: f64, fast: f64, bore: f64) -> f64 {
    slow / reynolds + fast * (1.0 + 0.0254 / bore)
}

/// `K` of a smooth bend at any Reynolds number, its own length counted in: [`bend_turbulent`] with the friction of a flow
/// that is turbulent at least, and [`slow::bend`] over Re. `roughness` and `radius` as parts of the bore.
pub fn bend(reynolds: f64, angle: f64, radius: f64, roughness: f64) -> f64 {
    slow::bend(angle) / reynolds + bend_turbulent(angle, radius, turbulent_friction(reynolds, roughness))
}

/// The friction factor of a flow that is turbulent at least: what stands inside turbulent coefficients.
pub fn turbulent_friction(reynolds: f64, roughness: f64) -> f64 {
    friction_factor(reynolds.max(TURBULENT), roughness)
}
