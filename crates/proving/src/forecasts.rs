//! Coverage and CRPS of the forecasts of the true weight.

use statrs::distribution::{Continuous, ContinuousCDF, Normal};
use whelpward_core::growth::Forecast;
use whelpward_core::growth::forecast::HOURS;

use crate::replay::Replayed;

/// Sums over forecasts, per horizon.
#[derive(Clone, Copy, Default)]
pub struct Coverage {
    count: [f64; HOURS.len()],
    in_half: [f64; HOURS.len()],
    in_ninety: [f64; HOURS.len()],
    crps: [f64; HOURS.len()],
}

/// Every accepted reading of every pup, healthy or not.
pub fn coverage(r: &Replayed) -> Coverage {
    let mut out = Coverage::default();
    for a in r.assessments.iter().filter(|a| a.doubt.is_none()) {
        for (i, forecast) in a.forecasts().iter().enumerate() {
            let at = a.hours_from_birth + forecast.hours;
            let truth = r.litter.pups[a.pup].true_log_weight(at);
            let below = forecast.below(truth);
            out.count[i] += 1.0;
            out.in_half[i] += f64::from(u8::from((below - 0.5).abs() <= 0.25));
            out.in_ninety[i] += f64::from(u8::from((below - 0.5).abs() <= 0.45));
            out.crps[i] += crps(forecast, truth);
        }
    }
    out
}

impl Coverage {
    pub fn add(&mut self, other: &Coverage) {
        for i in 0..HOURS.len() {
            self.count[i] += other.count[i];
            self.in_half[i] += other.in_half[i];
            self.in_ninety[i] += other.in_ninety[i];
            self.crps[i] += other.crps[i];
        }
    }

    pub fn show(&self) -> String {
        (0..HOURS.len())
            .map(|i| {
                format!(
                    "{:.0} h {:.3} {:.3} {:.4}",
                    HOURS[i],
                    self.in_half[i] / self.count[i],
                    self.in_ninety[i] / self.count[i],
                    self.crps[i] / self.count[i]
                )
            })
            .collect::<Vec<_>>()
            .join("   ")
    }
}

/// CRPS of a mixture of normals (Grimit et al. 2006, citation from memory; one part gives
/// the closed form of Gneiting et al. 2005).
pub fn crps(forecast: &Forecast, x: f64) -> f64 {
    let unit = Normal::standard();
    // Mean of |N(mean, var)|.
    let distance = |mean: f64, var: f64| {
        let sd = var.sqrt();
        let z = mean / sd;
        2.0 * sd * unit.pdf(z) + mean * (2.0 * unit.cdf(z) - 1.0)
    };
    let parts = forecast.parts.iter().filter(|p| p.0 > 0.0);
    let mut out = 0.0;
    for &(w, mean, var) in parts.clone() {
        out += w * distance(x - mean, var);
        for &(w2, mean2, var2) in parts.clone() {
            out -= 0.5 * w * w2 * distance(mean - mean2, var + var2);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values by numerical integration: `crates/core/tests/reference/growth.py`.
    #[test]
    fn crps_is_that_of_numerical_integration() {
        let text = include_str!("../../core/tests/reference/crps.json");
        let cases: serde_json::Value = serde_json::from_str(text).expect("valid JSON");
        for case in cases.as_array().expect("cases") {
            let mut parts = [(0.0, 0.0, 1.0); 2];
            for (part, given) in parts.iter_mut().zip(case["parts"].as_array().expect("parts")) {
                let get = |i: usize| given[i].as_f64().expect("a number");
                *part = (get(0), get(1), get(2) * get(2));
            }
            let ours = crps(&Forecast { hours: 12.0, parts }, case["x"].as_f64().expect("x"));
            let theirs = case["crps"].as_f64().expect("crps");
            assert!((ours - theirs).abs() < 1e-9, "{ours} {theirs}");
        }
    }
}
