//! `[limits]`: what counts as thin, as bare for too long, and as too much oil at the crank.

use measure::Dimension::{Length, Share, Time, Volume};
use pickup::Limits;

use crate::section::{Bounds, Section};

/// The limits stated, and the house's for the rest.
pub(crate) fn read(section: &Section) -> Option<Limits> {
    let usual = Limits::default();
    let reason = "common practice, no source";
    let positive = Bounds::NOT_NEGATIVE;
    let least_cover = section.quantity_or("least_cover", Length, positive, usual.least_cover, reason);
    let longest_gulp = section.quantity_or("longest_gulp", Time, positive, usual.longest_gulp, reason);
    let air_share = section.quantity_or(
        "air_share",
        Share,
        Bounds::within(0.0, 1.0),
        usual.air_share,
        reason,
    );
    let crank_gap = section.quantity_or("crank_gap", Length, positive, usual.crank_gap, reason);
    let at_crank = section.quantity_or("at_crank", Volume, positive, usual.at_crank, reason);
    Some(Limits {
        least_cover: least_cover?,
        longest_gulp: longest_gulp?,
        air_share: air_share?,
        crank_gap: crank_gap?,
        at_crank: at_crank?,
    })
}
