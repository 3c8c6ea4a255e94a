//! From a design's joint to what is said of it: mapping, and the order in which the parts are asked.

mod faces;
mod torque;
pub mod turning;

use glam::{DVec2, DVec3};
use job::{BoltSet, Design, JointKind, Sealing};
use measure::{Dimension, UnitOrder, show, show_torque};
use report::findings::{FaceFact, OrderFact, PressFact, SealFacts, SealView, ShortFact, Warning, WhatIfFact};
use report::page::times;
use seal::bolts::advice::{Advice, Setup};
use seal::flatness::Rail;
use seal::joint::{
    Bolt, Change, Clamped, Flange, Gap, Joint, JointFault, Kind, Law, Path, Station, USUAL_BRIDGED,
    USUAL_MODULUS, USUAL_SQUEEZE, Wall, clamp, least_thickness, rail_between, usual_changes, weak_bolts,
    what_ifs,
};
use seal::order::{PASSES, Schedule, from_the_middle, passes_worth, tighten};

use crate::failure::Failure;

/// What the torques carry with them.
const CAUTIONS: [&str; 4] = [
    "The engine maker's torques, order and sealant win over everything here; this is an aid to judgement, not a certificate.",
    "A bolt that keeps turning at the same torque is a thread giving way: stop, take it out, look at the thread, fit an \
     insert. A bolt that stops early with a step has bottomed.",
    "Clean, dry holes: oil or coolant in a blind hole cracks the casting. Follow the sealant maker's waiting time.",
    "Hot oil burns; an oil leak on a header is a fire, and oil on a course endangers others. Test for leaks before it runs \
     near anyone, and look again after the first heat.",
];

/// The cord that is tried in the place of sealant [m]: of the middle of what pans have (common practice, no source).
const OTHER_CORD: f64 = 3e-3;

/// What is said of the joint of a design; `None` when it states none.
pub fn look(design: &Design) -> Result<Option<SealFacts>, Failure> {
    design
        .sealing
        .as_ref()
        .map(|s| facts(s, design.units))
        .transpose()
}

/// One look at a joint.
struct Look<'s> {
    stated: &'s Sealing,
    units: UnitOrder,
    stations: Vec<Station>,
    rail: Rail,
    setup: Setup,
    advice: Advice,
    warnings: Vec<Warning>,
}

fn facts(s: &Sealing, units: UnitOrder) -> Result<SealFacts, Failure> {
    let wrong = |fault: JointFault| {
        Failure::input(
            fault.to_string(),
            format!("{}, seal", s.place),
            "look at the flange's outline, the cavity's edge and the bolts in the picture of --out",
        )
    };
    let wall = s.wall.map(|[height, thickness]| Wall { height, thickness });
    let stations = rail_between(&s.outer, &s.inner, s.thickness, wall).map_err(wrong)?;
    let line: Vec<DVec2> = stations.iter().map(|s| s.place).collect();
    let rail = Rail::new(&line).ok_or_else(|| Failure::computing("the flange has no middle line", ""))?;
    let area = match s.kind {
        JointKind::Sheet { width, .. } => {
            let width = width.unwrap_or(s.mean_width()).min(s.mean_width());
            Some(width * rail.length() / s.bolts.at.len() as f64)
        }
        _ => None,
    };
    let setup = s.setup(area);
    let advice = setup.advice();
    let mut look = Look {
        stated: s,
        units,
        stations,
        rail,
        setup,
        advice,
        warnings: Vec::new(),
    };
    let (faces, gap) = look.faces()?;
    let bolts = look.bolts();
    let (press, order) = look.pressed(gap).map_err(wrong)?;
    let said = look.said(&faces, press.as_ref());
    Ok(SealFacts {
        said,
        holds: look.warnings.is_empty(),
        warnings: look.warnings,
        faces,
        press,
        bolts,
        order,
        turned: Vec::new(),
        counted: counted(s, units),
        cautions: CAUTIONS.map(str::to_owned).into(),
        view: SealView {
            outer: s.outer.iter().map(|p| p.to_array()).collect(),
            inner: s.inner.iter().map(|p| p.to_array()).collect(),
            bolts: s.bolts.at.iter().map(|p| p.to_array()).collect(),
            hole: s.bolts.head.hole,
        },
    })
}

