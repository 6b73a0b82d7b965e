//! Bitch's milk by day of lactation, as far as it was read in print. Days in between are not
//! filled in, and two herds are never averaged.

use crate::references::{self as source, Source};

/// One published figure, or the range that is printed.
#[derive(Debug, Clone, Copy)]
pub struct ByDay {
    pub days: &'static str,
    pub what: &'static str,
    /// In a litre.
    pub unit: &'static str,
    pub low: f64,
    pub high: f64,
    pub source: &'static Source,
}

const fn row(days: &'static str, what: &'static str, unit: &'static str, range: (f64, f64)) -> ByDay {
    ByDay { days, what, unit, low: range.0, high: range.1, source: &source::BITCH_BY_DAY }
}

const fn calcium(days: &'static str, mg: f64) -> ByDay {
    ByDay { days, what: "calcium", unit: "mg", low: mg, high: mg, source: &source::BITCH_CALCIUM_BY_DAY }
}

/// The figures, by day.
pub static BY_DAY: [ByDay; 8] = [
    row("day 1 (first milk)", "protein", "g", (143.0, 143.0)),
    row("day 1 (first milk)", "lactose", "g", (16.6, 16.6)),
    calcium("day 0", 1366.0),
    calcium("from day 10", 1757.0),
    row("day 21 (least)", "protein", "g", (68.4, 68.4)),
    row("days 7 to 42", "lactose", "g", (34.0, 40.2)),
    row("days 1 to 42", "fat", "g", (112.5, 137.2)),
    row("days 1 to 42", "energy", "kcal", (1444.0, 1831.0)),
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::milk::blend::targets::Stage;
    use crate::milk::profile::BITCH_MINERALS;

    fn of(days: &str, what: &str) -> ByDay {
        *BY_DAY.iter().find(|r| r.days.starts_with(days) && r.what == what).unwrap()
    }

    #[test]
    fn published_stages_fit_one_another() {
        // Handbook milk.md section 4: on day 21 protein 68.4, fat about 112.5, lactose about 37 g per L give
        // 1434 kcal per L by 4/9/4, against a printed least of 1444.
        let [protein, fat, lactose] = [
            of("day 21", "protein").low,
            of("days 1", "fat").low,
            f64::midpoint(of("days 7", "lactose").low, of("days 7", "lactose").high),
        ];
        let kcal = 4.0 * protein + 9.0 * fat + 4.0 * lactose;
        assert!((kcal / of("days 1", "energy").low - 1.0).abs() < 0.01, "{kcal}");
        // The aim of day 21 and the calcium of mature milk are these figures by weight (1.03847 kg per L).
        let day_21 = Stage::Day21.targets().value;
        assert!((day_21.protein_g * 10.3847 - protein).abs() < 0.01);
        assert!((BITCH_MINERALS.value.0 * 10.3847 - of("from day 10", "calcium").low).abs() < 5.0);
    }
}
