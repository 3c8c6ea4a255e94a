//! `[feed]`: the suction line from the mouth to the pump, and its joint.

use ::feed::line::Run;
use ::feed::{Entry, Joint, Line, Piece, Pump, Screen, Seal, Supply, Weave};
use glam::DVec3;
use measure::Dimension::{Angle, Length, Pressure, Share, Temperature};
use pan::Mouth;

use crate::design::{Feed, OilUse};
use crate::section::{Bounds, Section};

/// No suction tube of an engine is wider [m]: a slip of units.
const WIDEST: Bounds = Bounds::above_to(0.0, 0.15);
/// Nor a run of it longer [m].
const LONGEST: Bounds = Bounds::above_to(0.0, 2.0);
/// How far bore and mouth of a bare tube may differ, as a part.
const SAME: f64 = 0.02;
/// What a tube may miss of the way from mouth to pump [m]: it is measured with a tape.
const TAPE: f64 = 3e-3;
/// Open shares that the laws of screens were measured for.
const OPEN: (f64, f64) = (0.05, 0.8);
/// Most pieces or corners of a tube.
const MOST: usize = 60;

/// Reads it. `floor` is the mouth's distance from what lies below it.
pub(crate) fn read(
    section: &Section,
    mouth: Option<&Mouth>,
    floor: Option<f64>,
    pump: (Option<f64>, Option<f64>),
    oil: Option<&OilUse>,
) -> Option<Feed> {
    let bore = section.quantity("bore", Length, WIDEST);
    let at = section.point3("pump");
    let roughness = section.quantity_or(
        "roughness",
        Length,
        Bounds::within(0.0, 1e-3),
        1.5e-6,
        "drawn tube, 1.5 µm as in handbooks (from memory); a rough casting has 0.25 mm",
    );
    let inlet = section.quantity_or(
        "inlet",
        Length,
        WIDEST,
        bore.unwrap_or(0.02),
        "as wide as the tube unless stated",
    );
    let entry = entry(section, mouth, bore);
    let screen = match section.below("screen") {
        None => Some(None),
        Some(inside) => {
            let screen = screen(&inside, mouth);
            inside.finish();
            screen.map(Some)
        }
    };
    let pieces = tube(section, mouth, at, bore, entry);
    let over = section.quantity_or(
        "crankcase",
        Pressure,
        Bounds::within(50e3, 150e3),
        101_325.0,
        "absolute, a crankcase that breathes at sea level; 0.85 bar at 1,500 m, less under a vacuum pump",
    );
    let least = section.quantity_or(
        "least_pressure",
        Pressure,
        Bounds::within(5e3, 145e3),
        70e3,
        "absolute; common practice, no single source: below it bubbles grow and dissolved air comes out",
    );
    let coldest = section.quantity_or(
        "coldest",
        Temperature,
        Bounds::within(233.15, 353.15),
        273.15,
        "oil on a cold morning; common practice, no source",
    );
    let relief_to_pan = section.choice(
        "relief",
        &[("inlet", false), ("pan", true)],
        Some((
            "inlet",
            "the draw from the pan is counted so everywhere: what the relief valve lets by goes round inside the pump",
        )),
    );
    let inside = section.below_or_empty("joint");
    let joint = joint(&inside, inlet);
    inside.finish();
    let (displacement, relief_flow) = pump;
    let (over, least) = (over?, least?);
    if least >= over {
        let what = format!(
            "the least pressure, {}, is not below that over the oil, {}",
            section.show(least, Pressure),
            section.show(over, Pressure)
        );
        let mend = "both are absolute: state the least pressure below the crankcase's".to_owned();
        section.fault("out-of-range", "least_pressure", what, mend);
        return None;
    }
    let (mouth, oil) = (mouth?, oil?);
    Some(Feed {
        supply: Supply {
            line: Line {
                mouth: mouth.diameter,
                rim: mouth.outside,
                floor: floor?,
                entry: entry?,
                screen: screen?,
                pieces: pieces?,
                roughness: roughness?,
                inlet: inlet?,
            },
            joint: joint?,
            oil: oil.spec.clone(),
            aeration: oil.aeration,
            pump: Pump {
                displacement: displacement?,
                relief_flow: relief_flow?,
                relief_to_pan: relief_to_pan?,
            },
            over,
            least,
        },
        way: at? - mouth.at,
        coldest: coldest?,
    })
}

