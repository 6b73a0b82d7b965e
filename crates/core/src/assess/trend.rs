//! A robust trend: the median of pairwise slopes (Sen 1968) of log weight over the last
//! three days, with the confidence interval that Sen derived from Kendall's tau.

use super::Reading;

/// Growth per day from a robust line through the last readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trend {
    /// Percent a day.
    pub percent_per_day: f64,
    /// 90 % interval, percent a day.
    pub low: f64,
    pub high: f64,
    pub readings: usize,
}

/// Readings older than this are left out.
const WINDOW_H: f64 = 72.0;
/// A shorter course gives no trend.
const SHORTEST_SPAN_H: f64 = 12.0;
/// Fewer readings give no trend.
const FEWEST: usize = 4;
/// Two-sided 90 % point of the standard normal distribution.
const Z_90: f64 = 1.644_853_626_951_472_2;

/// The trend of the last three days, if there are at least four readings.
#[must_use]
pub fn of_readings(readings: &[Reading]) -> Option<Trend> {
    let last = readings.last()?;
    let points: Vec<(f64, f64)> = an_hour_apart(readings)
        .into_iter()
        .map(|r| ((r.at - last.at).as_secs_f64() / 86_400.0, r.weight.get().ln()))
        .filter(|(days, _)| *days >= -WINDOW_H / 24.0)
        .collect();
    let span = points.iter().map(|p| -p.0).fold(0.0, f64::max);
    if span < SHORTEST_SPAN_H / 24.0 {
        return None;
    }
    let (slope, low, high) = theil_sen(&points)?;
    let percent = |s: f64| (s.exp() - 1.0) * 100.0;
    Some(Trend { percent_per_day: percent(slope), low: percent(low), high: percent(high), readings: points.len() })
}

/// Of readings within an hour of each other only the last counts: their slopes would say more
/// about the scale than about the pup.
fn an_hour_apart(readings: &[Reading]) -> Vec<&Reading> {
    let mut kept: Vec<&Reading> = Vec::new();
    for reading in readings {
        if kept.last().is_some_and(|last| crate::record::hours_between(last.at, reading.at).get() < 1.0) {
            kept.pop();
        }
        kept.push(reading);
    }
    kept
}

/// Median slope of (x, y) points with its 90 % interval; none for fewer than four points or
/// when all x are equal.
#[must_use]
#[expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a few hundred readings at most"
)]
pub fn theil_sen(points: &[(f64, f64)]) -> Option<(f64, f64, f64)> {
    if points.len() < FEWEST {
        return None;
    }
    let mut slopes = Vec::new();
    for (i, a) in points.iter().enumerate() {
        for b in &points[i + 1..] {
            if (b.0 - a.0).abs() > f64::EPSILON {
                slopes.push((b.1 - a.1) / (b.0 - a.0));
            }
        }
    }
    slopes.sort_by(f64::total_cmp);
    let median = match slopes.len() {
        0 => return None,
        n if n % 2 == 1 => slopes[n / 2],
        n => f64::midpoint(slopes[n / 2 - 1], slopes[n / 2]),
    };
    let n = points.len() as f64;
    let ties = |values: Vec<f64>| -> f64 {
        let mut values = values;
        values.sort_by(f64::total_cmp);
        values.chunk_by(|a, b| a == b).map(|run| run.len() as f64).map(|k| k * (k - 1.0) * (2.0 * k + 5.0)).sum()
    };
    let variance = (n * (n - 1.0) * (2.0 * n + 5.0)
        - ties(points.iter().map(|p| p.0).collect())
        - ties(points.iter().map(|p| p.1).collect()))
        / 18.0;
    let half_width = Z_90 * variance.max(0.0).sqrt();
    let pairs = slopes.len() as f64;
    let upper = (f64::midpoint(pairs, half_width).round_ties_even() as usize).min(slopes.len() - 1);
    let lower = ((pairs - half_width) / 2.0).round_ties_even() - 1.0;
    Some((median, slopes[lower.max(0.0) as usize], slopes[upper]))
}
