//! The layout of a sheet, the role of each column, and their units.

use std::collections::BTreeSet;

use super::columns::{Column, Facts, Role, is_of_something_else, role, without_unit};
use super::dates::written;
use super::guess::{Judged, Layout};
use super::names::near;
use super::questions::{About, Question};
use super::table::Table;
use super::weights::SheetUnit;
use super::{Answers, Context, quoted};

/// What the parts of the guess are judged from.
pub(super) struct Parts<'a> {
    pub sheet: &'a Table<'a>,
    pub facts: &'a [Facts],
    pub context: &'a Context,
    pub answers: &'a Answers,
    pub questions: Vec<Question>,
}

impl Parts<'_> {
    pub(super) fn ask(&mut self, about: About, text: impl Into<String>, options: Vec<String>) {
        self.questions.push(Question::new(about, text, options));
    }

    pub(super) fn pup_ids(&self) -> Vec<&str> {
        self.context.pups.iter().map(|p| p.id.as_str()).collect()
    }

    /// The pup whose heading this is, letter by letter or as answered.
    fn pup_of_heading(&self, place: usize) -> Option<String> {
        let heading = self.sheet.heading(place);
        for name in [heading, without_unit(heading)] {
            if self.pup_ids().contains(&name) {
                return Some(name.to_owned());
            }
            if let Some(answer) = self.answers.pups.get(name) {
                return answer.clone();
            }
        }
        None
    }

    pub(super) fn layout(&self) -> Judged<Layout> {
        if let Some(layout) = self.answers.layout {
            return Judged::settled(layout, "as answered");
        }
        let places = || 0..self.sheet.width;
        let dates = places().filter(|p| written(without_unit(self.sheet.heading(*p))).is_some()).count();
        if dates > 0 {
            return Judged::settled(Layout::DateColumns, format!("{dates} headings are dates"));
        }
        let pups = places().filter(|p| self.pup_of_heading(*p).is_some()).count();
        if pups > 0 {
            return Judged::settled(Layout::PupColumns, format!("{pups} headings are names of pups"));
        }
        let roles: Vec<Role> = places().map(|p| role(self.sheet.heading(p), &self.facts[p]).0).collect();
        let has = |wanted: fn(&Role) -> bool| roles.iter().any(wanted);
        let numbers = |p: &usize| roles[*p] == Role::NotUsed && self.facts[*p].are_weights();
        let nearly = places()
            .filter(|p| {
                self.facts[*p].are_weights() && !near(without_unit(self.sheet.heading(*p)), &self.pup_ids()).is_empty()
            })
            .count();
        if nearly > 0 && !has(|r| *r == Role::Pup) {
            return Judged::settled(Layout::PupColumns, format!("{nearly} headings are nearly names of pups"));
        }
        let strange = places().filter(numbers).filter(|p| !is_of_something_else(self.sheet.heading(*p))).count();
        let is_wide = !has(|r| *r == Role::Pup)
            && !has(|r| matches!(r, Role::Weight { .. }))
            && has(|r| matches!(r, Role::Date | Role::DateTime))
            && strange >= 2;
        if is_wide && self.sheet.header.is_some() {
            return Judged::settled(Layout::PupColumns, "several columns of numbers beside one of dates");
        }
        Judged::settled(Layout::Long, "no heading is a date or the name of a pup")
    }

    pub(super) fn columns(&mut self, layout: Layout) -> Vec<Column> {
        let mut columns: Vec<Column> = (0..self.sheet.width).map(|place| self.column(layout, place)).collect();
        if layout == Layout::Long {
            pair_pounds_with_ounces(&mut columns, self.answers);
            self.only_numbers_are_weights(&mut columns);
        }
        columns
    }

    fn column(&mut self, layout: Layout, place: usize) -> Column {
        let heading = self.sheet.heading(place);
        let facts = &self.facts[place];
        let name = without_unit(heading);
        let unit = SheetUnit::in_heading(heading);
        let (role, why) = if let Some(role) = self.answers.roles.get(&(place + 1)) {
            (role.clone(), "as answered".to_owned())
        } else {
            let (plain, why) = role(heading, facts);
            match layout {
                Layout::Long => (plain, why),
                Layout::DateColumns if written(name).is_some() => {
                    (Role::WeightsAt { unit }, "its heading is a date".to_owned())
                }
                Layout::PupColumns if self.pup_of_heading(place).is_some() => {
                    let pup = self.pup_of_heading(place).unwrap_or_default();
                    (Role::WeightsOf { pup, unit }, "its heading is the name of a pup".to_owned())
                }
                Layout::PupColumns | Layout::DateColumns => {
                    let is_date = matches!(plain, Role::Date | Role::Time | Role::DateTime);
                    let does_not_fit = plain.has_numbers() || (layout == Layout::DateColumns && is_date);
                    if does_not_fit || (plain == Role::NotUsed && facts.are_weights()) {
                        self.ask_for_column(layout, place);
                        (Role::NotUsed, "it holds numbers, and its heading does not say whose".to_owned())
                    } else {
                        (plain, why)
                    }
                }
            }
        };
        Column {
            number: place + 1,
            header: heading.to_owned(),
            role,
            first_values: self.facts[place].first_values.clone(),
            why,
        }
    }

    /// A column of numbers in a wide sheet: never left out without a word.
    fn ask_for_column(&mut self, layout: Layout, place: usize) {
        let heading = self.sheet.heading(place);
        let name = without_unit(heading);
        if is_of_something_else(heading)
            || self.answers.pups.contains_key(name)
            || self.answers.pups.contains_key(heading)
        {
            return;
        }
        let number = place + 1;
        if layout == Layout::PupColumns && !name.is_empty() {
            let options = options_of_names(name, &self.pup_ids(), "no pup: leave the column out");
            self.ask(About::Pup(name.to_owned()), format!("Column {number}: which pup is {}?", quoted(name)), options);
        } else {
            let text = format!("Column {number} ({}) holds numbers: what are they?", quoted(heading));
            self.ask(About::Role, text, vec![Role::NotUsed.words()]);
        }
    }

    /// Where no heading names a weight, the one column of numbers is it.
    fn only_numbers_are_weights(&self, columns: &mut [Column]) {
        if columns.iter().any(|c| c.role.is_weight()) {
            return;
        }
        let numbers: Vec<usize> = columns
            .iter()
            .enumerate()
            .filter(|(place, c)| {
                c.role == Role::NotUsed
                    && self.facts[*place].are_weights()
                    && !is_of_something_else(&c.header)
                    && !self.answers.roles.contains_key(&c.number)
            })
            .map(|(place, _)| place)
            .collect();
        if let [place] = numbers[..] {
            columns[place].role = Role::Weight { unit: SheetUnit::in_heading(&columns[place].header), taken: None };
            columns[place].why = "the only column of numbers".into();
        }
    }

    pub(super) fn units(&mut self, columns: &mut [Column]) {
        if columns.iter().any(|c| c.role == Role::UnitWord) {
            return;
        }
        let mut open = Vec::new();
        for column in columns.iter_mut() {
            let facts = &self.facts[column.number - 1];
            let Some(unit) = column.role.unit_mut() else { continue };
            if unit.is_some() {
                continue;
            }
            if facts.weights > 0 && facts.own_units == facts.weights {
                *unit = Some(SheetUnit::InCells);
            } else if let Some(answer) = self.answers.unit {
                *unit = Some(answer);
            } else {
                open.push(column.number.to_string());
            }
        }
        if !open.is_empty() {
            let home = self.context.household_unit;
            let others = SheetUnit::ALL.into_iter().filter(|u| *u != home);
            let options = std::iter::once(home).chain(others).map(|u| u.words().to_owned()).collect();
            let text =
                format!("In which unit are the weights of column {}? Nothing in the file says it.", open.join(", "));
            self.ask(About::Unit, text, options);
        }
    }

    pub(super) fn check_roles(&mut self, layout: Layout, columns: &[Column]) {
        let count = |wanted: fn(&Role) -> bool| columns.iter().filter(|c| wanted(&c.role)).count();
        let pups = count(|r| *r == Role::Pup);
        let dates = count(|r| matches!(r, Role::Date | Role::DateTime));
        let times = count(|r| matches!(r, Role::Time | Role::DateTime));
        let mut wrong: Vec<String> = Vec::new();
        if layout != Layout::PupColumns && pups == 0 {
            match &self.answers.only_pup {
                Some(pup) if self.pup_ids().contains(&pup.as_str()) => {}
                _ => {
                    let options = self.pup_ids().iter().map(|id| (*id).to_owned()).collect();
                    self.ask(
                        About::OnlyPup,
                        "No column names the pup: which column does, or which one pup is it all about?",
                        options,
                    );
                }
            }
        }
        if pups > 1 {
            wrong.push("Several columns name the pup: which one counts?".into());
        }
        let layout_without_dates = layout == Layout::DateColumns;
        if !layout_without_dates && dates != 1 {
            wrong.push(format!("{dates} columns hold the date of the weighing: which one does?"));
        }
        if !layout_without_dates && times > 1 {
            wrong.push("Several columns hold the time of the weighing: which one counts?".into());
        }
        let (role, missing) = match layout {
            Layout::Long => (count(Role::is_weight), "No column holds weights: which one does?"),
            Layout::PupColumns => (
                count(|r| matches!(r, Role::WeightsOf { .. })),
                "No column holds the weights of a pup: which columns do, and of which pup?",
            ),
            Layout::DateColumns => {
                (count(|r| matches!(r, Role::WeightsAt { .. })), "No column has a date as its heading: which ones do?")
            }
        };
        if role == 0 {
            wrong.push(missing.into());
        }
        let fits = |r: &Role| match layout {
            Layout::Long => !matches!(r, Role::WeightsOf { .. } | Role::WeightsAt { .. }),
            Layout::PupColumns => !matches!(r, Role::Weight { .. } | Role::WeightsAt { .. } | Role::Pounds | Role::Pup),
            Layout::DateColumns => {
                !matches!(r, Role::Weight { .. } | Role::WeightsOf { .. } | Role::Pounds)
                    && !matches!(r, Role::Date | Role::Time | Role::DateTime)
            }
        };
        for column in columns.iter().filter(|c| !fits(&c.role)) {
            let role = column.role.words();
            wrong.push(format!("Column {} as {role} does not fit this layout: what does it hold?", column.number));
        }
        let strangers: Vec<&Column> = columns
            .iter()
            .filter(|c| matches!(&c.role, Role::WeightsOf { pup, .. } if !self.pup_ids().contains(&pup.as_str())))
            .collect();
        for column in strangers {
            wrong.push(format!("Column {}: which pup of this litter is it?", column.number));
        }
        let weights: Vec<_> = columns
            .iter()
            .filter_map(|c| match &c.role {
                Role::Weight { taken, .. } => Some(*taken),
                Role::Pounds => Some(None),
                _ => None,
            })
            .collect();
        if weights.iter().collect::<BTreeSet<_>>().len() < weights.len() {
            wrong.push("Several columns hold the weight of one pup at one time: which one counts?".into());
        }
        let (pounds, ounces) = (count(|r| *r == Role::Pounds), count(|r| *r == Role::OuncesBesidePounds));
        if pounds != ounces || pounds > 1 {
            wrong.push("One column of pounds needs one of ounces beside it: which ones are they?".into());
        }
        for (several, what) in [
            (count(|r| *r == Role::UnitWord), "unit"),
            (count(|r| *r == Role::BeforeOrAfter), "word before or after"),
            (count(|r| *r == Role::Carer), "carer"),
        ] {
            if several > 1 {
                wrong.push(format!("Several columns hold the {what}: which one counts?"));
            }
        }
        for text in wrong {
            self.ask(About::Role, text, Vec::new());
        }
    }
}

fn pair_pounds_with_ounces(columns: &mut [Column], answers: &Answers) {
    let weights: Vec<usize> = (0..columns.len()).filter(|p| matches!(columns[*p].role, Role::Weight { .. })).collect();
    let [pounds, ounces] = weights[..] else { return };
    let unit = |place: usize| columns[place].role.unit();
    let are_answered = weights.iter().any(|p| answers.roles.contains_key(&(p + 1)));
    if ounces == pounds + 1
        && unit(pounds) == Some(SheetUnit::Pound)
        && unit(ounces) == Some(SheetUnit::Ounce)
        && !are_answered
    {
        columns[pounds].role = Role::Pounds;
        columns[ounces].role = Role::OuncesBesidePounds;
        for place in [pounds, ounces] {
            columns[place].why = "pounds and ounces of one weight, side by side".into();
        }
    }
}

pub(super) fn options_of_names(found: &str, known: &[&str], none: &str) -> Vec<String> {
    let near = near(found, known);
    let others = known.iter().filter(|k| !near.iter().any(|n| n == *k)).map(|k| (*k).to_owned());
    near.iter().cloned().chain(others).chain([none.to_owned()]).collect()
}