/// How the oil gets from the mouth into the tube.
fn entry(section: &Section, mouth: Option<&Mouth>, bore: Option<f64>) -> Option<Entry> {
    #[derive(Clone, Copy, PartialEq)]
    enum Word {
        Bell,
        Cone,
        Box,
        Tube,
    }
    let words = [
        ("bell", Word::Bell),
        ("cone", Word::Cone),
        ("box", Word::Box),
        ("tube", Word::Tube),
    ];
    let same = match (mouth, bore) {
        (Some(mouth), Some(bore)) => (mouth.diameter / bore - 1.0).abs() <= SAME,
        _ => true,
    };
    let usual = ("tube", "the mouth is as wide as the tube");
    let word = section.choice("entry", &words, same.then_some(usual));
    let length = match word {
        Some(Word::Cone) => section.quantity("cone_length", Length, LONGEST).map(Some),
        _ => Some(None),
    };
    let radius = match word {
        Some(Word::Tube) => section.quantity_or(
            "edge_radius",
            Length,
            Bounds::within(0.0, 0.1),
            0.0,
            "the inner edge of a sawn tube is sharp",
        ),
        Some(Word::Bell) => section.quantity_or(
            "edge_radius",
            Length,
            WIDEST,
            mouth
                .zip(bore)
                .map_or(5e-3, |(m, b)| (0.5 * (m.diameter - b)).max(1e-4)),
            "a quarter round from the mouth's edge to the bore",
        ),
        _ => Some(0.0),
    };
    let (word, mouth, bore) = (word?, mouth?, bore?);
    let sizes = || {
        format!(
            "the mouth is {} wide and the tube's bore {}",
            section.show(mouth.diameter, Length),
            section.show(bore, Length)
        )
    };
    if word == Word::Tube && !same {
        let mend = "a bare tube's mouth is its bore: set pickup.diameter to it, or say entry = \"bell\", \"cone\" or \"box\"";
        section.fault("out-of-range", "entry", sizes(), mend.to_owned());
        return None;
    }
    if word != Word::Tube && mouth.diameter <= bore {
        let mend =
            "pickup.diameter is the wide end of a bell, cone or box; check it against feed.bore".to_owned();
        section.fault("out-of-range", "entry", sizes(), mend);
        return None;
    }
    let wall = 0.5 * (mouth.outside - mouth.diameter);
    Some(match word {
        Word::Tube => Entry::Tube {
            wall,
            radius: radius?,
        },
        Word::Bell => Entry::Bell { radius: radius? },
        Word::Cone => Entry::Cone {
            wall,
            length: length??,
        },
        Word::Box => Entry::Box,
    })
}

/// The screen over the mouth.
fn screen(section: &Section, mouth: Option<&Mouth>) -> Option<Screen> {
    let fine = Bounds::above_to(0.0, 0.03);
    let weave = match section.one_of(&["wire", "hole"], "wire = \"0.4 mm\" and opening = \"1.2 mm\"") {
        Some("wire") => {
            let wire = section.quantity("wire", Length, fine);
            let gap = section.quantity("opening", Length, fine);
            (|| {
                Some(Weave::Wires {
                    wire: wire?,
                    gap: gap?,
                })
            })()
        }
        Some(_) => {
            let hole = section.quantity("hole", Length, fine);
            let open = section.quantity("open", Share, Bounds::within(OPEN.0, OPEN.1));
            let thickness = section.quantity_or(
                "thickness",
                Length,
                fine,
                1e-3,
                "sheet of 1 mm; common practice, no source",
            );
            (|| {
                Some(Weave::Holes {
                    hole: hole?,
                    open: open?,
                    thickness: thickness?,
                })
            })()
        }
        None => None,
    };
    let area = section.quantity_or(
        "area",
        measure::Dimension::Area,
        Bounds::above_to(0.0, 0.1),
        mouth.map_or(1e-3, |m| 0.25 * std::f64::consts::PI * m.diameter * m.diameter),
        "a flat screen across the mouth",
    );
    let weave = weave?;
    let open = weave.open();
    if !(OPEN.0..=OPEN.1).contains(&open) {
        let what = format!("{:.0} % of the screen is open", 1e2 * open);
        let mend =
            "screens were measured from 5 % to 80 %: check wire and opening (the gap between two wires)";
        section.fault("out-of-range", "opening", what, mend.to_owned());
        return None;
    }
    Some(Screen {
        weave,
        area: area?,
        blocked: 0.0,
    })
}

