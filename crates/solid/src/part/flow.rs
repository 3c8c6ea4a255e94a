//! The cheapest cut between two sets of a graph.
//!
//! Largest flow by blocking flows (Dinic 1970, from memory). Capacities are whole numbers, so that it ends and does
//! not depend on rounding. What can still be reached from the first set when nothing more flows is the side of the
//! cut that lies nearest to it.

/// An undirected graph with capacities.
pub(super) struct Network {
    /// Ends and capacity of each edge, both ways.
    edges: Vec<(u32, u32, u64)>,
    nodes: usize,
}

impl Network {
    pub fn new(nodes: usize) -> Network {
        Network {
            edges: Vec::new(),
            nodes,
        }
    }

    pub fn join(&mut self, a: u32, b: u32, capacity: u64) {
        self.edges.push((a, b, capacity));
    }

    /// Nodes on the first set's side of the cheapest cut; `None` when a node is in both sets.
    pub fn cut(self, first: &[u32], second: &[u32]) -> Option<Vec<bool>> {
        let Network { edges, nodes } = self;
        let (mut is_first, mut is_second) = (vec![false; nodes], vec![false; nodes]);
        first.iter().for_each(|n| is_first[*n as usize] = true);
        second.iter().for_each(|n| is_second[*n as usize] = true);
        if (0..nodes).any(|n| is_first[n] && is_second[n]) {
            return None;
        }
        // Arcs 2 e and 2 e + 1 are the two ways of edge e; `left` is what they may still carry.
        let mut start = vec![0usize; nodes + 2];
        for (a, b, _) in &edges {
            start[*a as usize + 2] += 1;
            start[*b as usize + 2] += 1;
        }
        for n in 2..start.len() {
            start[n] += start[n - 1];
        }
        let mut arcs = vec![0u32; 2 * edges.len()];
        let mut left = vec![0u64; 2 * edges.len()];
        for (e, (a, b, capacity)) in edges.iter().enumerate() {
            for (way, n) in [(0, *a), (1, *b)] {
                let at = &mut start[n as usize + 1];
                arcs[*at] = (2 * e + way) as u32;
                *at += 1;
                left[2 * e + way] = *capacity;
            }
        }
        let head = |arc: u32| {
            let (a, b, _) = edges[arc as usize / 2];
            if arc.is_multiple_of(2) { b } else { a }
        };
        let mut depth = vec![u32::MAX; nodes];
        loop {
            // Depths from the first set.
            depth.fill(u32::MAX);
            let mut queue: Vec<u32> = (0..nodes as u32).filter(|n| is_first[*n as usize]).collect();
            queue.iter().for_each(|n| depth[*n as usize] = 0);
            let (mut k, mut reached) = (0, false);
            while k < queue.len() {
                let n = queue[k] as usize;
                k += 1;
                for &arc in &arcs[start[n]..start[n + 1]] {
                    let to = head(arc) as usize;
                    if left[arc as usize] > 0 && depth[to] == u32::MAX {
                        depth[to] = depth[n] + 1;
                        if is_second[to] {
                            reached = true;
                        } else {
                            queue.push(to as u32);
                        }
                    }
                }
            }
            if !reached {
                return Some(depth.into_iter().map(|d| d != u32::MAX).collect());
            }
            // Paths that go deeper with every arc, until none is left.
            let mut next: Vec<usize> = start[..nodes].to_vec();
            for source in (0..nodes).filter(|n| is_first[*n]) {
                let mut path: Vec<u32> = Vec::new();
                let mut at = source;
                loop {
                    if is_second[at] {
                        let carried = path.iter().map(|a| left[*a as usize]).min().unwrap_or(0);
                        for arc in &path {
                            left[*arc as usize] -= carried;
                            left[*arc as usize ^ 1] += carried;
                        }
                        // Back to the tail of the first arc that is full.
                        let full = path.iter().position(|a| left[*a as usize] == 0).unwrap_or(0);
                        path.truncate(full + 1);
                        at = path.pop().map_or(source, |arc| head(arc ^ 1) as usize);
                        continue;
                    }
                    let end = start[at + 1];
                    let on = (next[at]..end).find(|&i| {
                        let arc = arcs[i];
                        left[arc as usize] > 0 && depth[head(arc) as usize] == depth[at] + 1
                    });
                    match on {
                        Some(i) => {
                            next[at] = i;
                            path.push(arcs[i]);
                            at = head(arcs[i]) as usize;
                        }
                        None => {
                            next[at] = end;
                            match path.pop() {
                                Some(arc) => {
                                    at = head(arc ^ 1) as usize;
                                    next[at] += 1;
                                }
                                None => break,
                            }
                        }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cut_goes_where_it_is_cheapest_and_nearest_the_first_set() {
        // 0 -3- 1 -2- 2 -2- 3 -3- 4, with a way round 1-3 of 1.
        let mut network = Network::new(5);
        for (a, b, c) in [(0, 1, 3), (1, 2, 2), (2, 3, 2), (3, 4, 3), (1, 3, 1)] {
            network.join(a, b, c);
        }
        // 3 at 0-1, 3 at {1-2, 1-3}, 3 at {2-3, 1-3}, 3 at 3-4: the nearest is 0-1.
        assert_eq!(
            network.cut(&[0], &[4]).unwrap(),
            [true, false, false, false, false]
        );
    }

    #[test]
    fn a_node_on_both_sides_is_no_cut() {
        assert!(Network::new(2).cut(&[0], &[0, 1]).is_none());
    }
}
