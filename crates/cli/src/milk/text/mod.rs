//! The milk reports as text, within 80 columns, readable without colour.

mod blend;
mod compare;
mod mix;

use textwrap::Options;
use whelpward_core::milk::foods::Food;
use whelpward_core::units::{KcalPerMl, Millilitres, QuantityRow, figure, format_quantity};

pub use blend::{blend, no_blend};
pub use compare::compare;
pub use mix::mix;

const WIDTH: usize = 80;

#[derive(Default)]
struct Page(String);

impl Page {
    fn heading(&mut self, text: &str) {
        self.0.push_str(&format!("\n{text}\n"));
    }

    /// A paragraph behind a first indent; later lines hang below the text.
    fn line(&mut self, first: &str, text: &str) {
        let rest = " ".repeat(first.chars().count());
        let options = Options::new(WIDTH).initial_indent(first).subsequent_indent(&rest).break_words(false);
        for line in textwrap::wrap(text, options) {
            self.0.push_str(line.trim_end());
            self.0.push('\n');
        }
    }

    fn row(&mut self, cells: &str) {
        self.0.push_str(cells.trim_end());
        self.0.push('\n');
    }
}

/// A refusal, line by line.
pub fn message(text: &str) -> String {
    let mut page = Page::default();
    for line in text.lines() {
        page.line("", line);
    }
    page.0.trim_end().to_owned()
}

fn shown(value: f64, row: &QuantityRow) -> String {
    format_quantity(value, row)
}

fn ml(value: f64) -> String {
    shown(value, &Millilitres::ROW)
}

fn strength(value: f64) -> String {
    shown(value, &KcalPerMl::ROW)
}

pub fn foods(foods: &[Food]) -> String {
    let mut page = Page::default();
    page.line("", "Foods by id, with kcal (4/9/4), protein, fat, carbohydrate and lactose in 100 g. Figures marked * were not read in the table (data/foods.csv names each).");
    page.row("");
    page.row(&format!("{:<20}{:>7}{:>9}{:>7}{:>7}{:>9}  note", "id", "kcal", "protein", "fat", "carb", "lactose"));
    for food in foods {
        let n = food.per_100g;
        let c = n.composition;
        let mark = if food.not_published().next().is_some() { "*" } else { "" };
        let note = food.kind.left_out().map_or(String::new(), |what| format!(" {what}: left out"));
        page.row(&format!(
            "{:<20}{:>7}{:>9}{:>7}{:>7}{:>9}  {mark}{note}",
            food.id,
            figure(c.kcal_per_100g()),
            figure(c.protein),
            figure(c.fat),
            figure(c.carbohydrate),
            figure(n.lactose)
        ));
    }
    page.0
}
