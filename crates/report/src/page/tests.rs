//! Escaping, and the policy in the head.

use super::TOKENS;
use super::html::{escape, script_safe_json};
use std::collections::HashMap;

#[test]
fn names_from_a_design_are_text_and_never_markup() {
    assert_eq!(
        escape("<img src=x onerror=\"a('b')\">&"),
        "&lt;img src=x onerror=&quot;a(&#39;b&#39;)&quot;&gt;&amp;"
    );
    assert_eq!(escape("a\u{0}b\u{1b}"), "a\u{fffd}b\u{fffd}");
}

#[test]
fn data_cannot_end_its_own_script() {
    let json = script_safe_json("{\"name\":\"</script><script>alert(1)//<!--\"}");
    assert!(!json.contains('<'), "got {json}");
    let back: serde_json::Value = serde_json::from_str(&json).expect("still JSON");
    assert_eq!(back["name"], "</script><script>alert(1)//<!--");
}

#[test]
fn a_design_with_a_hostile_name_cannot_write_markup_or_script() {
    use crate::findings::*;
    let evil = "</title></script><img src=x onerror=alert(1)>";
    let findings = Findings {
        format: FORMAT.into(),
        program: Program {
            name: "Sumpwright".into(),
            version: evil.into(),
        },
        depth: Depth::Slosh,
        design: DesignFacts {
            name: evil.into(),
            file: evil.into(),
            bases: vec![evil.into()],
            notes: evil.into(),
            inputs: vec![Input {
                key: evil.into(),
                text: evil.into(),
                shown: evil.into(),
                origin: Origin::Default { reason: evil.into() },
            }],
        },
        oil: OilFacts {
            said: evil.into(),
            temperature: 380.0,
            density: 820.0,
            viscosity: 1e-5,
            aeration: 0.1,
        },
        pan: PanFacts {
            capacity: 5e-3,
            fill: 4e-3,
            level_off: -0.05,
            level_running: None,
            floor: -0.15,
            mouth_to_floor: 0.01,
            mouth: [0.0; 3],
            mouth_diameter: 0.03,
            mouth_cover_off: 0.05,
            crank_gap: None,
            cell: 0.005,
            cell_why: evil.into(),
            cells: 1000,
            heights: vec![],
            spaces: vec![SpaceFacts {
                name: evil.into(),
                volume: 1e-3,
                centre: [0.0; 3],
                has_mouth: true,
            }],
            plates: vec![evil.into()],
            doors: vec![],
            warnings: vec![evil.into()],
        },
        drive: DriveFacts {
            name: evil.into(),
            file: Some(evil.into()),
            said: vec![evil.into()],
            laps: vec![],
            trace: DriveTrace::default(),
        },
        limits: LimitFacts {
            least_cover: 0.01,
            longest_gulp: 0.05,
        },
        still: StillFacts {
            volume: 3e-3,
            volume_why: evil.into(),
            long_corner: None,
            first_instant: None,
            dipstick: vec![],
        },
        moments: vec![],
        verdict: Verdict {
            word: Word::NotKnown,
            sentence: evil.into(),
            reason: evil.into(),
            least_cover: Measured {
                value: 0.01,
                band: None,
            },
            least_cover_at: Instant {
                time: 1.0,
                place: evil.into(),
            },
            air_per_lap: Measured {
                value: 0.0,
                band: None,
            },
            longest_gulp: 0.0,
            longest_gulp_at: None,
            first_air: None,
            most_at_crank: 0.0,
            most_at_crank_at: None,
            cures: vec![Cure {
                said: evil.into(),
                cost: evil.into(),
                computed: false,
            }],
        },
        aloft: vec![],
        lowest_fill: None,
        clearance: None,
        feed: None,
        seal: None,
        cards: None,
        assumptions: vec![Remark {
            said: evil.into(),
            effect: evil.into(),
        }],
        not_known: vec![],
        ledger: LedgerFacts {
            fill: 4e-3,
            worst_error: 0.0,
            steps: 1,
        },
        method: vec![MethodStep {
            step: evil.into(),
            said: evil.into(),
            source: evil.into(),
        }],
        timings: vec![],
    };
    let html = super::assemble(
        &findings,
        &crate::ReplayBundle::empty(),
        measure::UnitOrder::InchFirst,
        "",
        "",
    )
    .expect("the numbers are sound");
    assert!(!html.contains("<img"), "a name became markup");
    assert_eq!(
        html.matches("<script").count(),
        0,
        "without a replay there is no script at all"
    );
    assert!(html.contains("default-src 'none'"), "the policy is missing");
    assert!(html.contains("&lt;img src=x"), "the name is not shown as text");
}

/// Colours of the light, dark and print block of tokens.css, in that order.
fn tokens() -> Vec<HashMap<String, [f64; 3]>> {
    let blocks = TOKENS.split(":root {").skip(1);
    blocks
        .map(|block| {
            let lines = block.split('}').next().unwrap_or("").split(';');
            lines
                .filter_map(|line| line.trim().strip_prefix("--")?.split_once(": #"))
                .map(colour)
                .collect()
        })
        .collect()
}

fn colour((name, hex): (&str, &str)) -> (String, [f64; 3]) {
    let part = |i: usize| f64::from(u8::from_str_radix(&hex[i..i + 2], 16).expect("two hex digits")) / 255.0;
    (name.to_owned(), [part(0), part(2), part(4)])
}

/// Contrast ratio. Source: WCAG 2.2, definitions of contrast ratio and relative luminance (W3C, 2023).
fn contrast(a: [f64; 3], b: [f64; 3]) -> f64 {
    let linear = |c: f64| {
        if c <= 0.04045 {
            c / 12.92
        } else {
            ((c + 0.055) / 1.055).powf(2.4)
        }
    };
    let light = |c: [f64; 3]| 0.2126 * linear(c[0]) + 0.7152 * linear(c[1]) + 0.0722 * linear(c[2]);
    let (a, b) = (light(a), light(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// WCAG 2.2, 1.4.3: words 4.5 to 1; 1.4.11: lines that carry meaning 3 to 1.
#[test]
fn words_and_lines_stand_out_from_the_ground_in_light_dark_and_print() {
    let blocks = tokens();
    assert_eq!(blocks.len(), 3, "light, dark and print");
    for (block, name) in blocks.iter().zip(["light", "dark", "print"]) {
        for ink in ["main", "quiet", "oiledge", "way", "bare", "metal"] {
            let ratio = contrast(block[ink], block["ground"]);
            assert!(ratio >= 4.5, "{name}: --{ink} has {ratio:.2} to 1");
        }
        let edge = contrast(block["oiledge"], block["oil"]);
        assert!(
            name == "dark" || edge >= 2.0,
            "{name}: the edge of the oil has {edge:.2} to 1 against it"
        );
    }
}

#[test]
fn a_drawing_that_stands_alone_has_the_light_colours_of_the_page() {
    let svg = crate::drawing::svg::file(&crate::drawing::Drawing::new("t", 10.0, 10.0, "t"));
    let light = TOKENS.split('}').next().expect("the light block");
    for ink in [
        "main", "quiet", "faint", "metal", "oil", "oiledge", "way", "bare", "ground",
    ] {
        let (_, after) = light
            .split_once(&format!("--{ink}: "))
            .expect("the colour is there");
        let hex = &after[..7];
        assert!(
            svg.contains(&format!(".f-{ink}{{fill:{hex}}}")),
            "--{ink} is {hex} on the page only"
        );
    }
}
