//! Over walls and under gates.
//!
//! Weir formulae come from water channels with heads of 20 to 30 mm and more. Smaller heads, as in a pan, are
//! outside what they were measured for: surface tension and viscosity then matter and no formula is proved.
//! Use them to prove a solver at their own size.

/// `⅔ √2`, the factor of a rectangular weir with `√g` taken out.
const THIN_WEIR: f64 = 2.0 / 3.0 * std::f64::consts::SQRT_2;

/// Flow [m³/s] over a thin full-width weir, `head` [m] over a crest `crest` [m] above the floor, `width`
/// [m]: `⅔√2 (0.602 + 0.0832 h/P) b √g (h + 0.00125)^1.5`, Rehbock 1929. Zero for no head.
pub fn rehbock(head: f64, crest: f64, width: f64, gravity: f64) -> f64 {
    if head <= 0.0 {
        return 0.0;
    }
    THIN_WEIR * (0.602 + 0.0832 * head / crest) * width * gravity.sqrt() * (head + 0.00125).powf(1.5)
}

/// The same by Kindsvater & Carter 1957: `⅔√2 (0.602 + 0.075 h/P)(b − 0.001) √g (h + 0.001)^1.5`. Zero for no
/// head.
pub fn kindsvater_carter(head: f64, crest: f64, width: f64, gravity: f64) -> f64 {
    if head <= 0.0 {
        return 0.0;
    }
    THIN_WEIR * (0.602 + 0.075 * head / crest) * (width - 0.001) * gravity.sqrt() * (head + 0.001).powf(1.5)
}

/// Flow [m³/s] over a broad crest: `(2/3)^1.5 Cd b √g h^1.5`; Cd 1 is no loss, about 0.848 for heads of
/// 0.1 to 0.33 crest lengths (ISO 3846, from memory). Zero for no head.
pub fn broad_crest(coefficient: f64, head: f64, width: f64, gravity: f64) -> f64 {
    if head <= 0.0 {
        return 0.0;
    }
    (2.0_f64 / 3.0).powf(1.5) * coefficient * width * gravity.sqrt() * head.powf(1.5)
}

/// Part of the free flow that passes a weir drowned from downstream: `[1 − (h₂/h₁)^1.5]^0.385`, heads over
/// the crest (Villemonte 1947; exponent from memory). 1 when the downstream level is below the crest, 0 when
/// it is as high.
pub fn drowned_share(upstream: f64, downstream: f64) -> f64 {
    if downstream <= 0.0 {
        return 1.0;
    }
    if downstream >= upstream {
        return 0.0;
    }
    (1.0 - (downstream / upstream).powf(1.5)).powf(0.385)
}

/// Coefficient of a sharp sluice gate, free outflow, `opening` under `depth` [m]:
/// `0.611 [(y − a)/(y + 15a)]^0.072` (Swamee 1992, from memory).
pub fn gate_coefficient(opening: f64, depth: f64) -> f64 {
    0.611 * ((depth - opening) / (depth + 15.0 * opening)).powf(0.072)
}

/// The same from momentum with a contraction of 0.611: `Cc/√(1 + Cc a/y)`. It stands 4 to 6 % above Swamee's:
/// that spread is the honest uncertainty.
pub fn gate_coefficient_momentum(opening: f64, depth: f64) -> f64 {
    0.611 / (1.0 + 0.611 * opening / depth).sqrt()
}

/// Flow [m³/s] under a gate: `Cd a b √(2 g y)`. Zero for no depth.
pub fn gate(coefficient: f64, opening: f64, depth: f64, width: f64, gravity: f64) -> f64 {
    if depth <= 0.0 {
        return 0.0;
    }
    coefficient * opening * width * (2.0 * gravity * depth).sqrt()
}
