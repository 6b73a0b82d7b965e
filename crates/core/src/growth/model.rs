//! How a pup's log weight moves between weighings, solved exactly for any gap.
//!
//! State `[L, b, u, d]`, time in days since birth:
//! `dL = (G(t) + b + u - d exp(-t / DIP_TAU)) dt`, where `G` is the expected gain, `b` a
//! lasting difference of this pup and its litter, `u` a wandering part (Ornstein-Uhlenbeck)
//! and `d` the loss of water after birth. While faltering, `u` is pulled to where the
//! growth rate is `pull` whatever the pup's own rate was.
//!
//! Where no source is named, a value is an assumption that agrees with the published
//! ranges of gain (Small Animal Clinical Nutrition, 5th ed., table 16-1: 5-10 %/day in
//! week 1, 3.5-6 %/day in weeks 2-4).

/// What is expected of growth before any reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExpectedGain {
    /// Gain per day at birth, after the dip, and how much it falls per day: 8.5 %/day
    /// falling to 4.7 %/day at day 21.
    pub at_birth: f64,
    pub per_day: f64,
    /// Mean and SD of the rate of loss at birth, which fades with `DIP_TAU`: the mean curve
    /// is lowest (-1.3 %) at 8 h and back at birth weight at 19 h. The published risk line
    /// is a 4 % loss at two days (Mila et al. 2015).
    pub dip: (f64, f64),
}

impl Default for ExpectedGain {
    fn default() -> Self {
        Self { at_birth: 0.085, per_day: -0.0018, dip: (0.17, 0.08) }
    }
}

/// Past this day the line is held level, so that it never runs negative.
const LAST_DAY: f64 = 35.0;

impl ExpectedGain {
    pub fn rate(&self, day: f64) -> f64 {
        self.at_birth + self.per_day * day.min(LAST_DAY)
    }
}

/// The dip fades with this time constant, days.
pub const DIP_TAU: f64 = 0.5;
/// SD per day of the lasting difference: litter and pup about 0.012 to 0.016 each.
pub const OWN_RATE_SD: f64 = 0.020;

/// One way of growing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mode {
    /// Memory of the wander, days.
    pub tau: f64,
    /// SD of the wander, per day.
    pub wander: f64,
    /// Growth rate per day that a faltering pup is pulled to; `None` when growing normally.
    pub pull: Option<f64>,
}

pub const NORMAL: Mode = Mode { tau: 1.15, wander: 0.018, pull: None };
pub const FALTERING: Mode = Mode { tau: 0.3, wander: 0.021, pull: Some(-0.03) };

/// A linear step `x' = f x + shift + noise(q)`; matrices by row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    pub f: [[f64; 4]; 4],
    pub shift: [f64; 4],
    pub q: [[f64; 4]; 4],
}

impl Step {
    /// From day `from` to day `from + gap`.
    pub fn new(mode: Mode, gain: ExpectedGain, from: f64, gap: f64) -> Self {
        let tau = mode.tau;
        let e = (-gap / tau).exp();
        let slope = if from < LAST_DAY { gain.per_day } else { 0.0 };
        let rate = gain.rate(from);
        let mut f = [[0.0; 4]; 4];
        for (i, row) in f.iter_mut().enumerate() {
            row[i] = 1.0;
        }
        f[0][1] = gap;
        f[0][2] = tau * (1.0 - e);
        f[0][3] = -DIP_TAU * ((-from / DIP_TAU).exp() - (-(from + gap) / DIP_TAU).exp());
        f[2][2] = e;
        let mut shift = [0.0; 4];
        shift[0] = rate * gap + slope * gap * gap / 2.0;
        if let Some(pull) = mode.pull {
            // u is drawn to level + lean * time - b.
            let (level, lean) = (pull - rate, -slope);
            f[0][1] -= gap - tau * (1.0 - e);
            f[2][1] = -(1.0 - e);
            shift[0] += (level - lean * tau) * (gap - tau * (1.0 - e)) + lean * gap * gap / 2.0;
            shift[2] = (level - lean * tau) * (1.0 - e) + lean * gap;
        }
        let s2 = mode.wander * mode.wander;
        let mut q = [[0.0; 4]; 4];
        q[2][2] = s2 * (1.0 - e * e);
        q[0][2] = s2 * tau * (1.0 - e).powi(2);
        q[2][0] = q[0][2];
        q[0][0] = s2 * (2.0 * tau * gap - 2.0 * tau * tau * (1.0 - e) - tau * tau * (1.0 - e).powi(2));
        Self { f, shift, q }
    }
}

/// The row that gives the growth rate from the state: `rate = gain.rate(day) + row . x`.
pub fn rate_row(day: f64) -> [f64; 4] {
    [0.0, 1.0, 1.0, -(-day / DIP_TAU).exp()]
}
