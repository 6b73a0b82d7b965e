//! Three facts and three changes, the weightiest first.

use super::{OUTLOOK_H, Review};
use crate::units::{Grams, Millilitres, format_quantity, number};

/// Facts and changes that are said.
const MOST: usize = 3;
/// Milk thrown away above this share is worth a change (our own).
const MUCH_WASTE_PERCENT: f64 = 25.0;
/// Hours from sign to action above this are worth a change (our own).
const SLOW_H: f64 = 6.0;

fn plural(n: usize, one: &str, many: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {many}") }
}

pub fn facts(r: &Review) -> Vec<String> {
    let l = r.losses;
    let mut all = vec![format!(
        "{} born alive of {}; {} of these {} lost.",
        l.born_alive(),
        l.born,
        l.lost(),
        if l.lost() == 1 { "was" } else { "were" }
    )];
    if r.warnings.warnings > 0 || r.warnings.troubles > 0 {
        let undecided = match r.warnings.undecided {
            0 => String::new(),
            n => format!("{n} not decided yet, "),
        };
        all.push(format!(
            "{}: {} right, {} of them late, {undecided}{} false; {} of {} came without one.",
            plural(r.warnings.warnings, "warning", "warnings"),
            r.warnings.right,
            r.warnings.late,
            r.warnings.false_ones,
            r.warnings.missed,
            plural(r.warnings.troubles, "trouble", "troubles"),
        ));
    }
    if r.gaps.of > 0 {
        all.push(format!(
            "{} between feeds by hand: {} late, {} so long that a feed was missed or not written down.",
            plural(r.gaps.of, "gap", "gaps"),
            r.gaps.late,
            r.gaps.missed
        ));
    }
    if let Some(hours) = r.hours_to_action {
        all.push(format!("From a first sign to the first thing done: {} h in the middle.", number(hours, 1, false)));
    }
    if let Some(milk) = r.milk {
        let volume = |ml: f64| format_quantity(ml.round(), &Millilitres::ROW);
        all.push(match milk.mixed {
            Some(mixed) => format!(
                "{} of milk were mixed, {} % of it not fed.",
                volume(mixed.mixed_ml),
                number(mixed.wasted_percent, 0, false)
            ),
            None => format!("{} of milk were fed by hand.", volume(milk.taken_ml)),
        });
    }
    if let Some(grams) = r.household.middle_birth_weight_g {
        all.push(format!("Middle weight at birth: {}.", format_quantity(grams, &Grams::ROW)));
    }
    all.truncate(MOST);
    all
}

pub fn changes(r: &Review) -> Vec<String> {
    let mut all = Vec::new();
    if r.warnings.missed > 0 {
        all.push("Trouble came without a warning: weigh twice a day through the first two weeks, and check warmth and suck in each round.".to_owned());
    }
    if r.hours_to_action.is_some_and(|h| h > SLOW_H) {
        all.push("Hours passed between a sign and the first act: look at the page Now after each round, and check the pups it names at once.".into());
    }
    if r.warnings.late > 0 {
        all.push("Some warnings came late: shorten the time between weighings of light pups in the first days.".into());
    }
    if r.gaps.missed > 0 {
        all.push(
            "Feeds were missed or not written down: set the alarms of the timetable, and tick each feed as it is given."
                .into(),
        );
    }
    if r.gaps.late > 0 {
        all.push("Rounds ran late: write down each carer's hours, so that the timetable fits the house.".into());
    }
    if let Some(badly) = r.limits.iter().find(|l| l.is_badly_set) {
        all.push(format!(
            "{} of {} stops for {} were kept as typed: that limit is badly set for this house; tell who maintains the program.",
            badly.kept, badly.hits, badly.limit
        ));
    }
    if r.milk.and_then(|m| m.mixed).is_some_and(|m| m.wasted_percent > MUCH_WASTE_PERCENT) {
        all.push("Much milk was thrown away: mix for one round, by the mixing card.".into());
    }
    let tired = r.nights.iter().filter(|n| n.of > 0 && n.broken * 2 > n.of).max_by_key(|n| n.broken);
    if let Some(tired) = tired {
        all.push(format!(
            "{} got up in {} of {} nights: share the nights, or ask for another carer.",
            tired.carer, tired.broken, tired.of
        ));
    }
    if r.household.middle_birth_weight_g.is_none() {
        all.push("No weight at birth is written down: weigh each pup when it is dry.".into());
    }
    if all.is_empty() {
        all.push(no_change(r));
    }
    all.truncate(MOST);
    all
}

/// Where no rule above finds a change. That all was well is said only of a record that holds nothing else.
fn no_change(r: &Review) -> String {
    let (l, w) = (r.losses, r.warnings);
    if w.undecided > 0 {
        format!(
            "What became of some warnings is not known yet: look back again {} h after the last of them.",
            number(OUTLOOK_H, 0, false)
        )
    } else if l.stillborn + l.lost() + w.troubles + w.false_ones > 0 {
        "These rules find no change to propose. Go through the losses and warnings with your vet all the same.".into()
    } else {
        "Nothing in the record asks for a change. Keep weighing as you did.".into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::review::{Beside, Warnings, review};

    #[test]
    fn that_all_was_well_stands_beside_no_problem() {
        let toml = "format = 1\n[litter]\nname = \"Fern\"\nbreed = \"Maltese\"\ntime_zone = \"UTC\"\nscale_step_g = 1\n\
                    whelped_at = 2026-03-02T00:00:00Z\n[[pup]]\nid = \"Ash\"\nsex = \"female\"\nmarks = \"plain\"\n\
                    born_at = 2026-03-02T00:00:00Z\nbirth_weight = 300\nunit = \"g\"\n";
        let files = crate::record::FolderFiles { litter_toml: Some(toml.into()), ..Default::default() };
        let now = "2026-03-05T00:00:00Z".parse().unwrap();
        let mut looked_back = review(&crate::record::parse(&files).unwrap(), &Beside::default(), now);
        looked_back.warnings = Warnings::default();
        assert_eq!(changes(&looked_back), ["Nothing in the record asks for a change. Keep weighing as you did."]);

        looked_back.warnings = Warnings { warnings: 1, false_ones: 1, ..Warnings::default() };
        assert!(changes(&looked_back)[0].contains("with your vet"));
        looked_back.warnings = Warnings { warnings: 2, undecided: 1, right: 1, troubles: 1, ..Warnings::default() };
        assert!(changes(&looked_back)[0].contains("not known yet"));
        assert!(facts(&looked_back)[1].contains("1 right, 0 of them late, 1 not decided yet, 0 false"));
        looked_back.warnings = Warnings::default();
        looked_back.losses.stillborn = 1;
        assert!(changes(&looked_back)[0].contains("with your vet"));
    }
}
