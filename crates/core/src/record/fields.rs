//! Turns one text into one value of the shape that the format table asks for.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::format::Shape;
use super::hours::WeeklyHours;
use crate::units::parse_decimal;

/// A value of the right shape.
#[derive(Debug, Clone)]
pub(super) enum Value {
    /// Text, a chosen word, or a weight still without its unit.
    Text(String),
    Time(Timestamp),
    Zone(TimeZone),
    Flag(bool),
    Number(f64),
    List(Vec<String>),
    Hours(WeeklyHours),
}

/// Reads a text by its shape; the error says what is allowed.
pub(super) fn read(text: &str, shape: Shape) -> Result<Value, String> {
    let text = text.trim();
    let refuse = |()| shape.allowed();
    match shape {
        Shape::Text => {
            let is_fine = !text.is_empty() && text.chars().count() <= 200 && !text.chars().any(char::is_control);
            is_fine.then(|| Value::Text(text.to_owned())).ok_or_else(|| shape.allowed())
        }
        Shape::Long => {
            let is_fine = !text.is_empty() && text.chars().count() <= 60_000;
            is_fine.then(|| Value::Text(text.to_owned())).ok_or_else(|| shape.allowed())
        }
        Shape::Time => match text.parse::<Timestamp>() {
            Ok(time) if is_in_range(time) => Ok(Value::Time(time)),
            Ok(_) => Err("a time between the years 2000 and 2100".into()),
            Err(_) if text.parse::<jiff::civil::DateTime>().is_ok() => {
                Err(format!("{}; the offset is missing", shape.allowed()))
            }
            Err(_) => Err(shape.allowed()),
        },
        Shape::Zone => TimeZone::get(text).map(Value::Zone).map_err(|_| shape.allowed()),
        Shape::YesNo => text.parse().map(Value::Flag).map_err(|_| shape.allowed()),
        Shape::Number { min, max } => {
            let number = parse_decimal(text).map_err(|why| format!("{}; {why}", shape.allowed()))?;
            (number >= min && number <= max).then_some(Value::Number(number)).ok_or_else(|| shape.allowed())
        }
        Shape::Whole { min, max } => {
            let number: i64 = text.parse().map_err(|_| shape.allowed())?;
            #[expect(clippy::cast_precision_loss, reason = "the table's whole numbers are small")]
            (min..=max).contains(&number).then_some(Value::Number(number as f64)).ok_or_else(|| shape.allowed())
        }
        Shape::Weight => Ok(Value::Text(text.to_owned())),
        Shape::OneOf(words) => words.contains(&text).then(|| Value::Text(text.to_owned())).ok_or(()).map_err(refuse),
        Shape::ListOf(_) | Shape::WeekHours => Err(shape.allowed()),
    }
}

fn is_in_range(time: Timestamp) -> bool {
    (946_684_800..4_102_444_800).contains(&time.as_second())
}
