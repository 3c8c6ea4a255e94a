//! `lift` of a plate: a gate that is pulled up during an experiment.

use ::pan::{Door, Lift, Plate, PlateShape};
use measure::Dimension::{Speed, Time};

use crate::section::{Bounds, Section};

/// The lifts that plates state, in their order; each is judged, whatever is wrong with another.
pub(crate) fn read(
    plates: &[(Option<Plate>, Section)],
    doors: &[(Option<Door>, Section)],
) -> Option<Vec<Lift>> {
    let stated: Vec<Option<Lift>> = plates
        .iter()
        .enumerate()
        .filter(|(_, (_, section))| section.has("lift"))
        .map(|(index, (plate, section))| lift(index, plate.as_ref(), section, doors))
        .collect();
    stated.into_iter().collect()
}

fn lift(
    index: usize,
    plate: Option<&Plate>,
    section: &Section,
    doors: &[(Option<Door>, Section)],
) -> Option<Lift> {
    let inside = section.below("lift")?;
    let speed = inside.quantity("speed", Speed, Bounds::above_to(0.0, 100.0));
    let from = inside.quantity_or(
        "from",
        Time,
        Bounds::within(0.0, 3600.0),
        0.0,
        "a gate begins to lift at time zero unless stated",
    );
    inside.finish();
    if plate.is_some_and(|plate| !matches!(plate.shape, PlateShape::Wall { .. })) {
        let what = "only a wall can be pulled up".to_owned();
        section.fault("lift", "lift", what, "give the gate as a wall".to_owned());
        return None;
    }
    if doors
        .iter()
        .any(|(door, _)| door.as_ref().is_some_and(|d| d.plate == index))
    {
        let what = "a plate that is pulled up carries a door".to_owned();
        section.fault("lift", "lift", what, "leave the door or the lift out".to_owned());
        return None;
    }
    Some(Lift {
        plate: index,
        speed: speed?,
        from: from?,
    })
}