impl Look<'_> {
    fn show(&self, value: f64, what: Dimension) -> String {
        show(value, what, self.units)
    }

    fn length(&self, value: f64) -> String {
        self.show(value, Dimension::Length)
    }

    fn warn(&mut self, said: String, mend: impl Into<String>) {
        self.warnings.push(Warning {
            said,
            mend: mend.into(),
        });
    }

    /// Whether the bolts meet the end of their holes before the flange.
    fn bottoms(&self) -> bool {
        self.advice.reach.spare.is_some_and(|spare| spare < 0.0)
    }

    /// Whether the torque may pull a bolt with more than breaks it.
    fn breaks(&self) -> bool {
        self.advice.preload.high > self.advice.breaks
    }

    fn kind(&self) -> Result<Kind, JointFault> {
        let s = self.stated;
        let metal = || Law::metal(s.flange.youngs, s.block.youngs, s.thickness);
        Ok(match s.kind {
            JointKind::Sheet {
                sheet,
                thickness,
                width,
                need,
            } => {
                let squeezed = 0.5 * (sheet.compressibility[0] + sheet.compressibility[1]);
                Kind::Sheet {
                    path: Path { line: None, width },
                    law: Law::through(&[[squeezed * thickness, sheet.tested_at]], sheet.recovery)?,
                    need,
                }
            }
            JointKind::Sealant { bridges } => Kind::Sealant {
                path: Path::default(),
                metal: metal()?,
                bridges,
            },
            JointKind::Bead {
                height,
                squeeze,
                least,
                modulus,
                bridges,
            } => Kind::Bead {
                path: Path {
                    line: None,
                    width: Some(height),
                },
                metal: metal()?,
                law: Law::cord(height, modulus, height)?,
                height,
                squeeze,
                least,
                bridges,
            },
        })
    }

    fn joint(&self, gap: Option<&Vec<DVec3>>, clamp: f64) -> Result<Joint, JointFault> {
        let s = self.stated;
        let a = &self.advice;
        let bolt = |place: &DVec2| Bolt {
            place: *place,
            preload: clamp,
            stiffness: 1.0 / (a.compliance[0] + a.compliance[1]),
            seat: s.bolts.head.bears + s.thickness,
        };
        Ok(Joint {
            flange: Flange {
                rail: self.stations.clone(),
                closed: true,
                youngs: s.flange.youngs,
                poisson: s.flange.poisson,
                shear: true,
            },
            bolts: s.bolts.at.iter().map(bolt).collect(),
            kind: self.kind()?,
            gap: gap.map_or(Gap::flat(), |g| Gap::measured(g.clone())),
            // A column of the block's metal as deep as stated.
            block: s.backing.map(|depth| s.block.youngs / depth),
            element: None,
        })
    }

    /// The joint under the least clamp load to count with, and the order of tightening.
    fn pressed(
        &mut self,
        gap: Option<Vec<DVec3>>,
    ) -> Result<(Option<PressFact>, Option<OrderFact>), JointFault> {
        // A bolt that bottoms or breaks clamps nothing, whatever its torque: the warning stands among those of the bolts.
        if self.bottoms() || self.breaks() {
            return Ok((None, None));
        }
        let least = self.advice.left_at_worst[0];
        let middle = self.advice.preload.mid;
        if !(least > 0.0) || !(middle > 0.0) {
            let torque = show_torque(self.advice.torque, self.units);
            self.warn(
                format!("at {torque} nothing need be left of the clamp load after settling, creep and cold"),
                "tighten more, lubricate the threads so that friction is better known, or take longer bolts",
            );
            return Ok((None, None));
        }
        let joint = self.joint(gap.as_ref(), least)?;
        let clamped = clamp(&joint)?;
        let at_middle = clamp(&self.joint(gap.as_ref(), middle)?)?;
        let mut changes = usual_changes(&joint, &clamped);
        changes.push(self.another()?);
        let what_ifs = what_ifs(&joint, changes)?
            .into_iter()
            .map(|w| WhatIfFact {
                said: self.change_said(&w.change, &clamped),
                service: w.outcome.service,
                short: w.outcome.short,
                widest: w.outcome.widest,
            })
            .collect();
        let fact = PressFact {
            said: self.press_said(&clamped, &at_middle) + &self.margins(&joint, &clamped)?,
            holds: clamped.holds(),
            clamp: [least, middle],
            service: [clamped.worst_place().service, at_middle.worst_place().service],
            mean: clamped.mean,
            evenness: clamped.evenness(),
            widest: clamped.widest(),
            short: clamped
                .short
                .iter()
                .map(|run| {
                    let worst = &clamped.places[run.worst];
                    ShortFact {
                        bolts: run.between.map(|b| b + 1),
                        length: run.length,
                        at: worst.place.to_array(),
                        service: worst.service,
                        opening: worst.opening.max(0.0),
                    }
                })
                .collect(),
            pulled_in: clamped.pulled_in.map(|p| [p.before, p.after]),
            what_ifs,
            along: clamped
                .places
                .iter()
                .map(|p| [p.place.x, p.place.y, p.pressure, p.opening, p.service])
                .collect(),
        };
        if !fact.holds {
            let short = self.length(clamped.short_length());
            let mend = fact.what_ifs.iter().find(|w| w.service >= 1.0).map_or(
                "no single change of those tried will do: combine them, or choose another joint".to_owned(),
                |w| format!("this would do by itself: {}", w.said),
            );
            self.warn(
                format!(
                    "{short} of the seal get less than they need when clamp load is least; worst between bolts {} and {}",
                    fact.short[0].bolts[0], fact.short[0].bolts[1]
                ),
                mend,
            );
        }
        let order = self.order(&self.joint(gap.as_ref(), middle)?)?;
        Ok((Some(fact), Some(order)))
    }

    /// Another kind of joint in the place of this one.
    fn another(&self) -> Result<Change, JointFault> {
        let s = self.stated;
        let metal = Law::metal(s.flange.youngs, s.block.youngs, s.thickness)?;
        let (name, kind) = match s.kind {
            JointKind::Sealant { .. } => {
                let height = OTHER_CORD;
                let squeeze = 0.25 * height;
                let kind = Kind::Bead {
                    path: Path {
                        line: None,
                        width: Some(height),
                    },
                    metal,
                    law: Law::cord(height, USUAL_MODULUS, height)?,
                    height,
                    squeeze,
                    least: USUAL_SQUEEZE,
                    bridges: USUAL_BRIDGED,
                };
                let groove = self.length(height - squeeze);
                (
                    format!("a cord of {} in a groove of {groove}", self.length(height)),
                    kind,
                )
            }
            JointKind::Sheet { .. } | JointKind::Bead { .. } => {
                let kind = Kind::Sealant {
                    path: Path::default(),
                    metal,
                    bridges: USUAL_BRIDGED,
                };
                (
                    format!("sealant that bridges {}", self.length(USUAL_BRIDGED)),
                    kind,
                )
            }
        };
        Ok(Change::Kind {
            name,
            kind: Box::new(kind),
        })
    }

    /// What a bolt that is lost would do and, where the need is not met, which thickness would do.
    fn margins(&self, joint: &Joint, clamped: &Clamped) -> Result<String, JointFault> {
        let mut said = String::new();
        if let Some(worst) = weak_bolts(joint, 0.0)?.first() {
            said += &format!(
                " Bolt {} can be spared least: were it lost, the need would be met {}.",
                worst.bolt + 1,
                times(worst.outcome.service)
            );
        }
        if !clamped.holds() {
            said += &match least_thickness(joint)? {
                Some(thickness) => format!(" A flange {} thick would do by itself.", self.length(thickness)),
                None => " No flange up to four times as thick would do by itself.".to_owned(),
            };
        }
        Ok(said)
    }

    fn order(&self, joint: &Joint) -> Result<OrderFact, JointFault> {
        let places: Vec<DVec2> = joint.bolts.iter().map(|b| b.place).collect();
        let order = from_the_middle(&places);
        let schedule = Schedule {
            order: order.clone(),
            passes: PASSES.to_vec(),
        };
        let tightened = tighten(joint, &schedule)?;
        let spread: Vec<[f64; 2]> = tightened
            .passes
            .iter()
            .map(|p| [p.spread.least, p.spread.most])
            .collect();
        // A spread under a quarter of the wrench's own scatter hides in it.
        let enough = 0.25 * self.stated.bolts.method.scatter[1];
        let (ways, served) = passes_worth(joint, enough)?;
        let worth = served.map(|i| ways[i].passes.len());
        let torque = self.advice.torque;
        let numbers: Vec<String> = order.iter().map(|b| (b + 1).to_string()).collect();
        let passes: Vec<f64> = PASSES.iter().map(|p| p * torque).collect();
        let set: Vec<String> = passes.iter().map(|t| show_torque(*t, self.units)).collect();
        let last = spread[spread.len() - 1];
        let enough_said = match worth {
            Some(1) => " On this joint one round would do as well, as far as a wrench can tell.".to_owned(),
            Some(n) if n < PASSES.len() => {
                format!(" {n} rounds would do as well, as far as a wrench can tell.")
            }
            Some(n) if n > PASSES.len() => format!(" {n} rounds make it as even as a wrench can tell."),
            Some(_) => String::new(),
            None => " Further rounds go on evening it out.".to_owned(),
        };
        Ok(OrderFact {
            said: format!(
                "From the middle outward, as the design lists the bolts: {}. Wrench set to {}; the last round confirms. An \
                 exact wrench then leaves clamp loads from {:.0} to {:.0} % of what was meant; the wrench's own scatter \
                 comes on top.{enough_said} The engine maker's order wins.",
                numbers.join(", "),
                set.join(", then "),
                last[0] * 100.0,
                last[1] * 100.0
            ),
            order: order.iter().map(|b| b + 1).collect(),
            passes,
            spread,
            worth,
        })
    }

    fn press_said(&self, clamped: &Clamped, at_middle: &Clamped) -> String {
        let least = self.show(self.advice.left_at_worst[0], Dimension::Force);
        let worst = clamped.worst_place();
        let found = match self.stated.kind {
            JointKind::Sheet { need, .. } => format!(
                "the sheet is pressed with {} on the mean and {} at the worst place, where {} are needed",
                self.show(clamped.mean, Dimension::Stress),
                self.show(worst.pressure, Dimension::Stress),
                self.show(need, Dimension::Stress)
            ),
            JointKind::Sealant { bridges } | JointKind::Bead { bridges, .. } => format!(
                "the faces open by {} at most, where {} are bridged",
                self.length(clamped.widest()),
                self.length(bridges)
            ),
        };
        let at = worst.place;
        let pulled = clamped.pulled_in.map_or(String::new(), |p| {
            format!(
                " The bolts pull the faces from {} out of flat to {}.",
                self.length(p.before),
                self.length(p.after.max(0.0))
            )
        });
        format!(
            "With {least} a bolt, the least to count with, {found}: the need is met {} at ({:.0}, {:.0}) mm; with the middle \
             clamp load {}.{pulled}",
            times(worst.service),
            at.x * 1e3,
            at.y * 1e3,
            times(at_middle.worst_place().service)
        )
    }

    fn change_said(&self, change: &Change, clamped: &Clamped) -> String {
        match change {
            Change::Thickness { factor } => {
                format!("flange {} thick", self.length(factor * self.stated.thickness))
            }
            Change::Wall { wall } => format!("a wall of {} on the flange", self.length(wall.height)),
            Change::Bolts { spans } if spans.len() == clamped.spans.len() => {
                "a bolt more in every span".to_owned()
            }
            Change::Bolts { spans } => {
                let between: Vec<String> = spans
                    .iter()
                    .map(|s| clamped.spans[*s].bolts)
                    .map(|[a, b]| format!("{} and {}", a + 1, b + 1))
                    .collect();
                format!("a bolt more between {}", between.join(", between "))
            }
            Change::Preload { factor } => format!("{:.0} % more clamp load", (factor - 1.0) * 100.0),
            Change::Flat => "both faces made flat".to_owned(),
            Change::Kind { name, .. } => name.clone(),
        }
    }

    fn said(&self, faces: &[FaceFact], press: Option<&PressFact>) -> String {
        let torque = show_torque(self.advice.torque, self.units);
        let which = if self.stated.bolts.torque.is_some() {
            "At the torque stated"
        } else {
            "At the torque suggested"
        };
        let holds = match press {
            Some(p) if p.holds => "the joint gets what it needs all round, also with the least clamp load",
            Some(p) if p.service[1] >= 1.0 => {
                "the joint gets what it needs with the middle clamp load and not with the least"
            }
            Some(_) => "the joint does not get what it needs everywhere",
            None if self.breaks() => "the bolts may break before the wrench is through",
            None if self.bottoms() => "the bolts bottom in their holes and clamp nothing",
            None => "nothing need be left to press the joint",
        };
        let flat = faces
            .iter()
            .rev()
            .find_map(|f| f.flatness.map(|w| (f, w)))
            .map_or(String::new(), |(f, w)| {
                let whose = match f.face.as_str() {
                    "both" => "both faces together are".to_owned(),
                    one => format!("the {one}'s face is"),
                };
                let held = if w <= f.target { "within" } else { "over" };
                format!(
                    " By the readings {whose} {} out of flat, {held} the {} asked.",
                    self.length(w),
                    self.length(f.target)
                )
            });
        let many = match self.warnings.len() {
            0 => String::new(),
            1 => " One thing speaks against it.".to_owned(),
            n => format!(" {n} things speak against it."),
        };
        format!("{which}, {torque}, {holds}.{flat}{many}")
    }
}

