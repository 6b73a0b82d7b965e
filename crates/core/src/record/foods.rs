//! Reads `foods.csv`: the household's own foods from their labels, prices and stock.
//!
//! A label is refused when its parts sum to more than the whole, or when its energy does not
//! fit its parts: a slip of the decimal mark would otherwise feed a pup.

use super::fields::Value;
use super::problem::{Problem, quoted};
use super::tables::{Report, Row, read_rows};
use crate::milk::foods::{self as known, Kind};
use crate::milk::{Composition, LABEL_ENERGY_OFF};
use crate::units::Grams;

/// One row of `foods.csv`.
#[derive(Debug, Clone)]
pub struct ShelfFood {
    pub id: String,
    pub name: Option<String>,
    /// None: the row gives price and stock of a food that the program knows.
    pub analysis: Option<FoodAnalysis>,
    /// Raw egg, raw milk or honey.
    pub left_out_kind: Option<Kind>,
    pub most_percent: Option<f64>,
    pub stock: Option<Grams>,
    pub price_per_kg: Option<f64>,
}

/// A label's figures, in 100 g.
#[derive(Debug, Clone, Copy)]
pub struct FoodAnalysis {
    pub protein: f64,
    pub fat: f64,
    pub carbohydrate: f64,
    pub moisture: f64,
    pub is_moisture_given: bool,
    pub lactose: Option<f64>,
    pub calcium_mg: Option<f64>,
    pub phosphorus_mg: Option<f64>,
    pub kcal: Option<f64>,
    pub density: Option<f64>,
}

pub(super) fn read(text: &str, problems: &mut Vec<Problem>) -> Vec<ShelfFood> {
    let mut seen: Vec<String> = Vec::new();
    read_rows("foods.csv", text, problems, |row, report| {
        let Some(Value::Text(id)) = row.value("id", report) else { return None };
        if seen.contains(&id) {
            report.problem(row, "id", quoted(&id), "an id that no other row has".into());
        }
        seen.push(id.clone());
        let analysis = analysis(row, report);
        if analysis.is_none() && report.is_clean() && known::by_id(&id).is_none() {
            report.problem(
                row,
                "protein_g",
                "no analysis".into(),
                "protein_g and fat_g, or the id of a known food for its price alone".into(),
            );
        }
        Some(ShelfFood {
            name: row.text("name").map(str::to_owned),
            left_out_kind: match row.value("is", report) {
                Some(Value::Text(word)) if word == "raw_egg" => Some(Kind::RawEgg),
                Some(Value::Text(word)) if word == "raw_milk" => Some(Kind::RawMilk),
                Some(Value::Text(_)) => Some(Kind::Honey),
                _ => None,
            },
            most_percent: number(row, "most_percent", report),
            stock: number(row, "stock_g", report).map(Grams::of),
            price_per_kg: number(row, "price_per_kg", report),
            analysis,
            id,
        })
    })
}

fn number(row: &Row<'_>, name: &str, report: &mut Report<'_>) -> Option<f64> {
    match row.value(name, report)? {
        Value::Number(number) => Some(number),
        _ => None,
    }
}

fn analysis(row: &Row<'_>, report: &mut Report<'_>) -> Option<FoodAnalysis> {
    let to_100 = 100.0 / number(row, "per_g", report).unwrap_or(100.0);
    let mut part = |name| number(row, name, report).map(|g| g * to_100);
    let [protein, fat, carbohydrate, fibre, ash, moisture, lactose, calcium, phosphorus, kcal] = [
        "protein_g",
        "fat_g",
        "carbohydrate_g",
        "fibre_g",
        "ash_g",
        "moisture_g",
        "lactose_g",
        "calcium_g",
        "phosphorus_g",
        "kcal",
    ]
    .map(&mut part);
    let density = number(row, "density_g_per_ml", report);
    let (protein, fat) = match (protein, fat) {
        (Some(protein), Some(fat)) => (protein, fat),
        (None, None) => return None,
        _ => {
            report.problem(
                row,
                "protein_g",
                "one of protein_g and fat_g".into(),
                "both, as on the label (0 where there is none)".into(),
            );
            return None;
        }
    };
    let fibre = fibre.unwrap_or(0.0);
    let known = protein + fat + fibre + carbohydrate.unwrap_or(0.0) + ash.unwrap_or(0.0) + moisture.unwrap_or(0.0);
    // Labels round to 0.1 or 0.5 g; five parts may so exceed the whole by a little.
    if known > 101.0 {
        report.problem(
            row,
            "protein_g",
            format!("parts that sum to {} %", tidy(known)),
            "at most 100 % together".into(),
        );
        return None;
    }
    let rest = (100.0 - known).max(0.0);
    let (carbohydrate, moisture_g) = match (carbohydrate, moisture, ash) {
        (Some(carbohydrate), Some(moisture), _) => (carbohydrate, moisture),
        (Some(carbohydrate), None, _) => (carbohydrate, rest),
        (None, Some(moisture), Some(_)) => (rest, moisture),
        (None, ..) => {
            report.problem(
                row,
                "carbohydrate_g",
                "nothing to work carbohydrate out from".into(),
                "carbohydrate_g, or ash_g and moisture_g".into(),
            );
            return None;
        }
    };
    if lactose.is_some_and(|l| l > carbohydrate + 0.5) {
        report.problem(
            row,
            "lactose_g",
            "more lactose than carbohydrate".into(),
            format!("at most {} g in 100 g", tidy(carbohydrate)),
        );
    }
    if calcium.unwrap_or(0.0) + phosphorus.unwrap_or(0.0)
        > (100.0 - protein - fat - fibre - carbohydrate - moisture.unwrap_or(0.0)).max(0.0) + 1.0
    {
        report.problem(
            row,
            "calcium_g",
            "more calcium and phosphorus than the other parts leave room for".into(),
            "g, not mg: 120 mg are 0.12".into(),
        );
    }
    let of_parts = Composition { water: moisture_g, protein, fat, carbohydrate }.kcal_per_100g();
    if let Some(kcal) = kcal
        && (kcal - of_parts).abs() > LABEL_ENERGY_OFF.value * of_parts.max(10.0)
    {
        report.problem(
            row,
            "kcal",
            format!(
                "{} kcal in 100 g, but the parts give {} (4 for protein, 9 for fat, 4 for carbohydrate)",
                tidy(kcal),
                tidy(of_parts)
            ),
            "energy within 15 % of the parts; is it kJ, or per serving?".into(),
        );
    }
    Some(FoodAnalysis {
        protein,
        fat,
        carbohydrate,
        moisture: moisture_g,
        is_moisture_given: moisture.is_some(),
        lactose,
        calcium_mg: calcium.map(|g| g * 1000.0),
        phosphorus_mg: phosphorus.map(|g| g * 1000.0),
        kcal,
        density,
    })
}

