//! Questions that no page would ask.

use super::*;
use proptest::prelude::*;

fn key() -> impl Strategy<Value = String> {
    const KNOWN: [&str; 22] = [
        "fill.volume",
        "oil.temperature",
        "plate \"front wall\".z[1]",
        "plate \"front wall\".z[*]",
        "plate \"*\".z[0]",
        "plate \"front wall\"",
        "plate \"rear wall\".wall[*][0]",
        "door \"front door\".low[0]",
        "door \"front door\".high[1]",
        "door \"front door\"",
        "pickup.mouth[2]",
        "pickup.mouth[0]",
        "pickup.diameter",
        "circuit.aloft[1][1]",
        "return \"bearings\".diameter",
        "pocket \"sump\".z[0]",
        "pocket \"sump\".corner_radius",
        "pump.relief_flow",
        "engine.redline",
        "drive.manoeuvre \"hard stop\".braking",
        "name",
        "base",
    ];
    prop_oneof![
        8 => prop::sample::select(&KNOWN[..]).prop_map(str::to_owned),
        1 => ".{0,40}",
        1 => "[a-z]{1,8}(\\.[a-z]{1,8}){0,3}(\\[[0-9]{1,3}\\]){0,2}",
    ]
}

fn value() -> impl Strategy<Value = String> {
    let unit = prop::sample::select(&["mm", "L", "C", "g", "rpm", "m", "in", "", "cc/rev"][..]);
    let number = prop_oneof![
        (-300.0..300.0f64).prop_map(|v| format!("{v:.2}")),
        any::<f64>().prop_map(|v| format!("{v}")),
        Just("1e308".to_owned()),
        Just("-0".to_owned()),
    ];
    prop_oneof![
        6 => (number, unit).prop_map(|(number, unit)| format!("\"{number} {unit}\"")),
        1 => Just("\"out\"".to_owned()),
        1 => any::<f64>().prop_map(|v| format!("{v:?}")),
        1 => ".{0,40}",
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever is asked, there is an answer or a reason, never a panic; numbers are numbers.
    #[test]
    fn no_question_brings_the_house_down(changes in prop::collection::vec((key(), value()), 0..3)) {
        use std::sync::LazyLock;
        static ASKED: LazyLock<(Folder, House)> = LazyLock::new(|| {
            let folder = Folder::a_box("odd");
            let house = folder.house();
            (folder, house)
        });
        let house = &ASKED.1;
        let changes: Vec<(&str, &str)> = changes.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect();
        let variant = variant("pan.toml", &changes);
        match house.still(&standing(variant.clone())) {
            Ok(still) => {
                let numbers = [still.oil, still.at_crank, still.level, still.cover.unwrap_or(0.0)];
                let all = numbers.into_iter().chain(still.surfaces.iter().map(|s| s.volume));
                prop_assert!(all.into_iter().all(f64::is_finite), "{still:?}");
            }
            Err(refused) => prop_assert!(
                !refused.faults.is_empty() && refused.faults.iter().all(|f| !f.what.is_empty()),
                "{refused:?}"
            ),
        }
        if let Ok(pan) = house.pan(&variant) {
            let finite = |c: &serve::wire::Control| [c.number, c.low, c.high, c.step].iter().all(|v| v.is_finite());
            prop_assert!(pan.controls.iter().all(finite));
        }
    }
}
