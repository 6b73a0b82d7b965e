//! Written by `whelpward-proving fit --litters 1500`: weights of the score and its
//! thresholds, from simulated litters only. Not by hand.

use super::score::{CIRCUMSTANCES, SIGNS};

/// Weight of each sign.
pub const WEIGHTS: [f64; SIGNS] = [0.52662, 0.00000, 0.18557, 0.56981, 0.26820, -2.09124, -0.40757];
/// Mean of each sign over healthy pups.
pub const MEANS: [f64; SIGNS] = [-5.77792, 0.48354, -0.03832, -5.11114, 0.30826, 0.06057, 1.09342];
/// Threshold at one false alarm per pup-week, and what each e-fold fewer adds.
pub const THRESHOLD: [[f64; CIRCUMSTANCES]; 2] =
    [[1.22064, 0.88632, 0.52326, -1.17657, 1.04821], [0.78002, -0.03458, 0.74575, 0.12531, 1.73583]];
