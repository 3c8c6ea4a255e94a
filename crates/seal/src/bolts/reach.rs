//! How deep a bolt reaches into its hole.

/// A tapped hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hole {
    /// Full thread, from the face [m].
    pub thread_depth: f64,
    /// Thread that is missing at the mouth: countersink or counterbore [m].
    pub recess: f64,
    /// True when the bolt cannot come out at the far end.
    pub blind: bool,
}

/// How a bolt stands in its hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reach {
    /// How far it goes in past the face [m].
    pub past_face: f64,
    /// Thread in thread [m].
    pub engaged: f64,
    /// Left before it bottoms [m]; below zero it bottoms and does not clamp. `None` for a through hole or when the
    /// depth is not known.
    pub spare: Option<f64>,
}

/// How a bolt of a length under the head stands in a hole, behind parts of a thickness in all [m].
pub fn reach(length: f64, clamped: f64, hole: Option<&Hole>) -> Reach {
    let past_face = length - clamped;
    let engaged = match hole {
        None => past_face,
        Some(h) => past_face.min(h.thread_depth) - h.recess,
    };
    Reach {
        past_face,
        engaged: engaged.max(0.0),
        spare: hole.filter(|h| h.blind).map(|h| h.thread_depth - past_face),
    }
}

/// Room that a bolt should keep before the end of the full thread, in pitches: common practice, no source. It takes up
/// the tolerance of the length and the taper of the last threads.
pub const SPARE_PITCHES: f64 = 1.0;
