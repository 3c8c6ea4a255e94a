//! Torque and clamp load.

use super::{Class, Friction, Head, Method, Thread};

/// Torque on the head that gives a clamp load [N·m].
///
/// `M = F (0.16 P + 0.58 d2 µ + Dkm/2 µ)`, one friction in thread and under the head; VDI 2230 (a reprint): 0.16 is
/// 1/(2π), 0.58 is 1/(2 cos 30°).
pub fn torque(thread: &Thread, head: &Head, friction: f64, force: f64) -> f64 {
    force * lever(thread, head, friction)
}

/// Clamp load that a torque gives [N], by the same formula.
pub fn preload(thread: &Thread, head: &Head, friction: f64, torque: f64) -> f64 {
    torque / lever(thread, head, friction)
}

fn lever(thread: &Thread, head: &Head, friction: f64) -> f64 {
    0.16 * thread.pitch + friction * (0.58 * thread.pitch_diameter() + 0.5 * head.friction_diameter())
}

/// The nut factor K of `T = K F d` that stands for a friction (Shigley, section 8-8).
pub fn nut_factor(thread: &Thread, head: &Head, friction: f64) -> f64 {
    lever(thread, head, friction) / thread.diameter
}

/// Clamp load at which pull and twist together reach a share of yield while the wrench turns [N].
///
/// `F = ν Rp As / √(1 + 3 (3/2 · d2/d0 · (P/(π d2) + 1.155 µ))²)`, VDI 2230 (a reprint), with d0 the diameter of the
/// stress area, and the twist taken as that of a bolt that is plastic all through.
pub fn yield_preload(thread: &Thread, class: &Class, friction: f64, share: f64) -> f64 {
    let d2 = thread.pitch_diameter();
    let slope = thread.pitch / (std::f64::consts::PI * d2) + 1.155 * friction;
    let twist = 1.5 * d2 / thread.stress_diameter() * slope;
    share * class.yields * thread.stress_area() / (1.0 + 3.0 * twist * twist).sqrt()
}

/// The clamp load of one torque.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Preload {
    /// The least to count with [N].
    pub low: f64,
    /// At the middle of the friction range [N].
    pub mid: f64,
    /// The most to count with [N].
    pub high: f64,
}

/// Clamp load of a torque: the wider of what the friction range and what the scatter of the method about the middle
/// friction give.
pub fn range(thread: &Thread, head: &Head, friction: Friction, method: &Method, torque: f64) -> Preload {
    let at = |friction| preload(thread, head, friction, torque);
    let mid = at(friction.mid());
    Preload {
        low: at(friction.high).min(mid * (1.0 - method.scatter[1])),
        mid,
        high: at(friction.low).max(mid * (1.0 + method.scatter[1])),
    }
}
