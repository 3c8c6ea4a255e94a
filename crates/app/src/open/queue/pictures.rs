//! Pictures of a run, also while they are being computed.

use super::child::RESULTS;
use super::ledger::{Kept, Stance, place};
use crate::open::pan::{flat, mesh};
use crate::open::refusals::{missing, refused};
use crate::overseer::Pictured;
use crate::store::frames::{self, FrameFile};
use crate::store::{RunFolder, Scene, StoreFault};
use pickup::CoverHistory;
use report::replay::code;
use serve::wire::{DoorWire, FramesAnswer, MouthWire, PlateWire, SceneWire};
use serve::workshop::{Answer, Refused, Wrong};
use slosh::run::Frame;
use std::path::{Path, PathBuf};

/// Most pictures of one answer; whoever wants more asks on from there.
const MOST: usize = 100;

/// The folder of a moment's run.
fn folder(root: &Path, id: u32, moment: &Pictured) -> PathBuf {
    place(root, id).join(RESULTS).join("runs").join(&moment.run)
}

/// How many pictures a run has by now.
pub fn count(root: &Path, kept: &Kept) -> u32 {
    let of = |moment: &Pictured| frames::count(&folder(root, kept.run.id, moment).join("frames.bin"));
    kept.moments.iter().map(|moment| of(moment) as u32).sum()
}

/// The answer.
pub fn pictures(root: &Path, kept: &Kept, moment: usize, from: usize) -> Answer<FramesAnswer> {
    let mut answer = FramesAnswer {
        moments: kept.moments.iter().map(|moment| moment.name.clone()).collect(),
        scene: None,
        times: Vec::new(),
        cover: Vec::new(),
        gravity: Vec::new(),
        doors: Vec::new(),
        fills: Vec::new(),
    };
    let Some(asked) = kept.moments.get(moment) else {
        return match moment {
            // Before the run has said what it will compute.
            0 => Ok(answer),
            _ => Err(missing(
                format!("run {} has no moment {moment}", kept.run.id),
                "moment",
            )),
        };
    };
    let folder = folder(root, kept.run.id, asked);
    let path = folder.join("frames.bin");
    if frames::count(&path) <= from {
        return Ok(answer);
    }
    let file = FrameFile::read(&path).map_err(unread)?;
    let scene: Scene = file.scene().map_err(unread)?;
    let open = code::levels(&scene.open, None);
    // The same cells as in the scene: a cell so nearly metal that its level is 0 carries no oil here.
    let inside: Vec<usize> = (0..open.len()).filter(|&cell| open[cell] > 0).collect();
    let stored = RunFolder::glance(&folder);
    let history = stored.as_ref().map(|stored| stored.state.history());
    for index in from..file.frames().min(from.saturating_add(MOST)) {
        let frame: Frame = file.frame(index).map_err(unread)?;
        if frame.fill.len() != open.len() {
            return Err(unread(StoreFault::Damaged {
                path,
                why: format!("picture {index} is none of this pan"),
            }));
        }
        answer.times.push(frame.time);
        answer
            .cover
            .push(history.and_then(|history| cover(history, frame.time)));
        answer.gravity.extend(frame.gravity);
        answer.doors.extend(&frame.doors);
        let levels = code::levels(&frame.fill, Some(&inside));
        answer.fills.push(code::base64(&code::pack(&[levels])));
    }
    if from == 0 {
        answer.scene = Some(wire(&scene, &open, inside.len(), &kept.stance));
    }
    Ok(answer)
}

/// Cover at the time of a picture [m], as the report's replay takes it.
fn cover(history: &CoverHistory, time: f64) -> Option<f64> {
    let row = history.time.partition_point(|t| *t < time - 1e-9);
    history.cover.get(row).copied()
}

fn wire(scene: &Scene, open: &[u8], inside: usize, stance: &Stance) -> SceneWire {
    let parts = &scene.parts;
    SceneWire {
        n: scene.n.map(|n| n as u32),
        cell: scene.cell as f32,
        origin: flat(scene.origin.into()),
        open: code::base64(&code::pack(&[open.to_vec()])),
        // What was computed cell by cell is not told by spaces.
        space_of: code::base64(&vec![u8::MAX; inside]),
        shell: mesh(&parts.shell),
        plates: (parts.plates.iter())
            .map(|(name, plate)| PlateWire {
                name: name.clone(),
                mesh: mesh(plate),
            })
            .collect(),
        doors: (parts.doors.iter())
            .map(|door| DoorWire {
                name: door.name.clone(),
                corners: door.corners.iter().flatten().map(|v| *v as f32).collect(),
                hinge: door.hinge.iter().map(|v| *v as f32).collect(),
            })
            .collect(),
        mouth: Some(MouthWire {
            at: flat(parts.mouth.into()),
            diameter: parts.mouth_diameter as f32,
        }),
        crank: stance.crank.clone(),
        car_forward: stance.car_forward,
        car_up: stance.car_up,
        spaces: Vec::new(),
    }
}

fn unread(fault: StoreFault) -> Refused {
    refused(Wrong::Computing, fault.to_string(), "", fault.mend())
}
