//! Reads what is asked for on the command line; every refusal names what is allowed.

use whelpward_core::milk::foods::Food;
use whelpward_core::report::milk::Own;
use whelpward_core::units::{Grams, KcalPerMl, Millilitres, WeightUnit, parse_decimal};

/// A number in a range.
pub fn checked(name: &str, text: &str, min: f64, max: f64) -> Result<f64, String> {
    let allowed = format!("{name}: found \"{text}\"; allowed: a number from {min} to {max}");
    let number = parse_decimal(text).map_err(|why| format!("{allowed}; {why}"))?;
    (min..=max).contains(&number).then_some(number).ok_or(allowed)
}

/// A small weight; the range of the quantity starts at 1 g, a step of a scale may be less.
pub fn grams(value: f64) -> Result<Grams, String> {
    Ok(Grams::new(1.0).map_err(|e| e.to_string())? * value)
}

/// Foods by id.
pub fn list(shelf: &[Food], ids: &[String]) -> Result<Vec<Food>, String> {
    ids.iter().map(|id| Ok(shelf[place(shelf, id.trim())?].clone())).collect()
}

fn place(shelf: &[Food], id: &str) -> Result<usize, String> {
    shelf.iter().position(|f| f.id == id).ok_or_else(|| {
        let near: Vec<&str> =
            shelf.iter().map(|f| f.id.as_str()).filter(|known| known.split('_').any(|w| id.contains(w))).collect();
        let hint = if near.is_empty() {
            "`whelpward milk foods` lists all".into()
        } else {
            format!("did you mean {}?", near.join(", "))
        };
        format!("{id}: no such food\nhint: {hint}; your own go into foods.csv")
    })
}

/// Pairs such as `egg_yolk=12`.
pub fn pairs(shelf: &[Food], name: &str, texts: &[String], min: f64, max: f64) -> Result<Vec<(usize, f64)>, String> {
    texts
        .iter()
        .map(|text| {
            let (id, number) = text
                .split_once('=')
                .ok_or_else(|| format!("{name}: found \"{text}\"; allowed: id=number, as in egg_yolk=12"))?;
            Ok((place(shelf, id.trim())?, checked(&format!("{name} {id}"), number, min, max)?))
        })
        .collect()
}

/// A recipe such as `cow_milk=118mL,egg_yolk=17g`.
pub fn recipe(shelf: &[Food], text: &str, stated: Option<f64>) -> Result<Own, String> {
    let allowed = |part: &str| {
        format!("--recipe: found \"{part}\"; allowed: id=amount with g or mL, as in cow_milk=118mL,egg_yolk=17g")
    };
    let parts = text.split(',').map(|part| {
        let (id, amount) = part.split_once('=').ok_or_else(|| allowed(part))?;
        let food = shelf[place(shelf, id.trim())?].clone();
        let amount = amount.trim();
        let number =
            |text: &str| parse_decimal(text).ok().filter(|n| *n > 0.0 && *n <= 5_000.0).ok_or_else(|| allowed(part));
        let weight = match (amount.strip_suffix("mL"), amount.strip_suffix(WeightUnit::Gram.word())) {
            (Some(ml), _) => food.weight_of(Millilitres::new(number(ml)?).map_err(|e| e.to_string())?),
            (None, Some(g)) => grams(number(g)?)?,
            (None, None) => return Err(allowed(part)),
        };
        Ok((weight, food))
    });
    Ok(Own {
        name: "the recipe".into(),
        parts: parts.collect::<Result<_, String>>()?,
        stated: stated.map(KcalPerMl::new).transpose().map_err(|e| e.to_string())?,
    })
}