/// The tube, by its pieces or by its corners.
fn tube(
    section: &Section,
    mouth: Option<&Mouth>,
    pump: Option<DVec3>,
    bore: Option<f64>,
    entry: Option<Entry>,
) -> Option<Vec<Piece>> {
    let example = "corners = [[\"0 mm\", \"0 mm\", \"-20 mm\"]] and bend_radius = \"30 mm\"";
    let taken = match entry {
        Some(Entry::Cone { length, .. }) => length,
        Some(Entry::Bell { radius }) => radius,
        _ => 0.0,
    };
    match section.one_of(&["corners", "tube"], example)? {
        "corners" => {
            let rows = section.rows("corners", [Length; 3]);
            let bent = rows.as_ref().is_none_or(|rows| !rows.is_empty());
            let radius = match bent {
                true => section.quantity("bend_radius", Length, LONGEST),
                false => Some(0.0),
            };
            let corners: Vec<DVec3> = rows?.into_iter().map(DVec3::from_array).collect();
            let (mouth, pump, bore, radius) = (mouth?, pump?, bore?, radius?);
            if bent && !roomy(section, "bend_radius", radius, bore) {
                return None;
            }
            let all = [vec![mouth.at], corners, vec![pump]].concat();
            by_corners(section, &all, taken, bore, radius)
        }
        _ => {
            let pieces: Vec<Option<Piece>> = section
                .several("tube")
                .into_iter()
                .map(|inside| {
                    let piece = piece(&inside, bore);
                    inside.finish();
                    piece
                })
                .collect();
            let pieces: Vec<Piece> = pieces.into_iter().collect::<Option<_>>()?;
            if pieces.is_empty() || pieces.len() > MOST {
                let what = format!("the tube has {} pieces", pieces.len());
                let mend = format!("list 1 to {MOST}, such as {{ straight = \"120 mm\" }}");
                section.fault("out-of-range", "tube", what, mend);
                return None;
            }
            let long = taken + pieces.iter().map(Piece::length).sum::<f64>();
            let way = (pump? - mouth?.at).length();
            if long < way - TAPE {
                let what = format!(
                    "the tube is {} long in all and cannot reach from the mouth to the pump, {} away",
                    section.show(long, Length),
                    section.show(way, Length)
                );
                let mend = "add the pieces that are missing, or check feed.pump and pickup.mouth".to_owned();
                section.fault("feed-tube", "tube", what, mend);
                return None;
            }
            Some(pieces)
        }
    }
}

fn piece(section: &Section, line: Option<f64>) -> Option<Piece> {
    let way = section.one_of(&["straight", "bend"], "straight = \"120 mm\"");
    let bore = section.quantity_or(
        "bore",
        Length,
        WIDEST,
        line.unwrap_or(0.02),
        "the bore of the line unless stated",
    );
    let run = match way? {
        "straight" => Run::Straight(section.quantity("straight", Length, LONGEST)?),
        _ => {
            let angle = section.quantity("bend", Angle, Bounds::above_to(0.0, std::f64::consts::PI));
            let radius = section.quantity("radius", Length, LONGEST);
            if !roomy(section, "radius", radius?, bore?) {
                return None;
            }
            Run::Bend {
                angle: angle?,
                radius: radius?,
            }
        }
    };
    Some(Piece { bore: bore?, run })
}

/// A bend's middle line has half a bore for its radius at least.
fn roomy(section: &Section, key: &str, radius: f64, bore: f64) -> bool {
    if radius >= 0.5 * bore {
        return true;
    }
    let what = format!(
        "a bend of {} is tighter than the tube of {} can be bent",
        section.show(radius, Length),
        section.show(bore, Length)
    );
    let mend =
        "give the radius of the tube's middle line: half a bore for a mitre, 1 to 2 bores as bent".to_owned();
    section.fault("feed-tube", key, what, mend);
    false
}