/// Ranges, conventions and sources.
fn counted(s: &Sealing, units: UnitOrder) -> Vec<String> {
    let b = &s.bolts;
    let temperature = |v: f64| show(v, Dimension::Temperature, units);
    let mut all = vec![
        format!(
            "{} Tightened by {}: {:.0} % either way (VDI 2230:1986).",
            friction_said(b),
            b.method.name,
            b.method.scatter[1] * 100.0
        ),
        format!(
            "Threads: stripping on limit sizes 6g/6H unless basic sizes are named (FED-STD-H28), shear strength {:.2} of {} \
             for {}, margin {}.",
            s.block.shear,
            show(s.block.strength, Dimension::Stress, units),
            s.block.name,
            seal::bolts::advice::STRIP_MARGIN
        ),
        format!(
            "Heat: assembly at {}, coldest {}, hottest {}; flange and bolts equally warm.",
            temperature(s.temperatures[0]),
            temperature(s.temperatures[1]),
            temperature(s.temperatures[2])
        ),
        "Flatness is the minimum zone of ISO 1101 and ISO 12781-1 over the readings; what lies between readings is not known."
            .to_owned(),
    ];
    if let JointKind::Sheet { sheet, .. } = s.kind {
        all.push(format!(
            "Sheet \"{}\": compressed by {:.0} to {:.0} %, creep relaxation {:.0} to {:.0} %; ranges over makers, mostly from \
             memory. State your maker's values where you can.",
            sheet.name,
            sheet.compressibility[0] * 100.0,
            sheet.compressibility[1] * 100.0,
            sheet.creep[0] * 100.0,
            sheet.creep[1] * 100.0
        ));
    }
    all
}

fn friction_said(b: &BoltSet) -> String {
    let range = format!("{:.2} to {:.2}", b.friction.low, b.friction.high);
    match (b.friction_stated, b.lubrication.name) {
        (true, _) => format!("Friction of thread and head as stated, {range}."),
        (false, "unknown") => {
            format!(
                "Friction is not known: {range} is counted, which makes every range wide. State the lubrication."
            )
        }
        (false, word) => format!("Friction was not measured: {range} is counted for \"{word}\"."),
    }
}
