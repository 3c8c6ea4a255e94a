//! The page as a whole, on made-up findings.

mod made;

use measure::UnitOrder;
use report::page::has_bundle;
use report::{JsonFault, PageFault, page, to_json};
use sumpwright_report as report;

/// Set `SUMPWRIGHT_PAGE=path.html` to keep the page and look at it.
#[test]
fn the_page_is_whole_small_and_closed_to_the_world() {
    let (findings, bundle) = made::findings();
    let made = page(&findings, &bundle, UnitOrder::MetricFirst);
    if !has_bundle() {
        eprintln!("built without web/dist: only the refusal is tested; run `cargo xtask setup` for the rest");
        let fault = made.expect_err("without the replay there is no page");
        assert_eq!(fault, PageFault::NoBundle);
        assert!(fault.to_string().contains("cargo xtask setup"), "{fault}");
        return;
    }
    let html = made.expect("the findings are sound");
    if let Ok(path) = std::env::var("SUMPWRIGHT_PAGE") {
        std::fs::write(&path, &html).expect("the page can be kept");
    }
    assert!(html.len() < 2_000_000, "the page has {} bytes", html.len());
    for outside in [
        "src=\"http",
        "href=\"http",
        "url(http",
        "@import",
        "fetch(\"http",
        "<link",
        "<iframe",
    ] {
        assert!(!html.contains(outside), "found {outside:?}");
    }
    let inches = page(&findings, &bundle, UnitOrder::InchFirst).expect("the findings are sound");
    assert!(
        inches.contains("oil over the mouth, in") && inches.contains("4.54 qt (4.30 L)"),
        "inches first, everywhere"
    );
    for due in [
        "id=\"verdict\"",
        "id=\"lap-w\"",
        "1. long left",
        "pickup.mouth",
        "first.toml:41",
        "Hot oil burns",
        "not a certificate",
        "id=\"feed\"",
        "inlet-w-t",
        "losses-n-t",
        "Air in at the joint",
    ] {
        let due = due.replace("id=\"lap-w\"", "lap-w-t");
        assert!(html.contains(&due), "missing {due:?}");
    }
}

#[test]
fn json_holds_the_findings_and_refuses_a_number_that_is_none() {
    let (mut findings, _) = made::findings();
    let json = to_json(&findings).expect("the findings are sound");
    let back: report::Findings = serde_json::from_str(&json).expect("it reads back");
    assert_eq!(back.verdict, findings.verdict);
    assert_eq!(back.moments[0].history, findings.moments[0].history);

    findings.moments[1].history.cover[17] = f64::NAN;
    let fault = to_json(&findings).expect_err("NaN must be loud");
    assert_eq!(
        fault,
        JsonFault::NotANumber {
            path: "moments[1].history.cover[17]".into()
        }
    );
    let refused = page(&findings, &report::ReplayBundle::empty(), UnitOrder::InchFirst);
    assert!(refused.is_err(), "a page must not be written either");
}

#[test]
fn timings_are_left_out_of_what_must_be_reproducible() {
    let (findings, _) = made::findings();
    let mut slower = findings.clone();
    slower.timings[0].seconds = 99.0;
    assert_ne!(findings, slower);
    assert_eq!(findings.reproducible(), slower.reproducible());
    assert!(
        !to_json(&findings.reproducible())
            .expect("sound")
            .contains("timings")
    );
}

/// Every key of the JSON stands in the table that users read.
#[test]
fn every_field_is_documented_in_results_md() {
    fn keys(value: &serde_json::Value, found: &mut std::collections::BTreeSet<String>) {
        match value {
            serde_json::Value::Object(map) => {
                for (key, inner) in map {
                    found.insert(key.clone());
                    keys(inner, found);
                }
            }
            serde_json::Value::Array(items) => items.iter().for_each(|item| keys(item, found)),
            _ => {}
        }
    }
    let (findings, _) = made::findings();
    let json = to_json(&findings).expect("the findings are sound");
    let mut found = std::collections::BTreeSet::new();
    keys(&serde_json::from_str(&json).expect("it is JSON"), &mut found);
    let documented = include_str!("../../../docs/results.md");
    let missing: Vec<_> = found
        .iter()
        .filter(|k| !documented.contains(&format!("`{k}`")) && !documented.contains(&format!("\"{k}\"")))
        .collect();
    assert!(missing.is_empty(), "docs/results.md lacks {missing:?}");
}

