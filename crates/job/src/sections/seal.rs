//! `[seal]` and what stands below it, but the measured faces.

use clearance::outside::{Flange, Outside};
use glam::DVec2;
use measure::Dimension::{Length, Share, Stress, Temperature, Torque};
use seal::bolts::class::CLASSES;
use seal::bolts::friction::{LUBRICATIONS, METHODS};
use seal::bolts::reach::Hole;
use seal::bolts::thread::THREADS;
use seal::bolts::{Friction, Head};
use seal::joint::{USUAL_BRIDGED, USUAL_MODULUS, USUAL_SQUEEZE};
use seal::materials::{METALS, Metal, SHEETS};

use super::outline_file::{self, Files};
use super::shapes;
use crate::sealing::{BoltSet, JointKind};
use crate::section::{Bounds, Section, Shape};
use crate::tree::Value;

/// Nothing on a flange is larger [m]: a slip of units.
const MOST: Bounds = Bounds::above_to(0.0, 0.5);
const PRACTICE: &str = "common practice, no source";

pub(crate) fn target(section: &Section) -> Option<f64> {
    let reason = "common practice, no source: 0.05 mm in 100 mm, 0.1 mm in all";
    section.quantity_or("target", Length, Bounds::above_to(0.0, 5e-3), 0.1e-3, reason)
}

/// Assembly, coldest, hottest [K].
pub(crate) fn temperatures(section: &Section) -> Option<[f64; 3]> {
    let range = Bounds::within(193.15, 573.15);
    let one =
        |key, celsius: f64, reason| section.quantity_or(key, Temperature, range, celsius + 273.15, reason);
    let assembly = one("assembly", 20.0, "a shop");
    let cold = one("cold", -10.0, "a cold start in winter");
    let hot = one(
        "hot",
        130.0,
        "oil at the end of a hard session; common practice, no source",
    );
    let (assembly, cold, hot) = (assembly?, cold?, hot?);
    if !(cold <= assembly && assembly <= hot) {
        let what = "the temperatures do not rise from cold over assembly to hot".to_owned();
        section.fault(
            "out-of-range",
            "cold",
            what,
            "state cold below assembly and hot above it".to_owned(),
        );
        return None;
    }
    Some([assembly, cold, hot])
}

/// The flange as its section states it.
pub(crate) struct Rail {
    pub plan: Flange,
    pub metal: Metal,
    pub wall: Option<[f64; 2]>,
}

pub(crate) fn flange(section: &Section, files: &Files, outside: Option<&Outside>) -> Option<Rail> {
    let metal = metal(section);
    let (usual, reason) = match outside {
        Some(o) => (o.flange.thickness, "as [outside] has it"),
        None => (8e-3, PRACTICE),
    };
    let thickness = section.quantity_or("thickness", Length, MOST, usual, reason);
    let outline = match section.has("outline") {
        false => Some(None),
        true => match section.node("outline").map(|node| &node.value) {
            Some(Value::Table(_)) => outline_file::read(section, "outline", files).map(Some),
            _ => shapes::outline(section, "outline").map(Some),
        },
    };
    let (own, from_outside) = match outside {
        Some(o) if o.flange.outline.is_none() => (o.flange.width, "as [outside] has it"),
        _ => (20e-3, PRACTICE),
    };
    let inherited = outside.and_then(|o| o.flange.outline.clone());
    let width = if section.has("outline") || (inherited.is_some() && !section.has("width")) {
        section.optional_quantity("width", Length, MOST).or(Some(0.0))
    } else {
        section.quantity_or("width", Length, MOST, own, from_outside)
    };
    if section.has("outline") && section.has("width") {
        let what = "the flange has an outline and a width".to_owned();
        section.fault("stated-twice", "width", what, "keep one of them".to_owned());
        return None;
    }
    let wall = match section.has("wall_height") {
        false => Some(None),
        true => {
            let height = section.quantity("wall_height", Length, MOST);
            let thick = section.quantity("wall_thickness", Length, Bounds::above_to(0.0, 0.05));
            height.zip(thick).map(|(h, t)| Some([h, t]))
        }
    };
    let stated_width = section.has("width");
    Some(Rail {
        plan: Flange {
            thickness: thickness?,
            width: width?,
            outline: outline?.or(inherited.filter(|_| !stated_width)),
        },
        metal: metal?,
        wall: wall?,
    })
}

