//! How much friction, and how well a way of tightening meets the force.

/// Coefficient of friction in the thread and under the head, from the slippery to the sticky end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Friction {
    /// Least.
    pub low: f64,
    /// Most.
    pub high: f64,
}

impl Friction {
    /// The middle of the range.
    pub fn mid(&self) -> f64 {
        0.5 * (self.low + self.high)
    }
}

/// What is on thread and head.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lubrication {
    /// The word for it.
    pub name: &'static str,
    /// Range taken.
    pub friction: Friction,
}

const fn lubrication(name: &'static str, low: f64, high: f64) -> Lubrication {
    Lubrication {
        name,
        friction: Friction { low, high },
    }
}

/// Ranges in the manner of the friction classes of VDI 2230 (from memory: B 0.08 to 0.16, C 0.14 to 0.24), narrowed
/// where the nut factors of Shigley's table 8-15 allow: K 0.3 plain, 0.2 zinc, 0.18 oiled, 0.12 anti-seize.
pub const LUBRICATIONS: [Lubrication; 6] = [
    lubrication("unknown", 0.08, 0.24),
    lubrication("dry", 0.14, 0.24),
    lubrication("dry zinc", 0.12, 0.20),
    lubrication("oiled", 0.10, 0.16),
    lubrication("threadlocker", 0.10, 0.18),
    lubrication("anti-seize", 0.06, 0.12),
];

impl Lubrication {
    /// That of a name.
    pub fn named(name: &str) -> Option<Lubrication> {
        LUBRICATIONS.iter().find(|l| l.name == name).copied()
    }
}

/// A way of tightening with the scatter of the force that it leaves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Method {
    /// The word for it.
    pub name: &'static str,
    /// Half range over the mean, as small and as large as the table gives it.
    pub scatter: [f64; 2],
}

const fn method(name: &'static str, low: f64, high: f64) -> Method {
    Method {
        name,
        scatter: [low, high],
    }
}

/// VDI 2230:1986, table of tightening factors (a reprint); the impact driver from memory.
pub const METHODS: [Method; 6] = [
    method("torque wrench", 0.23, 0.28),
    method("torque wrench, proved", 0.17, 0.23),
    method("angle", 0.05, 0.12),
    method("yield", 0.05, 0.12),
    method("power driver", 0.26, 0.43),
    method("impact driver", 0.43, 0.60),
];

impl Method {
    /// That of a name.
    pub fn named(name: &str) -> Option<Method> {
        METHODS.iter().find(|m| m.name == name).copied()
    }

    /// Tightening factor: largest over least force, `(1 + s)/(1 − s)`, of the wide end (VDI 2230).
    pub fn factor(&self) -> f64 {
        factor(self.scatter[1])
    }
}

/// `(1 + s)/(1 − s)`
pub fn factor(scatter: f64) -> f64 {
    (1.0 + scatter) / (1.0 - scatter)
}