/// Worst wrong answer in a picture: left and right swapped. Oil on the left only has to be drawn on the left.
#[test]
fn oil_on_the_left_is_drawn_on_the_left_seen_from_the_rear_and_above_seen_from_above() {
    use report::section::{View, through_mouth};
    let pan = made::pan();
    let lattice = made::lattice(&pan, 0.01);
    let [nx, ny, _] = lattice.n;
    let left = |c: usize| lattice.open_volume[c] > 0.0 && c / nx % ny >= ny / 2;
    let fill: Vec<u8> = (0..lattice.cells())
        .map(|c| if left(c) { 255 } else { 0 })
        .collect();
    let gravity = glam::DVec3::new(0.0, 5.0, -9.8);
    let cuts = through_mouth(&pan, &lattice, &fill, &[0.0, 0.0], gravity).expect("one fill a cell");
    for (view, axis, sign) in [(View::Across, 0, -1.0), (View::Plan, 1, 1.0)] {
        let cut = cuts.iter().find(|c| c.view == view).expect("the view is there");
        let oil = &cut.oil;
        let places = (0..oil.fill.len()).filter(|&i| oil.fill[i] > 0).map(|i| {
            let at = [i % oil.n[0], i / oil.n[0]][axis];
            oil.origin[axis] + (at as f64 + 0.5) * oil.cell
        });
        let (mut count, mut wrong) = (0, 0);
        for at in places {
            count += 1;
            wrong += usize::from(at * sign < 0.0);
        }
        assert!(
            count > 50 && wrong == 0,
            "{view:?}: {wrong} of {count} cells on the wrong side"
        );
        assert!(
            cut.down[axis] * sign > 0.0,
            "{view:?}: the pull points to {:?}",
            cut.down
        );
    }
    // The pickup stands at y = 0 and the walls at x = −0.11 and 0: both are met by the cut along the crank.
    let along = cuts
        .iter()
        .find(|c| c.view == View::Along)
        .expect("the view is there");
    let mut walls: Vec<_> = along.plates.iter().map(|p| p.from[0]).collect();
    walls.sort_by(f64::total_cmp);
    walls.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    assert!(
        walls.len() == 2 && (walls[0] + 0.11).abs() < 1e-9 && walls[1].abs() < 1e-9,
        "{walls:?}"
    );
}

/// What does not fit is said in words, in a table and in a picture, and never as markup.
#[test]
fn what_stands_round_the_pan_is_told_on_the_page() {
    let (findings, replay) = made::findings();
    if !has_bundle() {
        eprintln!("built without web/dist: nothing is tested; run `cargo xtask setup` first");
        return;
    }
    let page = page(&findings, &replay, UnitOrder::MetricFirst).expect("a page");
    for words in [
        "Does it fit",
        "too close, on the pan at (0, 20, -120) mm",
        "rod 2",
        "s inside wall",
        "header &lt;hot&gt;",
        "slide it to the front 60 mm",
        "use rated stands",
    ] {
        assert!(page.contains(words), "`{words}` is missing in the page");
    }
    let mut without = findings.clone();
    without.clearance = None;
    without.feed = None;
    let page = sumpwright_report::page(&without, &replay, UnitOrder::MetricFirst).expect("a page");
    assert!(!page.contains("Does it fit") && !page.contains("rated stands"));
}

/// The joint's section tells torques in all three units, its warnings with their mend, and its cautions.
#[test]
fn the_joint_is_told_with_its_torques_and_cautions() {
    use sumpwright_report::pictures::{Look, seal as picture};
    let (findings, _) = made::findings();
    let facts = findings.seal.clone().expect("the made findings have a joint");
    for look in [
        Look::wide(measure::UnitOrder::MetricFirst),
        Look::narrow(measure::UnitOrder::InchFirst),
    ] {
        let pressure = picture::pressure(&facts, &look).expect("there is a pressure");
        // Every bolt carries its own number, and the number of its turn.
        let texts = |d: &sumpwright_report::drawing::Drawing, wanted: &str| {
            let is = |i: &&sumpwright_report::drawing::Item| matches!(&i.shape, sumpwright_report::drawing::Shape::Text { words, .. } if words == wanted);
            d.items.iter().filter(is).count()
        };
        for number in 1..=8 {
            assert_eq!(texts(&pressure, &number.to_string()), 2, "bolt and turn {number}");
        }
        assert!(picture::face(&facts, &facts.faces[0], &look).is_some());
    }
}
