//! The search: generations by NSGA-II.
//!
//! Each case has a rank, the number of the front that it lies on when the fronts before are taken away, and on its front a
//! distance to its neighbours. Of two cases drawn by lot the one of better rank, else the lonelier one, becomes a parent; two parents
//! cross and their children are changed a little; of parents and children together the better half lives on.
//!
//! Source: K. Deb, A. Pratap, S. Agarwal, T. Meyarivan, "A fast and elitist multiobjective genetic algorithm: NSGA-II", IEEE
//! Trans. Evol. Comput. 6 (2002) 182; invalid cases lose to all others, as its section VI does with constraints. Crossover: K.
//! Deb, R. B. Agrawal, Complex Systems 9 (1995) 115; mutation: K. Deb, M. Goyal, Computer Science and Informatics 26 (1996) 30.
//!
//! A generation follows from nothing but the seed and the scores before it. A study that was stopped, or is worked by several
//! machines, therefore goes on with the very same cases. (The libraries at hand call the cases themselves and cannot be stopped and asked
//! again; they also bring a linear algebra whose kernels took longer to build than the rest of the program.)

use crate::dice::Dice;
use crate::front::beats;
use crate::sample;

/// Shape of the crossover and of the mutation: Deb's usual values for real inputs (2002, section V).
const CROSSOVER_INDEX: f64 = 15.0;
const MUTATION_INDEX: f64 = 20.0;
/// Share of pairs that cross (there too); one input of a case is changed on average.
const CROSSOVER_RATE: f64 = 0.9;

/// Draws stay off the very ends, where a quantile may be infinite.
const LOWEST: f64 = 1e-9;

/// What a case came to in a search.
#[derive(Clone, Debug, PartialEq)]
pub enum Score {
    /// Its aims, all such that less is better.
    Costs(Vec<f64>),
    /// The design cannot be.
    Invalid,
}

/// A search.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Search {
    /// How many inputs.
    pub inputs: usize,
    /// How many generations.
    pub generations: usize,
    /// Cases of each.
    pub population: usize,
    /// Seed.
    pub seed: u64,
}

/// A case with its score.
#[derive(Clone)]
struct Member {
    draw: Vec<f64>,
    score: Score,
    rank: usize,
    /// Distance to its neighbours on its front, infinite at the front's ends.
    room: f64,
}

impl Search {
    /// The draws of the generation that follows on `done`, the scores of all before in order; `None` after the last.
    ///
    /// # Panics
    /// When a generation in `done` has another count than the population.
    pub fn next(&self, done: &[Vec<Score>]) -> Option<Vec<Vec<f64>>> {
        if done.len() >= self.generations {
            return None;
        }
        let mut dice = Dice::new(self.seed);
        let mut draws = sample::latin_hypercube(self.population, self.inputs, self.seed);
        let mut living: Vec<Member> = Vec::new();
        for scores in done {
            assert_eq!(scores.len(), draws.len(), "a generation comes back whole");
            living.extend(draws.into_iter().zip(scores).map(|(draw, score)| Member {
                draw,
                score: score.clone(),
                rank: 0,
                room: 0.0,
            }));
            living = survivors(living, self.population);
            draws = self.children(&living, &mut dice);
        }
        Some(draws)
    }

    fn children(&self, parents: &[Member], dice: &mut Dice) -> Vec<Vec<f64>> {
        let mut children = Vec::new();
        while children.len() < self.population {
            let (a, b) = (tournament(parents, dice), tournament(parents, dice));
            let (mut first, mut second) = (a.draw.clone(), b.draw.clone());
            if dice.inside() < CROSSOVER_RATE {
                for (x, y) in first.iter_mut().zip(&mut second) {
                    if dice.inside() < 0.5 {
                        (*x, *y) = crossed(*x, *y, dice);
                    }
                }
            }
            for child in [first, second] {
                let changed = child.into_iter().map(|x| {
                    if dice.inside() < 1.0 / self.inputs as f64 {
                        changed(x, dice)
                    } else {
                        x
                    }
                });
                children.push(changed.map(|x| x.clamp(LOWEST, 1.0 - LOWEST)).collect());
            }
        }
        children.truncate(self.population);
        children
    }
}

