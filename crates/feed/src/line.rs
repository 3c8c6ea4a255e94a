//! The suction line, part by part, and what each part costs.

use std::f64::consts::PI;

use oil::Fluid;
use oil::hydraulics as hydraulic;

/// How the oil enters the tube.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Entry {
    /// The tube's own end, standing free in the oil.
    Tube {
        /// Wall at the edge [m].
        wall: f64,
        /// Radius of its inner edge [m]; zero is sharp.
        radius: f64,
    },
    /// A mouth wider than the tube that narrows along a curve.
    Bell {
        /// Radius of the curve [m].
        radius: f64,
    },
    /// A mouth wider than the tube that narrows along a straight cone.
    Cone {
        /// Wall at the mouth's edge [m].
        wall: f64,
        /// Length of the cone [m].
        length: f64,
    },
    /// A box with the screen for its face, from which the tube leaves by a sharp edge.
    Box,
}

/// What a screen is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Weave {
    /// Round wires woven square.
    Wires {
        /// Diameter of a wire [m].
        wire: f64,
        /// Gap between two wires [m].
        gap: f64,
    },
    /// A plate with round holes.
    Holes {
        /// Diameter of a hole [m].
        hole: f64,
        /// Open share, 0..1.
        open: f64,
        /// Thickness of the plate [m].
        thickness: f64,
    },
}

impl Weave {
    /// The open share, 0..1.
    pub fn open(&self) -> f64 {
        match *self {
            Weave::Wires { wire, gap } => (gap / (gap + wire)).powi(2),
            Weave::Holes { open, .. } => open,
        }
    }
}

/// The screen of the mouth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Screen {
    /// What it is made of.
    pub weave: Weave,
    /// Its area, open and wire together [m²].
    pub area: f64,
    /// Share of it that dirt or a rag keeps shut, 0..1 (1 is refused nowhere and passes nothing).
    pub blocked: f64,
}

impl Screen {
    /// Loss [Pa] at a flow above zero.
    fn loss(&self, oil: &Fluid, flow: f64) -> f64 {
        let speed = flow / (self.area * (1.0 - self.blocked));
        let open = self.weave.open();
        let reynolds = |width: f64| speed / open * width / oil.viscosity;
        let k = match self.weave {
            Weave::Wires { gap, .. } => hydraulic::wire_screen(open, reynolds(gap)),
            Weave::Holes { hole, thickness, .. } => {
                hydraulic::perforated_plate(open, reynolds(hole), thickness / hole)
            }
        };
        k * head(oil, speed)
    }
}

/// A piece of the tube.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece {
    /// Bore [m].
    pub bore: f64,
    /// Straight or bent.
    pub run: Run,
}

/// The way of a piece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Run {
    /// Straight, of this length [m].
    Straight(f64),
    /// Bent.
    Bend {
        /// By how much [rad].
        angle: f64,
        /// Radius of its middle line [m].
        radius: f64,
    },
}

impl Piece {
    /// Length along the middle line [m].
    pub fn length(&self) -> f64 {
        match self.run {
            Run::Straight(length) => length,
            Run::Bend { angle, radius } => angle * radius,
        }
    }
}

/// A part of the line that takes pressure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Part {
    /// Under the rim, between mouth and floor.
    Rim,
    /// Through the screen.
    Screen,
    /// Into the tube.
    Entry,
    /// Along the straight tube.
    Tube,
    /// Round the bends.
    Bends,
    /// Where the bore changes, the pump's inlet included.
    Steps,
    /// Up to the pump, against (or with) what pulls on the oil. The one part that may be below zero.
    Lift,
    /// To bring the oil to its speed in the pump's inlet.
    Speed,
}

impl Part {
    /// All, in the way of the oil.
    pub const ALL: [Part; 8] = [
        Part::Rim,
        Part::Screen,
        Part::Entry,
        Part::Tube,
        Part::Bends,
        Part::Steps,
        Part::Lift,
        Part::Speed,
    ];

