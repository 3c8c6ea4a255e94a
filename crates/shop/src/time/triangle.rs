//! A duration of which the least, the likely and the most are known.

/// Least, likely and most [s].
///
/// Counted with as a triangle: of the usual curves over three points it gives the ends the most weight, which suits a
/// shop whose "most" is seldom the most. Source: triangular distribution, e.g. Kotz and van Dorp, *Beyond Beta* (2004),
/// chapter 1: mean `(a + m + b)/3`, variance `(a² + m² + b² - am - ab - mb)/18`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Duration {
    /// It never takes less.
    pub least: f64,
    /// It most likely takes this.
    pub likely: f64,
    /// It never takes more.
    pub most: f64,
}

impl Duration {
    /// A duration that is sure.
    pub fn sure(time: f64) -> Duration {
        Duration {
            least: time,
            likely: time,
            most: time,
        }
    }

    /// Whether the three are times and rise.
    pub fn is_sound(&self) -> bool {
        0.0 <= self.least && self.least <= self.likely && self.likely <= self.most && self.most.is_finite()
    }

    /// Mean [s].
    pub fn mean(&self) -> f64 {
        (self.least + self.likely + self.most) / 3.0
    }

    /// The time that is not exceeded with chance `share`, 0 to 1: the inverse of the cumulative distribution.
    pub fn at(&self, share: f64) -> f64 {
        let Duration { least, likely, most } = *self;
        let width = most - least;
        if width <= 0.0 {
            return likely;
        }
        if share * width < likely - least {
            least + (share * width * (likely - least)).sqrt()
        } else {
            most - ((1.0 - share) * width * (most - likely)).sqrt()
        }
    }
}