/// The better of two drawn by lot.
fn tournament<'m>(members: &'m [Member], dice: &mut Dice) -> &'m Member {
    let (a, b) = (
        &members[dice.below(members.len())],
        &members[dice.below(members.len())],
    );
    let b_wins = b.rank < a.rank || b.rank == a.rank && b.room > a.room;
    if b_wins { b } else { a }
}

/// Two values crossed: the children lie round the parents as far apart as these, closer more often than farther (simulated
/// binary crossover, within 0 to 1 by clamping).
fn crossed(x: f64, y: f64, dice: &mut Dice) -> (f64, f64) {
    let u = dice.inside();
    let power = 1.0 / (CROSSOVER_INDEX + 1.0);
    let spread = if u <= 0.5 {
        (2.0 * u).powf(power)
    } else {
        (1.0 / (2.0 * (1.0 - u))).powf(power)
    };
    let (middle, half) = (0.5 * (x + y), 0.5 * spread * (x - y));
    if dice.inside() < 0.5 {
        (middle + half, middle - half)
    } else {
        (middle - half, middle + half)
    }
}

/// A value moved a little, seldom far (polynomial mutation on 0 to 1).
fn changed(x: f64, dice: &mut Dice) -> f64 {
    let u = dice.inside();
    let power = 1.0 / (MUTATION_INDEX + 1.0);
    if u < 0.5 {
        let low = 2.0 * u + (1.0 - 2.0 * u) * (1.0 - x).powf(MUTATION_INDEX + 1.0);
        x + low.powf(power) - 1.0
    } else {
        let high = 2.0 * (1.0 - u) + 2.0 * (u - 0.5) * x.powf(MUTATION_INDEX + 1.0);
        x + 1.0 - high.powf(power)
    }
}

/// The better `count` members, each with its rank and its room.
fn survivors(mut members: Vec<Member>, count: usize) -> Vec<Member> {
    let mut left: Vec<usize> = (0..members.len()).collect();
    let mut living: Vec<usize> = Vec::new();
    let mut rank = 0;
    while living.len() < count && !left.is_empty() {
        let loses = |n: &usize| left.iter().any(|m| wins(&members[*m].score, &members[*n].score));
        let front: Vec<usize> = left.iter().copied().filter(|n| !loses(n)).collect();
        left.retain(|n| !front.contains(n));
        let rooms = rooms(&members, &front);
        for (n, room) in front.iter().zip(&rooms) {
            members[*n].rank = rank;
            members[*n].room = *room;
        }
        let mut order: Vec<usize> = front;
        order.sort_by(|a, b| members[*b].room.total_cmp(&members[*a].room).then(a.cmp(b)));
        living.extend(order);
        rank += 1;
    }
    living.truncate(count);
    living.into_iter().map(|n| members[n].clone()).collect()
}

/// Constrained domination.
fn wins(a: &Score, b: &Score) -> bool {
    match (a, b) {
        (Score::Costs(a), Score::Costs(b)) => beats(a, b),
        (Score::Costs(_), Score::Invalid) => true,
        (Score::Invalid, _) => false,
    }
}

/// Crowding distance of each member of a front.
fn rooms(members: &[Member], front: &[usize]) -> Vec<f64> {
    let cost = |n: usize, aim: usize| match &members[n].score {
        Score::Costs(costs) => costs[aim],
        Score::Invalid => 0.0,
    };
    let aims = match front.first().map(|n| &members[*n].score) {
        Some(Score::Costs(costs)) => costs.len(),
        _ => 0,
    };
    let mut rooms = vec![0.0; front.len()];
    for aim in 0..aims {
        let mut order: Vec<usize> = (0..front.len()).collect();
        order.sort_by(|a, b| {
            cost(front[*a], aim)
                .total_cmp(&cost(front[*b], aim))
                .then(a.cmp(b))
        });
        let at = |place: usize| cost(front[order[place]], aim);
        let last = order.len() - 1;
        let span = at(last) - at(0);
        rooms[order[0]] = f64::INFINITY;
        rooms[order[last]] = f64::INFINITY;
        if span > 0.0 {
            for place in 1..last {
                rooms[order[place]] += (at(place + 1) - at(place - 1)) / span;
            }
        }
    }
    rooms
}