    /// In a few words.
    pub fn said(self) -> &'static str {
        match self {
            Part::Rim => "under the rim",
            Part::Screen => "screen",
            Part::Entry => "into the tube",
            Part::Tube => "straight tube",
            Part::Bends => "bends",
            Part::Steps => "steps in bore",
            Part::Lift => "lift to the pump",
            Part::Speed => "oil brought to speed",
        }
    }
}

/// The line from the oil to the pump's inlet.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Opening of the mouth [m].
    pub mouth: f64,
    /// Outside of its rim [m], at least `mouth`.
    pub rim: f64,
    /// From the rim to what lies below it [m].
    pub floor: f64,
    /// How the oil gets into the tube.
    pub entry: Entry,
    /// Its screen.
    pub screen: Option<Screen>,
    /// The tube, in the way of the oil; at least one piece.
    pub pieces: Vec<Piece>,
    /// Roughness of its wall [m].
    pub roughness: f64,
    /// Bore of the pump's inlet [m].
    pub inlet: f64,
}

/// Area of a bore [m²].
pub(crate) fn area(bore: f64) -> f64 {
    0.25 * PI * bore * bore
}

/// `ρV²/2` [Pa].
fn head(oil: &Fluid, speed: f64) -> f64 {
    0.5 * oil.density * speed * speed
}

/// Speed, Reynolds number and `ρV²/2` in a bore at a flow.
struct Stream {
    reynolds: f64,
    head: f64,
}

impl Stream {
    fn of(oil: &Fluid, flow: f64, bore: f64) -> Stream {
        let speed = flow / area(bore);
        Stream {
            reynolds: speed * bore / oil.viscosity,
            head: head(oil, speed),
        }
    }
}

/// What a wider and a narrower bore in turn cost, on the narrower one's stream.
fn step(oil: &Fluid, flow: f64, from: f64, to: f64) -> f64 {
    let narrow = Stream::of(oil, flow, from.min(to));
    if to < from {
        let ratio = to / from;
        (hydraulic::contraction(ratio, PI, 0.0) + hydraulic::slow::contraction(ratio, PI) / narrow.reynolds)
            * narrow.head
    } else {
        hydraulic::expansion(from / to) * narrow.head
    }
}

impl Line {
    /// The bore right behind the mouth [m].
    pub fn bore(&self) -> f64 {
        self.pieces.first().map_or(self.inlet, |piece| piece.bore)
    }

    /// The narrowest bore of tube and inlet [m].
    pub fn narrowest(&self) -> f64 {
        self.pieces.iter().map(|p| p.bore).fold(self.inlet, f64::min)
    }

    /// Length of tube [m], a cone counted in.
    pub fn length(&self) -> f64 {
        let cone = match self.entry {
            Entry::Cone { length, .. } => length,
            Entry::Bell { radius } => radius,
            Entry::Tube { .. } | Entry::Box => 0.0,
        };
        cone + self.pieces.iter().map(Piece::length).sum::<f64>()
    }

