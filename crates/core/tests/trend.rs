//! Outside check of the trend, against an independent implementation.

use std::collections::BTreeMap;

use whelpward_core::assess::trend::theil_sen;

/// `tests/reference/theil_sen.csv` is the output of `theil_sen.py` beside it.
#[test]
fn trend_agrees_with_scipy() {
    type Series = (Vec<(f64, f64)>, [f64; 3]);
    let text = include_str!("reference/theil_sen.csv");
    let mut all: BTreeMap<&str, Series> = BTreeMap::new();
    for line in text.lines().skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let number = |i: usize| fields[i].parse::<f64>().unwrap();
        let series = all.entry(fields[0]).or_default();
        series.0.push((number(1), number(2)));
        series.1 = [number(3), number(4), number(5)];
    }
    assert!(all.len() >= 10, "{} series", all.len());
    for (name, (points, [slope, low, high])) in all {
        let ours = theil_sen(&points).unwrap_or_else(|| panic!("{name}: no trend"));
        // Sums and divisions of doubles in another order: far below 1e-9.
        for (what, ours, theirs) in [("slope", ours.0, slope), ("low", ours.1, low), ("high", ours.2, high)] {
            assert!((ours - theirs).abs() < 1e-9, "{name}: {what} {ours} is {theirs} by SciPy");
        }
    }
}

#[test]
fn fewer_than_four_readings_have_no_trend() {
    let points = [(0.0, 1.0), (1.0, 2.0), (2.0, 3.0), (3.0, 4.0)];
    assert!(theil_sen(&points[..3]).is_none());
    assert!((theil_sen(&points).unwrap().0 - 1.0).abs() < 1e-12);
}
