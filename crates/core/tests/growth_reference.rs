//! The growth filter against general-purpose libraries: values and the script that made
//! them are in `tests/reference/`.

#![expect(clippy::cast_precision_loss, reason = "counts of a test are small")]

use serde_json::Value;
use whelpward_core::growth::kalman::{Belief, Expected, TRIANGLE, Tails, place};
use whelpward_core::growth::model::{ExpectedGain, FALTERING, Mode, NORMAL, Step};
use whelpward_core::growth::noise::POINTS;
use whelpward_core::growth::score;
use whelpward_core::growth::two_mode::{Bank, SWITCHING, TwoMode};

fn read(text: &str) -> Value {
    serde_json::from_str(text).expect("valid JSON")
}

fn numbers(v: &Value) -> Vec<f64> {
    v.as_array().expect("a list").iter().map(|x| x.as_f64().expect("a number")).collect()
}

fn close(ours: &[f64], theirs: &Value, tolerance: f64, what: &str) {
    let theirs = numbers(theirs);
    assert_eq!(ours.len(), theirs.len(), "{what}");
    for (a, b) in ours.iter().zip(&theirs) {
        assert!((a - b).abs() <= tolerance * b.abs().max(1.0), "{what}: ours {a}, theirs {b}");
    }
}

/// The whole covariance, by row as in the files.
fn by_row(cov: &[f64; TRIANGLE]) -> Vec<f64> {
    (0..16).map(|n| cov[place(n / 4, n % 4)]).collect()
}

fn start(file: &Value) -> Belief {
    let (mean, by_row) = (numbers(&file["x0"]), numbers(&file["p0"]));
    let mut cov = [0.0; TRIANGLE];
    for n in 0..16 {
        cov[place(n / 4, n % 4)] = by_row[n];
    }
    Belief { mean: mean.try_into().expect("four numbers"), cov }
}

#[test]
fn steps_are_those_of_the_matrix_exponential() {
    let cases = read(include_str!("reference/steps.json"));
    for case in cases.as_array().expect("cases") {
        let get = |k: &str| case[k].as_f64().expect("a number");
        let mode = Mode { tau: get("tau"), wander: get("wander"), pull: case["pull"].as_f64() };
        let step = Step::new(mode, ExpectedGain::default(), get("start"), get("gap"));
        let what = format!("{mode:?} from {} gap {}", get("start"), get("gap"));
        close(&step.f.concat(), &case["f"], 1e-12, &what);
        close(&step.shift, &case["shift"], 1e-12, &what);
        close(&step.q.concat(), &case["q"], 1e-12, &what);
        // Variances are small: compare them on their own scale too.
        let q00 = numbers(&case["q"])[0];
        assert!((step.q[0][0] / q00 - 1.0).abs() < 1e-5, "{what}: {} {q00}", step.q[0][0]);
    }
}

#[test]
fn recursion_and_likelihood_are_those_of_statsmodels_with_missing_readings() {
    let file = read(include_str!("reference/kalman.json"));
    let (days, var) = (numbers(&file["days"]), numbers(&file["var"]));
    let mut belief = start(&file);
    let mut missing = 0;
    for i in 0..days.len() {
        if i > 0 {
            let gap = days[i] - days[i - 1];
            let gain = ExpectedGain::default();
            belief = belief.predict(&Step::new(NORMAL, gain, days[i - 1], gap), 1.0);
        }
        let log_likelihood = if let Some(y) = file["y"][i].as_f64() {
            let density = belief.expect(var[i]).density(y, Tails::Gaussian).ln();
            belief = belief.observe(y, var[i]);
            density
        } else {
            missing += 1;
            0.0
        };
        close(&belief.mean, &file["mean"][i], 1e-9, "mean");
        close(&by_row(&belief.cov), &file["cov"][i], 1e-9, "covariance");
        let theirs = file["log_likelihood"][i].as_f64().expect("a number");
        assert!((log_likelihood - theirs).abs() < 1e-9, "{log_likelihood} {theirs}");
    }
    assert!(missing > 2);
}

