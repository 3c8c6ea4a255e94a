//! Which side is out: neighbours made to agree, and the shells told apart.

use crate::edges::{NONE, Pairing, ends};
use crate::fault::{Fault, Mark, place};
use crate::mesh::Mesh;

/// Shells and senses.
pub(crate) struct Sense {
    /// Shell of each triangle.
    pub shell: Vec<u32>,
    /// How many shells there are.
    pub shells: usize,
    /// How many triangles were turned to agree with most of their shell.
    pub flipped: usize,
}

/// Walks over shared edges and turns triangles until neighbours agree. When any was turned the sides have
/// changed places and the pairing must be made anew.
pub(crate) fn agree(mesh: &mut Mesh, pairing: &Pairing) -> Result<Sense, Fault> {
    let count = mesh.triangles.len();
    let mut shell = vec![NONE; count];
    let mut turned = vec![false; count];
    let (mut shells, mut flipped) = (0, 0);
    let mut todo: Vec<u32> = Vec::new();
    let mut members: Vec<u32> = Vec::new();
    for first in 0..count {
        if shell[first] != NONE {
            continue;
        }
        members.clear();
        shell[first] = shells;
        todo.push(first as u32);
        while let Some(t) = todo.pop() {
            members.push(t);
            for side in 3 * t..3 * t + 3 {
                let mate = pairing.mate[side as usize];
                if mate == NONE {
                    continue;
                }
                let other = mate / 3;
                let same_way = ends(&mesh.triangles, side).0 == ends(&mesh.triangles, mate).0;
                let due = turned[t as usize] != same_way;
                if shell[other as usize] == NONE {
                    shell[other as usize] = shells;
                    turned[other as usize] = due;
                    todo.push(other);
                } else if turned[other as usize] != due {
                    return Err(one_sided(mesh, side));
                }
            }
        }
        let minority = members.iter().filter(|t| turned[**t as usize]).count();
        let all = 2 * minority > members.len();
        for &t in &members {
            turned[t as usize] ^= all;
        }
        flipped += minority.min(members.len() - minority);
        shells += 1;
    }
    for (t, turned) in mesh.triangles.iter_mut().zip(turned) {
        if turned {
            t.swap(1, 2);
        }
    }
    Ok(Sense {
        shell,
        shells: shells as usize,
        flipped,
    })
}

fn one_sided(mesh: &Mesh, side: u32) -> Fault {
    let (a, b) = ends(&mesh.triangles, side);
    let (a, b) = (mesh.points[a as usize], mesh.points[b as usize]);
    let at = 0.5 * (a + b);
    let what = format!(
        "the skin has no inside: going round on it one comes out on its other side, near {}",
        place(at)
    );
    let mark = Mark {
        at,
        across: a.distance(b),
        what: "one-sided",
    };
    let mend = "repair the mesh there in the program that made it; the skin is stitched together crosswise";
    Fault::new("solid-one-sided", what, mend).marked(vec![mark])
}
