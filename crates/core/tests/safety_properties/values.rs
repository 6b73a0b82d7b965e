//! Single values, drawn often from the edges of the rules.

use proptest::prelude::*;
use proptest::sample::select;
use whelpward_core::record::{CHECK_KINDS, ValueShape};

use super::litter::{Check, DAY, H};

/// Ages at both sides of every edge by age: 24 h, 48 h, 72 h, 6, 7, 14, 21, 31 and 35 days.
pub fn age() -> impl Strategy<Value = i64> {
    let edges: Vec<i64> = [12 * H, 24 * H, 48 * H, 72 * H, 144 * H, 7 * DAY, 14 * DAY, 21 * DAY, 31 * DAY, 35 * DAY]
        .into_iter()
        .flat_map(|edge| [edge - 36, edge - 2 * H, edge, edge + H])
        .chain([0, 60, 5 * H])
        .collect();
    prop_oneof![
        4 => select(edges),
        3 => 0..3 * DAY,
        4 => 0..21 * DAY,
        3 => 0..40 * DAY,
    ]
}

/// How long ago something was seen, often at an edge; a little of it lies in the future.
pub fn ago() -> impl Strategy<Value = i64> {
    let edges: Vec<i64> = [H / 2, H, 2 * H, 3 * H, 4 * H, 6 * H, 8 * H, 12 * H, 24 * H, 48 * H, 72 * H]
        .into_iter()
        .flat_map(|edge| [edge - 60, edge, edge + 60])
        .chain([0, 300])
        .collect();
    prop_oneof![
        4 => select(edges),
        4 => 0..4 * H,
        4 => 0..26 * H,
        2 => 0..5 * DAY,
        1 => -6 * H..0,
    ]
}

/// Weights from 60 g to 5 kg, most of them small.
pub fn weight_g() -> impl Strategy<Value = f64> {
    prop_oneof![
        2 => select(vec![60.0, 100.0, 150.0, 199.9, 200.0, 250.0, 299.9, 300.0, 500.0, 1000.0, 5000.0]),
        6 => 60.0..600.0,
        2 => 60.0..5000.0,
    ]
}

/// Tenths of a degree at every edge of the rules of warmth, in thousandths.
const TEMPERATURE_EDGES: [i64; 24] = [
    30_000, 32_100, 32_200, 32_300, 34_300, 34_390, 34_400, 34_900, 34_990, 35_000, 35_100, 35_900, 35_990, 36_000,
    36_100, 36_500, 36_900, 37_000, 37_200, 37_300, 37_800, 37_900, 38_300, 38_400,
];

fn millidegrees() -> impl Strategy<Value = i64> {
    prop_oneof![
        5 => select(TEMPERATURE_EDGES.to_vec()),
        4 => (350..=378_i64).prop_map(|tenths| tenths * 100),
        2 => (250..=410_i64).prop_map(|tenths| tenths * 100),
    ]
}

/// A check of one of these kinds, with a word or a temperature that the kind allows.
pub fn check(kinds: &'static [&'static str]) -> impl Strategy<Value = Check> {
    let pick = prop_oneof![2 => Just(0_usize), 3 => 0..8_usize];
    (select(kinds.to_vec()), pick, millidegrees(), ago()).prop_map(|(kind, pick, milli, ago)| {
        let row = CHECK_KINDS.iter().find(|row| row.word == kind).expect("a kind of the format");
        let value = match row.shape {
            // Words stand from well to ill.
            ValueShape::Words(words) => words[pick % words.len()].text().to_owned(),
            ValueShape::Temperature { fahrenheit, .. } => temperature(kind, milli, fahrenheit),
        };
        Check { ago, kind: row.word, value }
    })
}

#[expect(clippy::cast_precision_loss, reason = "small numbers")]
fn temperature(kind: &str, milli: i64, fahrenheit: bool) -> String {
    let milli = match kind {
        // Dam and box lie elsewhere on the scale: 37.0 to 41.0 °C, 20 to 34 °C.
        "dam_temperature_c" | "dam_temperature_f" => 37_000 + (milli - 30_000).clamp(0, 8_000) / 2,
        "box_temperature_c" | "box_temperature_f" => milli - 8_000,
        _ => milli,
    };
    let celsius = milli as f64 / 1000.0;
    if fahrenheit { format!("{:.1}", celsius * 9.0 / 5.0 + 32.0) } else { celsius.to_string() }
}

/// Kinds of check about one pup.
pub const PUP_KINDS: &[&str] = &[
    "rectal_temperature_c",
    "rectal_temperature_f",
    "skin_temperature_c",
    "ear_temperature_c",
    "infrared_temperature_c",
    "suck",
    "palate",
    "breathing",
    "dried",
    "colostrum_seen",
    "stool",
    "urine",
    "belly",
    "gums",
    "behaviour",
    "milk_at_nose",
];
/// Kinds that matter for warmth.
pub const WARMTH_KINDS: &[&str] = &[
    "rectal_temperature_c",
    "rectal_temperature_c",
    "rectal_temperature_f",
    "skin_temperature_c",
    "ear_temperature_c",
    "infrared_temperature_c",
    "suck",
];
/// Kinds that decide between bottle, tube and nothing.
pub const TECHNIQUE_KINDS: &[&str] = &[
    "rectal_temperature_c",
    "suck",
    "suck",
    "palate",
    "breathing",
    "urine",
    "gums",
    "behaviour",
    "milk_at_nose",
    "belly",
    "stool",
];
/// Kinds about the dam, the box and the birth.
pub const LITTER_KINDS: &[&str] = &[
    "box_temperature_c",
    "box_temperature_f",
    "dam_temperature_c",
    "dam_temperature_f",
    "dam_appetite",
    "dam_discharge",
    "dam_glands",
    "dam_behaviour",
    "dam_milk",
    "pups_with_dam",
    "labour",
    "straining",
];
/// Kinds that matter while pups are being born.
pub const BIRTH_KINDS: &[&str] = &["dam_discharge", "labour", "straining", "straining"];
