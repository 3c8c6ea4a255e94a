//! `[liquid]`: a plain liquid by density and viscosity; or `[oil]` as in a pan's design.

use ::oil::fluid::Fluid;
use measure::Dimension::{Density, KinematicViscosity};

use super::oil;
use crate::section::{Bounds, Section};

/// Name and numbers of the liquid that one of the two sections states.
pub(crate) fn read(top: &Section) -> Option<(String, Fluid)> {
    let example = "[liquid] with density = \"998 kg/m3\" and viscosity = \"1 mm2/s\"";
    let way = top.one_of(&["liquid", "oil"], example)?;
    let section = top.below(way)?;
    let read = if way == "oil" {
        by_oil(&section)
    } else {
        plain(&section)
    };
    section.finish();
    read
}

fn plain(section: &Section) -> Option<(String, Fluid)> {
    let name = section.text("name", "fresh water");
    let density = section.quantity("density", Density, Bounds::above_to(0.0, 2e4));
    // From a twentieth of water's to that of cold honey; the solver was proven from 0.9 to 2000 mm²/s.
    let viscosity = section.quantity("viscosity", KinematicViscosity, Bounds::within(5e-8, 1e-2));
    Some((
        name?,
        Fluid {
            density: density?,
            viscosity: viscosity?,
        },
    ))
}

fn by_oil(section: &Section) -> Option<(String, Fluid)> {
    let oil = oil::oil(section)?;
    // `oil::oil` has found this to work.
    let fluid = oil.spec.at(oil.temperature, oil.aeration).ok()?;
    Some((oil.spec.name, fluid))
}
