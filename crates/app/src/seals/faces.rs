//! The faces as measured.

use super::Look;
use crate::failure::Failure;
use glam::DVec3;
use job::Face;
use report::findings::{FaceFact, SkimFact, SpanFact};
use seal::flatness::{FlatnessFault, Zone, least_squares, minimum_zone, net, skim, spans, together};

impl Look<'_> {
    /// Each face, both together when both are known, and the gap that the joint meets, for its solver.
    pub(super) fn faces(&mut self) -> Result<(Vec<FaceFact>, Option<Vec<DVec3>>), Failure> {
        let (pan, block) = (self.stated.pan_face.clone(), self.stated.block_face.clone());
        let mut facts = Vec::new();
        let own =
            "the lower plane of the face's own minimum zone, out of the metal; x and y in the pan's axes";
        for (name, face) in [("pan", &pan), ("block", &block)] {
            if let Some(face) = face {
                facts.push(self.face(name, &face.points, Some(face), own).map_err(lost)?);
            }
        }
        let known = |face: &Option<Face>| face.as_ref().map(|f| f.points.clone()).filter(|p| !p.is_empty());
        let sum = match (known(&pan), known(&block)) {
            (Some(pan), Some(block)) => {
                let sum = together(&self.rail, &pan, &block).map_err(lost)?;
                let datum = "the lower plane of the sum's minimum zone: the height of both faces together";
                facts.push(self.face("both", &sum, None, datum).map_err(lost)?);
                Some(sum)
            }
            (Some(one), None) | (None, Some(one)) => Some(one),
            (None, None) => None,
        };
        // Where metal stands high the faces meet first: the gap is the height taken away.
        let gap = sum.map(|points| points.iter().map(|p| p.truncate().extend(-p.z)).collect());
        Ok((facts, gap))
    }

    fn face(
        &mut self,
        name: &str,
        points: &[DVec3],
        face: Option<&Face>,
        datum: &str,
    ) -> Result<FaceFact, FlatnessFault> {
        let target = self.stated.target;
        let lines = face.map(|f| f.lines.as_slice()).unwrap_or_default();
        let tied = (!lines.is_empty()).then(|| net(lines));
        let at_least = tied.as_ref().map(|n| n.at_least());
        let mut fact = FaceFact {
            face: name.to_owned(),
            said: String::new(),
            flatness: None,
            at_least,
            least_squares: None,
            rms: None,
            target,
            datum: datum.to_owned(),
            points: Vec::new(),
            spans: Vec::new(),
            skim: None,
            lines: tied
                .as_ref()
                .map(|n| n.lines.iter().map(|l| [l.least, l.squares, l.ends]).collect())
                .unwrap_or_default(),
            disagree: tied.as_ref().map(|n| n.disagree),
        };
        if points.is_empty() {
            let (least, loose) = (at_least.unwrap_or(0.0), tied.map_or(0, |n| n.loose));
            fact.said = format!(
                "The {name}'s face is at least {} out of flat, by the worst straight-edge line alone. Its flatness is not \
                 known: {loose} tilts of the lines are not fixed by crossings; lay the edge along all sides and both \
                 diagonals, with a reading where the diagonals cross.",
                self.length(least)
            );
            if least > target {
                self.warn(
                    format!(
                        "the {name}'s face is at least {} out of flat, and {} are asked",
                        self.length(least),
                        self.length(target)
                    ),
                    "lap or skim it; measure points round the whole flange to learn where",
                );
            }
            return Ok(fact);
        }
        let zone = minimum_zone(points)?;
        let squares = least_squares(points)?;
        let cut = skim(points, &zone, target);
        let spans = spans(&self.rail, &self.stated.bolts.at, points);
        fact.flatness = Some(zone.width);
        fact.least_squares = Some(squares.range);
        fact.rms = Some(squares.rms);
        fact.points = points.iter().map(|p| [p.x, p.y, zone.height(*p)]).collect();
        fact.skim = cut.as_ref().map(|c| SkimFact {
            depth: c.depth,
            clean_up: c.clean_up,
            places: c
                .cuts
                .iter()
                .map(|c| [points[c.point].x, points[c.point].y, c.depth])
                .collect(),
        });
        if spans.iter().any(|s| s.readings > 0) {
            fact.spans = spans
                .iter()
                .map(|s| SpanFact {
                    bolts: [s.from + 1, s.to + 1],
                    length: s.length,
                    hollow: s.hollow,
                    crown: s.crown,
                    readings: s.readings,
                })
                .collect();
        }
        fact.said = self.face_said(&fact, &zone, points);
        if zone.width > target {
            let whose = if name == "both" {
                "both faces together are".to_owned()
            } else {
                format!("the {name}'s face is")
            };
            let depth = self.length(zone.width - target);
            self.warn(
                format!("{whose} {} out of flat, and {} are asked", self.length(zone.width), self.length(target)),
                match name {
                    "both" => format!("take {depth} off the higher places of either face, or of the two the one that can be cut"),
                    _ => format!("take {depth} off the places marked in the picture; a cut all over takes {}", self.length(zone.width)),
                },
            );
        }
        Ok(fact)
    }

    fn face_said(&self, fact: &FaceFact, zone: &Zone, points: &[DVec3]) -> String {
        let length = |v: f64| self.length(v);
        let whose = match fact.face.as_str() {
            "both" => "Both faces laid on each other are".to_owned(),
            one => format!("The {one}'s face is"),
        };
        let height = |p: &DVec3| zone.height(*p);
        let highest = points.iter().max_by(|a, b| height(a).total_cmp(&height(b)));
        let at = highest.map_or(String::new(), |p| {
            format!("; highest at ({:.0}, {:.0}) mm", p.x * 1e3, p.y * 1e3)
        });
        let mut said = format!(
            "{whose} {} out of flat over {} readings (least squares {}){at}.",
            length(zone.width),
            points.len(),
            length(fact.least_squares.unwrap_or(0.0))
        );
        let worst = fact
            .spans
            .iter()
            .filter(|s| s.readings > 0)
            .max_by(|a, b| a.hollow.max(a.crown).total_cmp(&b.hollow.max(b.crown)));
        if let Some(s) = worst {
            let (word, by) = if s.hollow >= s.crown {
                ("hollow", s.hollow)
            } else {
                ("crowned", s.crown)
            };
            said += &format!(
                " The worst span is from bolt {} to bolt {}, {} long: {word} by {}.",
                s.bolts[0],
                s.bolts[1],
                length(s.length),
                length(by)
            );
        }
        match &fact.skim {
            None => said += &format!(" That is within the {} asked.", length(fact.target)),
            Some(cut) => {
                let places: Vec<String> = cut
                    .places
                    .iter()
                    .take(3)
                    .map(|p| format!("{} at ({:.0}, {:.0}) mm", length(p[2]), p[0] * 1e3, p[1] * 1e3))
                    .collect();
                let more = match cut.places.len().saturating_sub(3) {
                    0 => String::new(),
                    n => format!(" and {n} more"),
                };
                said += &format!(
                    " To come to {}, lap off {}{more}; the least cut goes {} deep, one that cleans up all over {}.",
                    length(fact.target),
                    places.join(", "),
                    length(cut.depth),
                    length(cut.clean_up)
                );
            }
        }
        if let Some(disagree) = fact.disagree.filter(|d| *d > 5e-6) {
            said += &format!(
                " The straight-edge lines disagree by up to {} where they cross.",
                length(disagree)
            );
        }
        said
    }
}

/// The design was checked when it was read; a face that is lost since is a fault of the program.
fn lost(fault: FlatnessFault) -> Failure {
    Failure::computing(
        fault.to_string(),
        "this is a fault of the program; keep the design and report it",
    )
}
