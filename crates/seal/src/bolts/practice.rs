//! Torques that machine makers print for bolts in cast aluminium.

use super::{Class, Thread};

/// Thread, class, torque [N·m], as read in machine manuals for bolts of class 8.8 and 10.9 in cast aluminium.
const CAST_ALUMINIUM: [(&str, &str, f64); 8] = [
    ("M6", "8.8", 9.0),
    ("M6", "10.9", 12.0),
    ("M8", "8.8", 20.0),
    ("M8", "10.9", 28.0),
    ("M10", "8.8", 40.0),
    ("M10", "10.9", 55.0),
    ("M12", "8.8", 70.0),
    ("M12", "10.9", 100.0),
];

/// The torque that is customary in cast aluminium [N·m]: machine manuals, no standard.
pub fn in_cast_aluminium(thread: &Thread, class: &Class) -> Option<f64> {
    CAST_ALUMINIUM
        .iter()
        .find(|row| row.0 == thread.name && row.1 == class.name)
        .map(|row| row.2)
}