fn tidy(value: f64) -> String {
    crate::units::number(value, 1, false)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(rows: &str) -> (Vec<ShelfFood>, Vec<Problem>) {
        let mut problems = Vec::new();
        let header = "id,per_g,protein_g,fat_g,carbohydrate_g,fibre_g,ash_g,moisture_g,lactose_g,calcium_g,phosphorus_g,kcal,price_per_kg,stock_g";
        let foods = read(&format!("{header}\n{rows}\n"), &mut problems);
        (foods, problems)
    }

    #[test]
    fn published_label_check() {
        // Handbook milk.md check 5 (label X, read): 100-30-26-0.1-6.5-4 leaves 33.4 g; 487.6 kcal by 4/9/4,
        // 442.9 by the factors for dog food, which a label may print: within 15 %.
        let (foods, problems) = check("x,,30,26,,0.1,6.5,4,,1.2,0.8,442.9,,");
        assert!(problems.is_empty(), "{problems:?}");
        let a = foods[0].analysis.unwrap();
        assert!((a.carbohydrate - 33.4).abs() < 1e-9);
        let kcal = Composition { water: a.moisture, protein: a.protein, fat: a.fat, carbohydrate: a.carbohydrate }
            .kcal_per_100g();
        assert!((kcal - 487.6).abs() < 1e-9);
        assert_eq!(a.calcium_mg, Some(1200.0));
    }

    #[test]
    fn figures_per_serving_become_figures_of_100_g() {
        let (foods, problems) = check("x,30,10.85,0.23,15.6,,,,,,,,,");
        assert!(problems.is_empty(), "{problems:?}");
        // FNDDS dried skim milk: 36.16 protein, 51.98 carbohydrate in 100 g.
        let a = foods[0].analysis.unwrap();
        assert!((a.protein - 36.17).abs() < 0.01 && (a.carbohydrate - 52.0).abs() < 0.01);
    }

    #[test]
    fn bad_labels_are_refused_by_name() {
        let check = |row: &str, column: &str, words: &str| {
            let (foods, problems) = check(row);
            assert!(foods.is_empty(), "{row} was accepted");
            let all: Vec<String> = problems.iter().map(ToString::to_string).collect();
            assert!(problems.iter().any(|p| p.name == column && p.to_string().contains(words)), "{row}: {all:?}");
        };
        check("x,,60,30,30,,,,,,,,,", "protein_g", "sum to 120");
        check("x,,120,30,,,,,,,,,,", "protein_g", "sum to 150");
        check("x,,30,26,,0.1,6.5,4,,,,2040,,", "kcal", "kJ");
        check("x,,30,26,,,,,,,,,,", "carbohydrate_g", "ash_g and moisture_g");
        check("x,,30,,,,,,,,,,,", "protein_g", "both");
        check("x,,3,4,5,,,,9,,,,,", "lactose_g", "more lactose");
        check("x,,3,3,5,,,88,,120,95,,,", "calcium_g", "mg");
        check("unknown,,,,,,,,,,,,4.5,", "protein_g", "no analysis");
    }

    #[test]
    fn price_and_stock_of_a_known_food() {
        let (rows, problems) = check("cream,,,,,,,,,,,,6.4,200");
        assert!(problems.is_empty(), "{problems:?}");
        let shelf = known::shelf(&rows);
        let cream = shelf.iter().find(|f| f.id == "cream").unwrap();
        assert_eq!((cream.price_per_kg, cream.stock), (Some(6.4), Some(Grams::of(200.0))));
        assert_eq!(cream.per_100g.composition.fat, 36.08);
    }
}