fn metal(section: &Section) -> Option<Metal> {
    let words: Vec<(&'static str, Metal)> = METALS.iter().map(|m| (m.name, *m)).collect();
    let metal = section.choice("metal", &words, None);
    let strength = section.optional_quantity("strength", Stress, Bounds::within(20e6, 2.5e9));
    metal.map(|m| Metal {
        strength: strength.unwrap_or(m.strength),
        ..m
    })
}

/// The block as its section states it.
pub(crate) struct Block {
    pub metal: Metal,
    pub hole: Option<Hole>,
    /// Metal behind the face that the joint squeezes [m].
    pub backing: Option<f64>,
}

/// The block's metal and its holes.
pub(crate) fn block(section: &Section) -> Option<Block> {
    let metal = metal(section);
    let backing = section.optional_quantity("backing", Length, Bounds::within(1e-3, 0.5));
    if !section.has("backing") {
        section.default(
            "backing",
            "stiff".to_owned(),
            "common practice, no source: the block is stiff against its joint",
        );
    }
    let depth = section.optional_quantity("thread_depth", Length, Bounds::above_to(0.0, 0.2));
    let recess = section.quantity_or(
        "recess",
        Length,
        Bounds::within(0.0, 0.05),
        0.0,
        "thread from the face on unless a countersink or counterbore is stated",
    );
    let blind = section.truth_or(
        "blind",
        true,
        "holes of a block are blind unless stated: the safe side",
    );
    if depth.is_none() && !section.has("thread_depth") {
        section.default(
            "thread_depth",
            "not known".to_owned(),
            "whether a bolt bottoms cannot be told without it",
        );
    }
    let (recess, blind) = (recess?, blind?);
    if let Some(depth) = depth
        && depth <= recess
    {
        let what = format!("the recess of {} leaves no thread", section.show(recess, Length));
        section.fault(
            "out-of-range",
            "recess",
            what,
            "count the thread's depth from the face".to_owned(),
        );
        return None;
    }
    Some(Block {
        metal: metal?,
        hole: depth.map(|thread_depth| Hole {
            thread_depth,
            recess,
            blind,
        }),
        backing,
    })
}

/// What seals.
pub(crate) fn joint(section: &Section) -> Option<JointKind> {
    #[derive(Clone, Copy)]
    enum Word {
        Sheet,
        Sealant,
        Cord,
        Moulded,
    }
    let words = [
        ("sheet", Word::Sheet),
        ("sealant", Word::Sealant),
        ("o-ring", Word::Cord),
        ("moulded", Word::Moulded),
    ];
    let bridges =
        |usual, reason| section.quantity_or("bridges", Length, Bounds::above_to(0.0, 5e-3), usual, reason);
    match section.choice("kind", &words, None)? {
        Word::Sheet => {
            let sheets: Vec<_> = SHEETS.iter().map(|s| (s.name, *s)).collect();
            let sheet = section.choice("material", &sheets, None);
            let thickness = section.quantity("thickness", Length, Bounds::above_to(0.0, 20e-3));
            let width = section.optional_quantity("width", Length, MOST);
            let usual = sheet.map_or(3e6, |s| s.working[0]);
            let reason = "the low end of the sheet's working pressures";
            let need = section.quantity_or("need", Stress, Bounds::above_to(0.0, 200e6), usual, reason);
            Some(JointKind::Sheet {
                sheet: sheet?,
                thickness: thickness?,
                width,
                need: need?,
            })
        }
        Word::Sealant => bridges(
            USUAL_BRIDGED,
            "common practice, no source: set sealant stays tight over a tenth",
        )
        .map(|bridges| JointKind::Sealant { bridges }),
        Word::Cord | Word::Moulded => {
            let height = section.quantity("height", Length, Bounds::above_to(0.0, 20e-3));
            let groove = section.quantity("groove_depth", Length, Bounds::above_to(0.0, 20e-3));
            let least = section.quantity_or(
                "least_squeeze",
                Share,
                Bounds::above_to(0.0, 0.9),
                USUAL_SQUEEZE,
                PRACTICE,
            );
            let modulus = section.quantity_or(
                "modulus",
                Stress,
                Bounds::within(0.2e6, 50e6),
                USUAL_MODULUS,
                "rubber of 60 to 70 Shore A; from memory",
            );
            let bridges = bridges(
                USUAL_BRIDGED,
                "common practice, no source: wider, and the cord is pushed out",
            );
            let (height, groove) = (height?, groove?);
            if groove >= height {
                let what = format!(
                    "the groove is {} deep and the cord {} high: nothing is squeezed",
                    section.show(groove, Length),
                    section.show(height, Length)
                );
                section.fault(
                    "out-of-range",
                    "groove_depth",
                    what,
                    "a groove is shallower than its cord".to_owned(),
                );
                return None;
            }
            Some(JointKind::Bead {
                height,
                squeeze: height - groove,
                least: least?,
                modulus: modulus?,
                bridges: bridges?,
            })
        }
    }
}

/// The bolts; the hole under them is the block's and filled in later.
pub(crate) fn bolts(section: &Section, outside: Option<&[DVec2]>) -> Option<BoltSet> {
    let threads: Vec<_> = THREADS.iter().map(|t| (t.name, *t)).collect();
    let thread = section.choice("thread", &threads, None);
    let classes: Vec<_> = CLASSES.iter().map(|c| (c.name, *c)).collect();
    let reason = "the usual class of hexagon and cap screws: read it off the head";
    let class = section.choice("class", &classes, Some(("8.8", reason)));
    let length = section.quantity("length", Length, Bounds::above_to(0.0, 0.3));
    let washer = section.quantity_or(
        "washer",
        Length,
        Bounds::within(0.0, 0.02),
        0.0,
        "no washer unless stated",
    );
    let usual = thread.as_ref().map(Head::usual);
    let (bears, hole) = usual.map_or((8.88e-3, 6.6e-3), |h| (h.bears, h.hole));
    let plain = "a plain hexagon head; state the flange or washer that bears";
    let bears = section.quantity_or("head_diameter", Length, MOST, bears, plain);
    let medium = "a medium clearance hole (ISO 273)";
    let hole = section.quantity_or("hole_diameter", Length, MOST, hole, medium);
    let engagement = section.optional_quantity("engagement", Length, Bounds::above_to(0.0, 0.2));
    let lubrications: Vec<_> = LUBRICATIONS.iter().map(|l| (l.name, *l)).collect();
    let reason = "not stated: friction from 0.08 to 0.24 is counted with, which makes every range wide";
    let lubrication = section.choice("lubrication", &lubrications, Some(("unknown", reason)));
    let stated = match section.has("friction") {
        true => friction(section).map(Some),
        false => Some(None),
    };
    let methods: Vec<_> = METHODS.iter().map(|m| (m.name, *m)).collect();
    let method = section.choice("tightening", &methods, Some(("torque wrench", "the shop's way")));
    let torque = section.optional_quantity("torque", Torque, Bounds::above_to(0.0, 1000.0));
    let at = match section.has("at") {
        true => places(section),
        false => match outside {
            Some(bolts) if !bolts.is_empty() => Some(bolts.to_vec()),
            _ => section.rows("at", [Length; 2]).map(|_| Vec::new()),
        },
    };
    let (bears, hole) = (bears?, hole?);
    if bears <= hole {
        let what = format!(
            "the head bears on {} over a hole of {}",
            section.show(bears, Length),
            section.show(hole, Length)
        );
        section.fault(
            "out-of-range",
            "head_diameter",
            what,
            "a head is wider than its hole".to_owned(),
        );
        return None;
    }
    let lubrication = lubrication?;
    let stated = stated?;
    if stated.is_none() {
        let f = lubrication.friction;
        section.default(
            "friction",
            format!("{:.2} to {:.2}", f.low, f.high),
            "not measured: the range of the lubrication",
        );
    }
    Some(BoltSet {
        at: at?,
        thread: thread?,
        class: class?,
        head: Head { bears, hole },
        length: length?,
        washer: washer?,
        hole: None,
        engagement,
        lubrication,
        friction: stated.unwrap_or(lubrication.friction),
        friction_stated: stated.is_some(),
        method: method?,
        torque,
        place: section.place.clone(),
    })
}

fn friction(section: &Section) -> Option<Friction> {
    section.shaped("friction", Shape::Numbers);
    let node = section.node("friction")?;
    let numbers: Vec<f64> = section
        .list("friction", node)?
        .iter()
        .map(|n| section.number_in("friction", n))
        .collect::<Option<_>>()?;
    if let [low, high] = numbers[..]
        && 0.02 <= low
        && low <= high
        && high <= 0.6
    {
        section.note("friction", node, format!("{low} to {high}"));
        return Some(Friction { low, high });
    }
    let what = format!("{} is no range of friction", node.raw);
    let mend = "write the least and the most, between 0.02 and 0.6, such as [0.10, 0.16]".to_owned();
    section.fault("out-of-range", "friction", what, mend);
    None
}

/// Most bolts of a flange.
const MOST_BOLTS: usize = 200;

fn places(section: &Section) -> Option<Vec<DVec2>> {
    let at: Vec<DVec2> = section
        .rows("at", [Length; 2])?
        .into_iter()
        .map(DVec2::from_array)
        .collect();
    if at.is_empty() || at.len() > MOST_BOLTS {
        let what = format!("{} bolts are stated", at.len());
        section.fault(
            "out-of-range",
            "at",
            what,
            format!("from 1 to {MOST_BOLTS} are read here"),
        );
        return None;
    }
    Some(at)
}

/// Tells each bolt that stands off the flange or on another bolt.
pub(crate) fn on_flange(section: &Section, at: &[DVec2], outer: &[DVec2], inner: &[DVec2]) {
    let place = |p: DVec2| format!("({:.1}, {:.1}) mm", p.x * 1e3, p.y * 1e3);
    for (i, p) in at.iter().enumerate() {
        let where_off = if !holds(outer, *p) {
            "outside the flange's outer edge"
        } else if holds(inner, *p) {
            "inside the flange's inner edge"
        } else if let Some(j) = at[..i].iter().position(|q| q.distance(*p) < 1e-3) {
            let what = format!("bolts {} and {} stand in one place, {}", j + 1, i + 1, place(*p));
            section.fault("bolt", "at", what, "take one of them out".to_owned());
            continue;
        } else {
            continue;
        };
        let what = format!("bolt {} at {} stands {where_off}", i + 1, place(*p));
        let mend = "mend its place (x to the front, y to the left, from the origin on the flange), or give the flange its \
                    outline with the ears"
            .to_owned();
        section.fault("bolt", "at", what, mend);
    }
}

/// Whether a polygon holds a point: crossings of a ray.
pub(crate) fn holds(polygon: &[DVec2], p: DVec2) -> bool {
    let n = polygon.len();
    let crosses = |i: &usize| {
        let (a, b) = (polygon[*i], polygon[(i + 1) % n]);
        (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x)
    };
    (0..n).filter(crosses).count() % 2 == 1
}

/// Whether the bolt reaches through what it clamps, and is as long as its stated engagement asks.
pub(crate) fn long_enough(section: &Section, bolts: &BoltSet, stack: f64) -> bool {
    let length = |v: f64| section.show(v, Length);
    let left = bolts.length - stack;
    if left <= 0.0 {
        let what = format!(
            "the bolts are {} long and do not reach through the {} of flange, washer and gasket",
            length(bolts.length),
            length(stack)
        );
        section.fault("bolt-length", "length", what, "take longer bolts".to_owned());
        return false;
    }
    if bolts.engagement.is_some() && bolts.hole.is_some() {
        let what =
            "the engagement is stated, and the depth of the block's thread from which it follows".to_owned();
        section.fault(
            "stated-twice",
            "engagement",
            what,
            "keep one of them; the depth also tells whether a bolt bottoms".to_owned(),
        );
        return false;
    }
    if let Some(engaged) = bolts.engagement
        && engaged > left + 1e-9
    {
        let what = format!(
            "an engagement of {} is more than the {} that the bolts stand out behind the flange",
            length(engaged),
            length(left)
        );
        let mend = format!(
            "take bolts of {} or more, or state the true engagement",
            length(stack + engaged)
        );
        section.fault("bolt-length", "engagement", what, mend);
        return false;
    }
    true
}
