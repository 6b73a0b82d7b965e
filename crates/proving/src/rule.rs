//! The rule of thumb that the tool has to beat, as a score so that it can be re-tuned.
//!
//! A pup needs help when it is below its birth weight after 48 h, or more than 10 % below
//! it at any time, or (from 36 h) has not gained since the latest weighing at least 22 h
//! earlier. Re-tuning changes the gain per day that is required.

/// The score of one reading: minus the gain per day since the latest reading at least 22 h
/// earlier, infinite where one of the two absolute parts speaks. The rule as people use it
/// warns from 0 on.
pub const AS_USED: f64 = 0.0;

const NEVER: f64 = f64::NEG_INFINITY;

/// Scores one pup's readings `(hours, grams)` in order of time; the first is its birth weight.
pub fn scores(readings: &[(f64, f64)]) -> Vec<f64> {
    let mut out = Vec::with_capacity(readings.len());
    for (i, &(hours, grams)) in readings.iter().enumerate() {
        let birth = readings[0].1;
        let earlier = readings[..i].iter().rev().find(|r| r.0 <= hours - 22.0);
        out.push(if grams < 0.9 * birth || (hours >= 48.0 && grams < birth) {
            f64::INFINITY
        } else {
            match earlier {
                Some(&(then, was)) if hours >= 36.0 => -(grams / was).ln() / (hours - then) * 24.0,
                _ => NEVER,
            }
        });
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn warns(readings: &[(f64, f64)]) -> bool {
        *scores(readings).last().expect("some readings") >= AS_USED
    }

    #[test]
    fn each_part_speaks_at_its_edge() {
        assert!(!warns(&[(0.0, 400.0), (12.0, 360.0)]));
        assert!(warns(&[(0.0, 400.0), (12.0, 359.0)]));
        assert!(warns(&[(0.0, 400.0), (30.0, 390.0), (48.0, 399.0)]));
        assert!(!warns(&[(0.0, 400.0), (24.0, 390.0), (47.9, 399.0)]));
        assert!(warns(&[(0.0, 400.0), (48.0, 450.0), (60.0, 460.0), (70.0, 450.0)]));
        assert!(!warns(&[(0.0, 400.0), (48.0, 450.0), (60.0, 460.0), (70.0, 451.0)]));
    }
}