#[test]
fn two_modes_are_those_of_filterpy_step_by_step() {
    let file = read(include_str!("reference/two_mode.json"));
    let (days, y, var) = (numbers(&file["days"]), numbers(&file["y"]), numbers(&file["var"]));
    let mut filter = TwoMode { beliefs: [start(&file); 2], p_faltering: 0.1 };
    // The same at every point of the grid, side by side.
    let mut bank = Bank::of(|_| filter);
    let weights = [1.0 / POINTS as f64; POINTS];
    for i in 0..days.len() {
        if i > 0 {
            let gap = days[i] - days[i - 1];
            let steps = [NORMAL, FALTERING].map(|m| Step::new(m, ExpectedGain::default(), days[i - 1], gap));
            filter = filter.predict(&steps, &SWITCHING.over(gap), 1.0);
            bank = bank.map(|_, point| point.predict(&steps, &SWITCHING.over(gap), 1.0));
        }
        let each = filter.expect(var[i]).map(|e| e.density(y[i], Tails::Gaussian));
        let (both, normal) = bank.expect(&weights, var[i]);
        assert!((both.log_weight - filter.merged().expect(var[i]).log_weight).abs() < 1e-12);
        assert!((both.var / filter.merged().expect(var[i]).var - 1.0).abs() < 1e-12);
        assert!((normal.var / filter.expect(var[i])[0].var - 1.0).abs() < 1e-12);
        filter = filter.observe(y[i], var[i], Tails::Gaussian);
        bank = bank.map(|_, point| point.observe(y[i], var[i], Tails::Gaussian));
        for point in (0..POINTS).map(|n| bank.point(n)).chain([bank.average(&weights)]) {
            close(&[point.p_faltering], &vec![filter.p_faltering].into(), 1e-12, "mode of the bank");
            for (ours, alone) in point.beliefs.iter().zip(&filter.beliefs) {
                close(&ours.mean, &alone.mean.to_vec().into(), 1e-12, "mean of the bank");
                close(&ours.cov, &alone.cov.to_vec().into(), 1e-12, "covariance of the bank");
            }
        }
        let row = &file["rows"][i];
        close(&each, &row["likelihood"], 1e-9, "likelihood");
        close(&filter.p(), &row["p"], 1e-9, "mode");
        for mode in 0..2 {
            close(&filter.beliefs[mode].mean, &row["mean"][mode], 1e-9, "mean");
            close(&by_row(&filter.beliefs[mode].cov), &row["cov"][mode], 1e-9, "covariance");
        }
    }
    assert!(filter.p_faltering > 0.5, "the series falters in its second half");
}

#[test]
fn tails_are_those_of_scipy() {
    let file = read(include_str!("reference/tails.json"));
    let unit = Expected { log_weight: 0.0, var: 1.0 };
    let of = |tails| -> Vec<f64> { numbers(&file["z"]).iter().map(|z| unit.density(*z, tails).ln()).collect() };
    close(&of(Tails::Gaussian), &file["gaussian"], 1e-12, "Gaussian");
    close(&of(Tails::Heavy), &file["t6"], 1e-12, "t6");
}

/// Run length in control against Siegmund's approximation for a one-sided CUSUM with slack
/// 0.5 (formula from memory): (exp(2kb) - 2kb - 1) / (2k^2), b = h + 1.166; 338 at h = 4.
/// The readings come from a plain congruential generator (Knuth's MMIX constants, from
/// memory) and the sum of twelve uniforms, so that nothing of ours is in the input.
#[test]
fn shortfall_runs_as_long_as_siegmund_says() {
    let (k, h) = (0.5, 4.0_f64);
    let b = h + 1.166;
    let expected = ((2.0_f64 * k * b).exp() - 2.0 * k * b - 1.0) / (2.0 * k * k);
    assert!((expected - 338.0).abs() < 1.0);
    let mut seed = 1_u64;
    let mut uniform = || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 11) as f64 / (1_u64 << 53) as f64
    };
    let runs = 4000;
    let mut total = 0_u64;
    for _ in 0..runs {
        let mut sum = 0.0;
        while sum < h {
            let z = (0..12).map(|_| uniform()).sum::<f64>() - 6.0;
            sum = score::shortfall(sum, z);
            total += 1;
        }
    }
    let mean = total as f64 / f64::from(runs);
    // SE of the mean is 1.6 % (run lengths are near exponential); the approximation itself
    // is good to a few per cent, and the clip of single readings lengthens runs a little.
    assert!((mean / expected - 1.0).abs() < 0.07, "mean {mean}, Siegmund {expected}");
}
