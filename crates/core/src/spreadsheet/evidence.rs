//! What the cells themselves settle: marks, the order of dates, times of day, names.

use std::collections::{BTreeMap, BTreeSet};

use super::columns::{Column, Role, without_unit};
use super::dates::{DateOrder, WrittenDate, written};
use super::guess::{Judged, Name};
use super::judge::{Parts, options_of_names};
use super::names::near;
use super::questions::About;
use super::weights::{DecimalMark, MarkSeen, marks_seen};
use super::{NoTime, quoted};

/// Strange names beyond this are not asked one by one; their rows become problems.
const MOST_NAMES: usize = 40;

impl Parts<'_> {
    /// Every cell of a column of numbers that is not blank, with its line.
    fn numbers<'s>(&'s self, columns: &'s [Column]) -> impl Iterator<Item = &'s str> + 's {
        let places: Vec<usize> = columns.iter().filter(|c| c.role.has_numbers()).map(|c| c.number - 1).collect();
        self.sheet.rows.iter().flat_map(move |row| places.clone().into_iter().map(move |p| row.cell(p)))
    }

    pub(super) fn decimal(&mut self, columns: &[Column]) -> Judged<DecimalMark> {
        if let Some(mark) = self.answers.decimal {
            return Judged::settled(mark, "as answered");
        }
        let (mut point, mut comma, mut either) = (None, None, None);
        for cell in self.numbers(columns) {
            match marks_seen(cell) {
                MarkSeen::Decimal('.') | MarkSeen::Grouped { decimal: '.' } => point = point.or(Some(cell.to_owned())),
                MarkSeen::Decimal(_) | MarkSeen::Grouped { .. } => comma = comma.or(Some(cell.to_owned())),
                MarkSeen::Either(_) => either = either.or(Some(cell.to_owned())),
                MarkSeen::None | MarkSeen::NoNumber => {}
            }
        }
        match (point, comma, either) {
            (Some(point), None, _) => Judged::settled(DecimalMark::Point, format!("as in {}", quoted(&point))),
            (None, Some(comma), _) => Judged::settled(DecimalMark::Comma, format!("as in {}", quoted(&comma))),
            (Some(point), Some(comma), _) => Judged::settled(
                DecimalMark::Mixed,
                format!(
                    "both occur, as in {} and {}; a mark before three digits is refused",
                    quoted(&point),
                    quoted(&comma)
                ),
            ),
            (None, None, None) => Judged::settled(DecimalMark::Point, "no number has a mark"),
            (None, None, Some(cell)) => {
                let text = format!("What is the mark in {}: a decimal mark, or does it part thousands?", quoted(&cell));
                let options = vec!["point is the decimal mark".into(), "comma is the decimal mark".into()];
                self.ask(About::DecimalMark, text, options);
                Judged::open(format!("{} can be read in two ways", quoted(&cell)))
            }
        }
    }

    pub(super) fn thousands(&mut self, columns: &[Column], decimal: Option<DecimalMark>) -> Judged<bool> {
        if let Some(answer) = self.answers.thousands {
            return Judged::settled(answer, "as answered");
        }
        let other = match decimal {
            Some(DecimalMark::Point) => ',',
            Some(DecimalMark::Comma) => '.',
            Some(DecimalMark::Mixed) | None => return Judged::settled(false, "no mark parts thousands"),
        };
        let mut doubtful = None;
        for cell in self.numbers(columns) {
            match marks_seen(cell) {
                // Both marks in one number settle it.
                MarkSeen::Grouped { decimal } if decimal != other && cell.contains(other) => {
                    return Judged::settled(true, format!("as in {}", quoted(cell)));
                }
                MarkSeen::Either(mark) if mark == other => doubtful = doubtful.or(Some(cell.to_owned())),
                _ => {}
            }
        }
        match doubtful {
            None => Judged::settled(false, "no mark parts thousands"),
            Some(cell) => {
                let text = format!("Does the mark in {} part thousands?", quoted(&cell));
                self.ask(About::Thousands, text, vec!["yes".into(), "no: such cells are wrong".into()]);
                Judged::open(format!("{} can be read in two ways", quoted(&cell)))
            }
        }
    }

    fn dates(&self, columns: &[Column]) -> Vec<(String, WrittenDate)> {
        let mut dates = Vec::new();
        for column in columns {
            match column.role {
                Role::WeightsAt { .. } => {
                    let name = without_unit(&column.header);
                    dates.extend(written(name).map(|w| (name.to_owned(), w.date)));
                }
                Role::Date | Role::DateTime => {
                    let mut last = "";
                    for row in &self.sheet.rows {
                        let cell = row.cell(column.number - 1);
                        // A date stands in many rows; once is enough.
                        if cell != last {
                            dates.extend(written(cell).map(|w| (cell.to_owned(), w.date)));
                            last = cell;
                        }
                    }
                }
                _ => {}
            }
        }
        dates
    }

    pub(super) fn date_order(&mut self, columns: &[Column]) -> Judged<DateOrder> {
        if let Some(order) = self.answers.date_order {
            return Judged::settled(order, "as answered");
        }
        let dates = self.dates(columns);
        let numbers: Vec<&(String, WrittenDate)> =
            dates.iter().filter(|(_, d)| matches!(d, WrittenDate::Numbers { .. })).collect();
        if numbers.is_empty() {
            return Judged::settled(DateOrder::YearFirst, "every date tells its order itself");
        }
        // Two digits of a year first is rare: it counts only while no such date would lie
        // before the birth of every pup.
        let first_birth = self.context.pups.iter().map(|p| self.context.zone.to_datetime(p.born_at).date()).min();
        let is_possible = |order: &DateOrder| {
            numbers.iter().all(|(_, d)| match (order, d.read(*order)) {
                (_, None) => false,
                (DateOrder::YearFirst, Some(date)) => first_birth.is_none_or(|birth| date >= birth),
                (_, Some(_)) => true,
            })
        };
        let possible: Vec<DateOrder> = DateOrder::ALL.into_iter().filter(is_possible).collect();
        let shown = |text: &str, date: WrittenDate, orders: &[DateOrder]| -> Vec<String> {
            orders
                .iter()
                .filter_map(|o| Some(format!("{} ({} is {})", o.words(), quoted(text), in_words(date.read(*o)?))))
                .collect()
        };
        let differs = |d: &WrittenDate, orders: &[DateOrder]| {
            orders.iter().map(|o| d.read(*o)).collect::<BTreeSet<_>>().len() > 1
        };
        if let [order] = possible[..] {
            let example = numbers.iter().find(|(_, d)| differs(d, &[DateOrder::DayFirst, DateOrder::MonthFirst]));
            let why = example.map_or("the only order that fits".to_owned(), |_| {
                let settles = numbers.iter().find(|(_, d)| {
                    DateOrder::ALL.iter().all(|o| *o == order || *o == DateOrder::YearFirst || d.read(*o).is_none())
                });
                settles.map_or("the only order that fits".to_owned(), |(t, _)| format!("{} settles it", quoted(t)))
            });
            return Judged::settled(order, why);
        }
        let doubtful = numbers.iter().find(|(_, d)| differs(d, &possible));
        let (why, options) = match (possible.is_empty(), doubtful) {
            (false, None) => return Judged::settled(possible[0], "every date is the same in each order"),
            (false, Some((text, date))) => {
                (format!("{} can be read in two ways", quoted(text)), shown(text, *date, &possible))
            }
            (true, _) => {
                let (text, date) = numbers[0];
                ("no order fits all dates".to_owned(), shown(text, *date, &DateOrder::ALL))
            }
        };
        self.ask(About::DateOrder, format!("In which order are dates written? {}.", capital(&why)), options);
        Judged::open(why)
    }

    pub(super) fn no_time(&mut self, columns: &[Column]) -> Judged<NoTime> {
        if let Some(answer) = self.answers.no_time {
            return Judged::settled(answer, "as answered");
        }
        let headings: Vec<_> = columns
            .iter()
            .filter(|c| matches!(c.role, Role::WeightsAt { .. }))
            .filter_map(|c| Some((c.header.clone(), written(without_unit(&c.header))?)))
            .collect();
        let without = if headings.is_empty() {
            self.row_without_time(columns)
        } else {
            let are_dates = headings.iter().all(|(_, w)| w.is_at_midnight());
            headings.iter().find(|(_, w)| w.time.is_none() || are_dates).map(|(text, _)| text.clone())
        };
        match without {
            None => Judged::settled(NoTime::Refuse, "every date has its time"),
            Some(found) => {
                let text = format!(
                    "At what time of day were the weighings that have a date only, such as {}?",
                    quoted(&found)
                );
                self.ask(About::NoTime, text, vec!["a time of day".into(), "not known: leave these out".into()]);
                Judged::open(format!("{} has no time of day", quoted(&found)))
            }
        }
    }

    /// The first date with a weight beside it and no time of day.
    fn row_without_time(&self, columns: &[Column]) -> Option<String> {
        let place = |wanted: fn(&Role) -> bool| columns.iter().find(|c| wanted(&c.role)).map(|c| c.number - 1);
        let date = place(|r| matches!(r, Role::Date | Role::DateTime))?;
        let keeps_midnight = columns[date].role == Role::DateTime;
        let time = place(|r| *r == Role::Time);
        let weights: Vec<usize> = columns.iter().filter(|c| c.role.has_numbers()).map(|c| c.number - 1).collect();
        self.sheet.rows.iter().find_map(|row| {
            let has_weight = weights.iter().any(|p| !row.cell(*p).is_empty());
            let has_time = time.is_some_and(|p| !row.cell(p).is_empty());
            let written = written(row.cell(date)).filter(|_| has_weight && !has_time)?;
            let is_without = written.time.is_none() || (!keeps_midnight && written.is_at_midnight());
            is_without.then(|| row.cell(date).to_owned())
        })
    }

    pub(super) fn pup_names(&mut self, columns: &[Column]) -> Vec<Name> {
        let known = self.context.pups.iter().map(|p| p.id.clone()).collect::<Vec<_>>();
        let answers = self.answers.pups.clone();
        self.names(columns, &Role::Pup, &known, &answers, "no pup of this litter: leave the rows out", About::Pup)
    }

    pub(super) fn carer_names(&mut self, columns: &[Column]) -> Vec<Name> {
        let (known, answers) = (self.context.carers.clone(), self.answers.carers.clone());
        self.names(columns, &Role::Carer, &known, &answers, "nobody on record: keep the name in the note", About::Carer)
    }

    fn names(
        &mut self,
        columns: &[Column],
        role: &Role,
        known: &[String],
        answers: &BTreeMap<String, Option<String>>,
        none: &str,
        about: fn(String) -> About,
    ) -> Vec<Name> {
        let known: Vec<&str> = known.iter().map(String::as_str).collect();
        let Some(column) = columns.iter().find(|c| c.role == *role) else { return Vec::new() };
        let weights: Vec<usize> = columns.iter().filter(|c| c.role.has_numbers()).map(|c| c.number - 1).collect();
        let mut strange: BTreeSet<&str> = BTreeSet::new();
        for row in &self.sheet.rows {
            let name = row.cell(column.number - 1);
            let is_strange = !name.is_empty() && !known.contains(&name);
            if is_strange && strange.len() < MOST_NAMES && weights.iter().any(|p| !row.cell(*p).is_empty()) {
                strange.insert(name);
            }
        }
        let names: Vec<Name> = strange
            .into_iter()
            .map(|found| Name {
                found: found.to_owned(),
                answer: answers
                    .get(found)
                    .cloned()
                    .filter(|a| a.as_ref().is_none_or(|id| known.contains(&id.as_str()))),
                candidates: near(found, &known),
            })
            .collect();
        for name in names.iter().filter(|n| n.answer.is_none()) {
            let options = options_of_names(&name.found, &known, none);
            self.ask(about(name.found.clone()), format!("Who is {}?", quoted(&name.found)), options);
        }
        names
    }
}

/// A date that cannot be misread: 28 Mar 2027.
fn in_words(date: jiff::civil::Date) -> String {
    date.strftime("%-d %b %Y").to_string()
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
