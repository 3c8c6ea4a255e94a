//! Losses of wire screens and perforated plates, `Δp = K ρU²/2` on the speed `U` of approach.

/// Round wires: Reynolds number of the gap, and `K ε²/(1 − ε²)` there.
///
/// Blevins, Applied Fluid Dynamics Handbook (1984), as a general library tabulates it.
const WIRES: [(f64, f64); 8] = [
    (20.0, 1.3),
    (30.0, 1.1),
    (40.0, 0.95),
    (60.0, 0.83),
    (80.0, 0.75),
    (100.0, 0.70),
    (200.0, 0.60),
    (400.0, 0.52),
];

/// Square-edged plate: open share and `K` (Blevins, as above).
const PLATES: [(f64, f64); 19] = [
    (0.05, 1000.0),
    (0.10, 250.0),
    (0.15, 85.0),
    (0.20, 52.0),
    (0.25, 30.0),
    (0.30, 17.0),
    (0.35, 11.0),
    (0.40, 7.7),
    (0.45, 5.5),
    (0.50, 3.8),
    (0.55, 2.8),
    (0.60, 2.0),
    (0.65, 1.5),
    (0.70, 1.1),
    (0.75, 0.78),
    (0.80, 0.53),
    (0.85, 0.35),
    (0.90, 0.08),
    (1.00, 0.0),
];

/// `K` of a screen of round wires woven square, `open` share 0.05 to 0.8, at the Reynolds number of the gap between two
/// wires (its width, the speed in it).
///
/// From 20 up by Blevins' table, constant above 400 as there. Below 20, where cold oil is and his table ends, the creeping
/// flow through the holes is added: Sampson's exact 24 μQ/d³ of a round hole in a thin wall (Phil. Trans. A 182, 1891) for
/// a hole of the same area, `33.4/(ε² Re)`. Published fits for creeping flow through woven screens lie from 0.8 (Brundrett
/// 1993) to 2 times this (Armour & Cannon 1968; both from memory): take cold screen losses as known to a factor of two.
pub fn wire_screen(open: f64, reynolds: f64) -> f64 {
    let slowest = WIRES[0].0;
    let by_table = between(&WIRES, reynolds) * (1.0 - open * open) / (open * open);
    by_table + SQUARE_HOLE / (open * open) * (1.0 / reynolds - 1.0 / slowest).max(0.0)
}

/// Sampson's 12π on the width of a square hole of the same area as the round one: `12π √(π/4)`.
const SQUARE_HOLE: f64 = 33.41;

/// `K` of a plate with round holes, sharp edges, `open` share 0.05 to 1, at the Reynolds number of a hole (its bore, the
/// speed in it), `thickness` of the plate as a part of the hole's bore.
///
/// Blevins' coefficient of fast flow, plus the creeping flow through each hole: `(12π + 64 t/d)/(ε² Re)`, Sampson for the
/// mouth of the hole and Poiseuille for its length (Dagan, Weinbaum & Pfeffer, J. Fluid Mech. 115 (1982): the sum is right
/// within 1 %).
pub fn perforated_plate(open: f64, reynolds: f64, thickness: f64) -> f64 {
    let slow = 12.0 * std::f64::consts::PI + 64.0 * thickness;
    between(&PLATES, open) + slow / (open * open * reynolds)
}

/// Straight lines between the rows of a table, flat beyond its ends.
fn between(table: &[(f64, f64)], at: f64) -> f64 {
    let above = table.partition_point(|row| row.0 <= at);
    if above == 0 {
        return table[0].1;
    }
    if above == table.len() {
        return table[above - 1].1;
    }
    let ((x0, y0), (x1, y1)) = (table[above - 1], table[above]);
    y0 + (y1 - y0) * (at - x0) / (x1 - x0)
}