    /// What the part takes from the pressure at `flow` [m³/s] [Pa], under `push` (see the crate's page). Below zero only the
    /// lift: the oil then stands higher than the pump. No flow costs nothing.
    pub fn loss(&self, part: Part, oil: &Fluid, flow: f64, push: f64) -> f64 {
        if part == Part::Lift {
            return -oil.density * push;
        }
        if flow <= 0.0 {
            return 0.0;
        }
        match part {
            Part::Rim => self.rim_loss(oil, flow),
            Part::Screen => self.screen.map_or(0.0, |screen| screen.loss(oil, flow)),
            Part::Entry => self.entry_loss(oil, flow),
            Part::Tube => self.runs(oil, flow, |piece, stream, rough| match piece.run {
                Run::Straight(length) => {
                    hydraulic::friction_factor(stream.reynolds, rough) * length / piece.bore
                }
                Run::Bend { .. } => 0.0,
            }),
            Part::Bends => self.runs(oil, flow, |piece, stream, rough| match piece.run {
                Run::Straight(_) => 0.0,
                Run::Bend { angle, radius } => {
                    hydraulic::bend(stream.reynolds, angle, radius / piece.bore, rough)
                }
            }),
            Part::Steps => {
                let bores = self.pieces.iter().map(|p| p.bore).chain([self.inlet]);
                let bores: Vec<f64> = bores.collect();
                let steps = bores.windows(2).filter(|w| w[0] != w[1]);
                steps.map(|w| step(oil, flow, w[0], w[1])).sum()
            }
            Part::Speed => Stream::of(oil, flow, self.inlet).head,
            Part::Lift => unreachable!("told above"),
        }
    }

    /// Sum of all parts [Pa]: how far the pressure in the pump's inlet lies under that over the oil.
    pub fn all_losses(&self, oil: &Fluid, flow: f64, push: f64) -> f64 {
        Part::ALL
            .iter()
            .map(|part| self.loss(*part, oil, flow, push))
            .sum()
    }

    /// A coefficient summed over the pieces, each on its own stream.
    fn runs(&self, oil: &Fluid, flow: f64, k: impl Fn(&Piece, &Stream, f64) -> f64) -> f64 {
        let one = |piece: &Piece| {
            let stream = Stream::of(oil, flow, piece.bore);
            k(piece, &stream, self.roughness / piece.bore) * stream.head
        };
        self.pieces.iter().map(one).sum()
    }

    /// Between rim and floor: creeping flow between two plates from the rim's outside to the mouth,
    /// `6 μQ/(π c³) ln(D/d)`, and one head of the speed through the ring under the rim.
    ///
    /// The first is exact for creeping flow between plates; that one head is lost is an estimate without a source (the oil
    /// turns by a right angle and mixes).
    fn rim_loss(&self, oil: &Fluid, flow: f64) -> f64 {
        let viscous = 6.0 * oil.density * oil.viscosity * flow / (PI * self.floor.powi(3));
        let ring = PI * self.mouth * self.floor;
        // A floor far below turns nothing: the head fades as the ring outgrows the mouth.
        let tight = (area(self.mouth) / ring).min(1.0);
        viscous * (self.rim / self.mouth).ln() + tight * head(oil, flow / ring)
    }

    fn entry_loss(&self, oil: &Fluid, flow: f64) -> f64 {
        let bore = self.bore();
        let tube = Stream::of(oil, flow, bore);
        let slow = hydraulic::slow::ENTRANCE;
        match self.entry {
            Entry::Tube { wall, radius } => {
                let k = if radius > 0.0 {
                    hydraulic::rounded_entrance(radius / bore).min(hydraulic::free_edge(wall / bore))
                } else {
                    hydraulic::free_edge(wall / bore)
                };
                (k + slow / tube.reynolds) * tube.head
            }
            Entry::Bell { radius } => {
                (hydraulic::rounded_entrance(radius / bore) + slow / tube.reynolds) * tube.head
            }
            Entry::Cone { wall, length } => {
                let mouth = Stream::of(oil, flow, self.mouth);
                let edge = (hydraulic::free_edge(wall / self.mouth) + slow / mouth.reynolds) * mouth.head;
                let ratio = bore / self.mouth;
                let angle = 2.0 * (0.5 * (self.mouth - bore) / length).atan();
                let friction = hydraulic::turbulent_friction(tube.reynolds, self.roughness / bore);
                let k = hydraulic::contraction(ratio, angle, friction)
                    + hydraulic::slow::contraction(ratio, angle) / tube.reynolds;
                edge + k * tube.head
            }
            Entry::Box => step(oil, flow, self.mouth.max(bore), bore),
        }
    }
}

#[cfg(test)]
mod tests;
