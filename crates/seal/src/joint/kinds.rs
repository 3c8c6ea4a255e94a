//! Kinds of joint, and the beds of springs that each puts under the rail.

use super::{JointFault, Law};
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// How many times a need can be met before it is no longer counted.
pub(crate) const MOST_SERVICE: f64 = 100.0;

/// What set sealant, or a cord beside metal, still bridges [m]: common practice, no source.
pub const USUAL_BRIDGED: f64 = 0.1e-3;
/// Young's modulus of rubber of 60 to 70 Shore A [Pa]; from memory.
pub const USUAL_MODULUS: f64 = 4e6;
/// Least squeeze at which a cord is counted on, of its height: common practice, no source.
pub const USUAL_SQUEEZE: f64 = 0.1;

/// Where a seal runs.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Path {
    /// Its middle line, closed when the flange is; none: the middle of the rail.
    pub line: Option<Vec<DVec2>>,
    /// Its width across the rail [m]; none: the rail's.
    pub width: Option<f64>,
}

/// What seals, and what it needs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// A sheet, a moulded gasket without stops or any other layer that carries the bolts' pull.
    Sheet {
        /// Where it lies.
        path: Path,
        /// How it presses back.
        law: Law,
        /// Pressure below which it is not counted on to seal [Pa].
        need: f64,
    },
    /// Sealant between metal faces: wet, it carries nothing, and it fills what stays open.
    Sealant {
        /// Where the bead lies.
        path: Path,
        /// Metal on metal.
        metal: Law,
        /// Widest opening that it bridges for good [m].
        bridges: f64,
    },
    /// A cord in a groove, or a moulded bead on a carrier with stops: metal meets metal beside it.
    Bead {
        /// Where the bead lies.
        path: Path,
        /// Metal on metal; the groove's own width is not taken off the faces.
        metal: Law,
        /// How the bead presses back, against its squeeze [m].
        law: Law,
        /// Its free height [m].
        height: f64,
        /// How much of that is squeezed when the faces meet [m].
        squeeze: f64,
        /// Share of its height that it needs to be squeezed.
        least: f64,
        /// Widest opening of the faces beside it before it is pushed out [m].
        bridges: f64,
    },
}

/// Springs along a path.
#[derive(Clone, Debug)]
pub(crate) struct Bed {
    pub path: Path,
    /// None for a wet bead, which only watches.
    pub law: Option<Law>,
    /// Closure when the faces just meet [m].
    pub lead: f64,
}

impl Kind {
    /// Refuses sizes that are none.
    pub(crate) fn check(&self) -> Result<(), JointFault> {
        let (path, needs): (&Path, &[(&'static str, f64)]) = match self {
            Kind::Sheet { path, need, .. } => (path, &[("the pressure that the joint needs", *need)]),
            Kind::Sealant { path, bridges, .. } => {
                (path, &[("the opening that the sealant bridges", *bridges)])
            }
            Kind::Bead {
                path,
                height,
                squeeze,
                least,
                bridges,
                ..
            } => (
                path,
                &[
                    ("the bead's height", *height),
                    ("the bead's squeeze", *squeeze),
                    ("the squeeze that the bead needs", *least),
                    ("the opening that the bead stands", *bridges),
                ],
            ),
        };
        needs
            .iter()
            .try_for_each(|&(what, value)| JointFault::positive(what, value))?;
        if let Some(width) = path.width {
            JointFault::positive("the seal's width", width)?;
        }
        if let Kind::Bead { height, squeeze, .. } = self {
            JointFault::within("the bead's squeeze", *squeeze, 0.0, *height)?;
        }
        Ok(())
    }

    /// The beds it lays; the first is the one that seals, and is reported.
    pub(crate) fn beds(&self) -> Vec<Bed> {
        let whole = |law: &Law| Bed {
            path: Path::default(),
            law: Some(law.clone()),
            lead: 0.0,
        };
        match self {
            Kind::Sheet { path, law, .. } => vec![Bed {
                path: path.clone(),
                law: Some(law.clone()),
                lead: 0.0,
            }],
            Kind::Sealant { path, metal, .. } => vec![
                Bed {
                    path: path.clone(),
                    law: None,
                    lead: 0.0,
                },
                whole(metal),
            ],
            Kind::Bead {
                path,
                metal,
                law,
                squeeze,
                ..
            } => vec![
                Bed {
                    path: path.clone(),
                    law: Some(law.clone()),
                    lead: *squeeze,
                },
                whole(metal),
            ],
        }
    }

    /// Each law replaced by what a function makes of it.
    pub(crate) fn with_laws(
        mut self,
        mut change: impl FnMut(Law) -> Result<Law, JointFault>,
    ) -> Result<Kind, JointFault> {
        match &mut self {
            Kind::Sheet { law, .. } => *law = change(law.clone())?,
            Kind::Sealant { metal, .. } => *metal = change(metal.clone())?,
            Kind::Bead { metal, law, .. } => {
                *metal = change(metal.clone())?;
                *law = change(law.clone())?;
            }
        }
        Ok(self)
    }

    /// The law that carries the bolts' pull.
    pub(crate) fn carrying(&self) -> &Law {
        match self {
            Kind::Sheet { law, .. } => law,
            Kind::Sealant { metal, .. } | Kind::Bead { metal, .. } => metal,
        }
    }

    /// How many times the need is met, from the mean pressure [Pa] and the opening of the faces [m] (negative:
    /// pressed together); 1 is just met, and more than 100 is 100.
    pub(crate) fn service(&self, pressure: f64, opening: f64) -> f64 {
        let over = |limit: f64, found: f64| if found <= 0.0 { MOST_SERVICE } else { limit / found };
        let service = match self {
            Kind::Sheet { need, .. } => pressure / need,
            Kind::Sealant { bridges, .. } => over(*bridges, opening),
            Kind::Bead {
                height,
                squeeze,
                least,
                bridges,
                ..
            } => {
                let squeezed = ((squeeze - opening) / height).max(0.0);
                over(*bridges, opening).min(squeezed / least)
            }
        };
        service.clamp(0.0, MOST_SERVICE)
    }
}
