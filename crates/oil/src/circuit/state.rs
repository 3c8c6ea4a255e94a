//! Where the oil outside the pan is, and its march in time.

use std::collections::VecDeque;

use serde::{Deserialize, Serialize};

use super::{Circuit, CircuitFault, DRAIN_BACK};

/// Totals at one instant: straight lines between two such marks.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
struct Mark {
    /// Time since the start [s].
    time: f64,
    /// Oil that has left the engine for home since the start [m³].
    released: f64,
    /// Oil that the pump has drawn since the start [m³].
    drawn: f64,
}

/// The oil outside the pan at one instant. Plain numbers: written out and read back to the same bits, it
/// goes on to the same answer.
///
/// Oil on its way is kept as running totals at the ends of past steps. What arrives at a place with delay
/// `d` is the rise of the released total between `t - d` and `t + dt - d`, read off straight lines, so that
/// a step may be longer or shorter than a delay and a step cut in two gives the same arrivals.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CircuitState {
    /// Oil in the engine [m³].
    engine: f64,
    /// Oil on its way to each return place [m³].
    on_the_way: Vec<f64>,
    /// Share of each place, rescaled to sum to 1.
    shares: Vec<f64>,
    /// Past totals, oldest first; reach back at least as far as the longest delay.
    marks: VecDeque<Mark>,
    /// What entered the pan at each place in the last step [m³].
    entered: Vec<f64>,
}

impl CircuitState {
    /// Steady state at `engine_speed` [rev/s] with `fill` [m³] in pan and engine together; also gives the
    /// oil left in the pan [m³].
    ///
    /// Errors when the circuit's numbers cannot be used (the first of [`Circuit::check`]) or the pan
    /// would be empty.
    pub fn start(
        circuit: &Circuit,
        engine_speed: f64,
        fill: f64,
    ) -> Result<(CircuitState, f64), CircuitFault> {
        if let Some(fault) = circuit.check().into_iter().next() {
            return Err(fault);
        }
        for (what, value) in [("the engine speed", engine_speed), ("the fill", fill)] {
            if !(value.is_finite() && value >= 0.0) {
                return Err(CircuitFault::BadNumber {
                    what,
                    value,
                    due: "of zero or more",
                });
            }
        }
        circuit.pan_at(engine_speed, fill)?;
        let flow = circuit.demand(engine_speed);
        let sum: f64 = circuit.shares.iter().sum();
        let shares: Vec<f64> = circuit.shares.iter().map(|share| share / sum).collect();
        let on_the_way: Vec<f64> = shares
            .iter()
            .zip(&circuit.delays)
            .map(|(share, delay)| share * delay * flow)
            .collect();
        let longest = circuit.delays.iter().fold(0.0_f64, |a, &d| a.max(d));
        let marks = VecDeque::from([
            Mark {
                time: -longest,
                released: -longest * flow,
                drawn: -longest * flow,
            },
            Mark {
                time: 0.0,
                released: 0.0,
                drawn: 0.0,
            },
        ]);
        let in_flight: f64 = on_the_way.iter().sum();
        let engine = (circuit.aloft_at(engine_speed) - in_flight).max(0.0);
        let entered = vec![0.0; shares.len()];
        let pan = fill - engine - in_flight;
        Ok((
            CircuitState {
                engine,
                on_the_way,
                shares,
                marks,
                entered,
            },
            pan,
        ))
    }

    /// Marches `dt` [s] at `engine_speed` [rev/s] while the pump took `drawn` [m³] of oil out of the pan
    /// (oil only, not air). Gives what enters the pan at each return place in this step [m³].
    ///
    /// The engine gives back what was drawn plus its surplus over the target with time constant
    /// [`DRAIN_BACK`], never less than nothing and never more than it has. The target is the oil aloft at
    /// this speed less the drawn oil now in flight. (Only the drawn part: a target that hung on all oil in
    /// flight would answer its own echo and swing without end once a delay passes π/2 time constants.)
    ///
    /// # Panics
    /// When `dt` is not above zero, or a number is not finite, or `drawn` is below zero: the caller's bug.
    pub fn advance(&mut self, circuit: &Circuit, dt: f64, engine_speed: f64, drawn: f64) -> &[f64] {
        assert!(
            dt.is_finite() && dt > 0.0,
            "the circuit marches forward: dt = {dt} s"
        );
        assert!(
            engine_speed.is_finite(),
            "engine speed must be a number, got {engine_speed}"
        );
        assert!(
            drawn.is_finite() && drawn >= 0.0,
            "drawn oil must be zero or more, got {drawn} m³"
        );
        let last = self.newest();
        let time = last.time + dt;
        self.marks.push_back(Mark {
            time,
            released: last.released,
            drawn: last.drawn + drawn,
        });

        let drawn_in_flight: f64 = (self.shares.iter().zip(&circuit.delays))
            .map(|(share, delay)| share * (last.drawn + drawn - self.total_at(time - delay, |m| m.drawn)))
            .sum();
        let target = (circuit.aloft_at(engine_speed) - drawn_in_flight).max(0.0);
        let surplus = (self.engine - target) * -(-dt / DRAIN_BACK).exp_m1();
        let released = (drawn + surplus).clamp(0.0, self.engine + drawn);
        self.engine += drawn - released;
        self.marks.back_mut().expect("just pushed").released += released;

        let places = self.shares.len();
        let mut left = released;
        for place in 0..places {
            // The last place takes the remainder, so that nothing is lost to rounding of the shares.
            let portion = if place + 1 == places {
                left
            } else {
                released * self.shares[place]
            };
            left -= portion;
            let delay = circuit.delays[place];
            let arrived = self.shares[place]
                * (self.total_at(time - delay, |m| m.released)
                    - self.total_at(last.time - delay, |m| m.released));
            let stock = self.on_the_way[place] + portion;
            self.entered[place] = arrived.clamp(0.0, stock.max(0.0));
            self.on_the_way[place] = stock - self.entered[place];
        }
        self.forget_before(circuit);
        &self.entered
    }

    /// Oil in the engine [m³].
    pub fn engine(&self) -> f64 {
        self.engine
    }

    /// Oil on its way home [m³].
    pub fn in_flight(&self) -> f64 {
        self.on_the_way.iter().sum()
    }

    /// What entered the pan at each return place in the last step [m³].
    pub fn entered(&self) -> &[f64] {
        &self.entered
    }

    fn newest(&self) -> Mark {
        *self
            .marks
            .back()
            .expect("start leaves two marks and marching keeps the newest")
    }

    /// A total at `time`, straight between marks.
    fn total_at(&self, time: f64, total: impl Fn(&Mark) -> f64) -> f64 {
        let after = self.marks.partition_point(|mark| mark.time <= time);
        if after == 0 {
            return total(&self.marks[0]);
        }
        let low = &self.marks[after - 1];
        match self.marks.get(after) {
            None => total(low),
            Some(high) => {
                let part = (time - low.time) / (high.time - low.time);
                total(low) + part * (total(high) - total(low))
            }
        }
    }

    /// Drops marks that no delay reaches back to.
    fn forget_before(&mut self, circuit: &Circuit) {
        let longest = circuit.delays.iter().fold(0.0_f64, |a, &d| a.max(d));
        let horizon = self.newest().time - longest;
        while self.marks.len() > 2 && self.marks[1].time <= horizon {
            self.marks.pop_front();
        }
    }
}