/// Straights and bends along corners, mouth first and pump last; `taken` is what bell or cone take of the first leg.
fn by_corners(section: &Section, at: &[DVec3], taken: f64, bore: f64, radius: f64) -> Option<Vec<Piece>> {
    let fault = |what: String, mend: &str| {
        section.fault("feed-tube", "corners", what, mend.to_owned());
    };
    if at.len() > MOST {
        fault(
            format!("the tube has {} corners", at.len() - 2),
            "list at most 58",
        );
        return None;
    }
    let legs: Vec<DVec3> = at.windows(2).map(|w| w[1] - w[0]).collect();
    if legs.iter().any(|leg| leg.length() < 1e-6) {
        let mend = "list the corners between mouth and pump only; the ends are pickup.mouth and feed.pump";
        fault("two corners of the tube are one place".to_owned(), mend);
        return None;
    }
    let angles: Vec<f64> = legs.windows(2).map(|w| w[0].angle_between(w[1])).collect();
    // What a bend takes of the legs on either side.
    let tangent = |corner: Option<&f64>| corner.map_or(0.0, |angle| radius * (0.5 * angle).tan());
    let mut pieces = Vec::new();
    for (i, leg) in legs.iter().enumerate() {
        let before = if i == 0 { taken } else { tangent(angles.get(i - 1)) };
        let straight = leg.length() - before - tangent(angles.get(i));
        if straight < -1e-9 {
            let what = format!(
                "the leg from {} to {} of the tube is {} too short for its bends",
                section.show_point(at[i]),
                section.show_point(at[i + 1]),
                section.show(-straight, Length)
            );
            fault(what, "take a smaller bend_radius, or move the corners apart");
            return None;
        }
        if straight > 1e-9 {
            pieces.push(Piece {
                bore,
                run: Run::Straight(straight),
            });
        }
        if let Some(&angle) = angles.get(i).filter(|angle| **angle > 1e-6) {
            pieces.push(Piece {
                bore,
                run: Run::Bend { angle, radius },
            });
        }
    }
    Some(pieces)
}

/// The joint to the pump.
fn joint(section: &Section, inlet: Option<f64>) -> Option<Joint> {
    #[derive(Clone, Copy)]
    enum Word {
        Metal,
        Gasket,
        Ring,
    }
    let usual = "common practice, no source";
    let word = section.choice(
        "seal",
        &[
            ("metal", Word::Metal),
            ("gasket", Word::Gasket),
            ("o-ring", Word::Ring),
        ],
        Some(("metal", "the worst of the three, unless stated")),
    );
    let flatness = section.quantity_or(
        "flatness",
        Length,
        Bounds::within(0.0, 2e-3),
        0.05e-3,
        "what a welded flange is often left at; common practice, no source: lay it on a surface plate and measure",
    );
    let land = section.quantity_or("land", Length, Bounds::above_to(0.0, 0.1), 6e-3, usual);
    let pinhole = section.quantity_or(
        "pinhole",
        Length,
        Bounds::within(0.0, 3e-3),
        0.0,
        "a sound weld; pressure-test the pickup in a bucket to know",
    );
    let wall = section.quantity_or("wall", Length, Bounds::above_to(0.0, 0.02), 1.5e-3, usual);
    let size = Bounds::above_to(0.0, 0.02);
    let seal = match word {
        None => None,
        Some(Word::Metal) => Some(Seal::Metal),
        Some(Word::Gasket) => {
            let thickness = section.quantity("thickness", Length, size);
            thickness.map(|thickness| Seal::Gasket { thickness })
        }
        Some(Word::Ring) => {
            let (cord, groove) = (
                section.quantity("cord", Length, size),
                section.quantity("groove", Length, size),
            );
            let (cord, groove) = (cord?, groove?);
            if groove >= cord {
                let what = format!(
                    "the groove of {} is as deep as the cord of {} is thick: nothing squeezes the ring",
                    section.show(groove, Length),
                    section.show(cord, Length)
                );
                let mend =
                    "a face seal wants 15 to 30 % of squeeze: a groove of about 0.75 of the cord".to_owned();
                section.fault("out-of-range", "groove", what, mend);
                return None;
            }
            Some(Seal::Ring { cord, groove })
        }
    };
    Some(Joint {
        bore: inlet?,
        land: land?,
        flatness: flatness?,
        seal: seal?,
        pinhole: pinhole?,
        wall: wall?,
    })
}
