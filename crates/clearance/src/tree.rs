//! The pieces of a body in a tree of boxes, so that only pieces near one another are measured.

use crate::Piece;
use glam::DVec3;

/// Pieces in a leaf, at most.
const LEAF: usize = 4;

/// Box round some pieces.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Node {
    pub low: DVec3,
    pub high: DVec3,
    /// First piece of a leaf, or the second child of a branch (the first follows it at once).
    pub first: u32,
    /// Pieces of a leaf; 0 for a branch.
    pub count: u32,
}

/// Pieces with the boxes round them.
#[derive(Clone, Debug)]
pub struct Tree {
    pieces: Vec<Piece>,
    nodes: Vec<Node>,
}

impl Tree {
    /// Sorts the pieces into boxes. Empty when there are none.
    pub fn new(pieces: Vec<Piece>) -> Tree {
        let boxes: Vec<(DVec3, DVec3)> = pieces.iter().map(Piece::bounds).collect();
        let mut order: Vec<u32> = (0..pieces.len() as u32).collect();
        let mut nodes = Vec::with_capacity(pieces.len() / 2 + 1);
        if !pieces.is_empty() {
            grow(&mut nodes, &boxes, &mut order, 0);
        }
        let mut loose: Vec<Option<Piece>> = pieces.into_iter().map(Some).collect();
        let pieces = order
            .iter()
            .map(|i| {
                loose[*i as usize]
                    .take()
                    .expect("each piece stands in the order once")
            })
            .collect();
        Tree { pieces, nodes }
    }

    /// The pieces, in the tree's order.
    pub fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    /// True without pieces.
    pub fn is_empty(&self) -> bool {
        self.pieces.is_empty()
    }

    /// Low and high corner of the box round everything; `None` when empty.
    pub fn bounds(&self) -> Option<(DVec3, DVec3)> {
        self.nodes.first().map(|n| (n.low, n.high))
    }

    pub(crate) fn node(&self, index: usize) -> &Node {
        &self.nodes[index]
    }

    /// The pieces of a leaf.
    pub(crate) fn leaf(&self, node: &Node) -> &[Piece] {
        &self.pieces[node.first as usize..(node.first + node.count) as usize]
    }
}

/// Adds the box of `order` (pieces from `offset` on) and of all its parts; splits at the middle piece along the
/// longest side of the box round the middles.
fn grow(nodes: &mut Vec<Node>, boxes: &[(DVec3, DVec3)], order: &mut [u32], offset: u32) {
    let all = |pick: fn(&(DVec3, DVec3)) -> (DVec3, DVec3)| {
        order
            .iter()
            .map(|i| pick(&boxes[*i as usize]))
            .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |a, b| {
                (a.0.min(b.0), a.1.max(b.1))
            })
    };
    let (low, high) = all(|b| *b);
    let here = nodes.len();
    nodes.push(Node {
        low,
        high,
        first: offset,
        count: order.len() as u32,
    });
    if order.len() <= LEAF {
        return;
    }
    let (first, last) = all(|b| (b.0 + b.1, b.0 + b.1));
    let size = last - first;
    let axis = if size.x >= size.y && size.x >= size.z {
        0
    } else if size.y >= size.z {
        1
    } else {
        2
    };
    let key = |i: u32| boxes[i as usize].0[axis] + boxes[i as usize].1[axis];
    let half = order.len() / 2;
    // The number breaks ties, so that the same pieces always give the same tree.
    order.select_nth_unstable_by(half, |a, b| key(*a).total_cmp(&key(*b)).then(a.cmp(b)));
    let (left, right) = order.split_at_mut(half);
    grow(nodes, boxes, left, offset);
    nodes[here].count = 0;
    nodes[here].first = nodes.len() as u32;
    grow(nodes, boxes, right, offset + half as u32);
}
