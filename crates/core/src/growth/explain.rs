//! Says in plain sentences why a pup stands as it does, from the score's own terms.

use super::score::{ALL, Sign};
use super::watch::Assessment;
use crate::finding::Standing;
use crate::units::{Grams, WeightUnit};

/// A smaller term of the score is not spoken of.
const WORTH_SAYING: f64 = 0.25;

impl Assessment {
    /// What the model says of this reading, with weights in the household's unit; empty only
    /// where a published limit says it all.
    pub fn sentences(&self, unit: WeightUnit) -> Vec<String> {
        let shown = |grams: f64| unit.print(Grams::of(grams.round()));
        if self.doubt.is_some() {
            let (read, expected) = (shown(self.reading_g), shown(self.weight_g));
            return vec![format!("{read} does not fit: about {expected} was expected. Weigh again now.")];
        }
        let mut out = self.reasons(unit);
        if self.whole_litter_slow {
            out.push("The whole litter is slow: look at the dam and at the room.".to_owned());
        }
        if !self.enough_data {
            let hours = self.weigh_again_in_hours.unwrap_or(12.0);
            out.push(format!("Not enough data yet: weigh again in {hours:.0}\u{a0}h."));
        }
        if out.is_empty() && self.standing == Standing::DoingWell {
            out.push("It grows as expected.".to_owned());
        }
        out
    }

    /// The largest terms of the score in words, where it warns.
    pub fn reasons(&self, unit: WeightUnit) -> Vec<String> {
        let shown = |grams: f64| unit.print(Grams::of(grams.round()));
        let mut out: Vec<String> = Vec::new();
        if self.by_score == Standing::DoingWell {
            return out;
        }
        let mut by_size: Vec<(f64, Sign)> = self.parts.into_iter().zip(ALL).collect();
        by_size.sort_by(|a, b| b.0.total_cmp(&a.0));
        let most = by_size.iter().take_while(|(part, _)| *part > WORTH_SAYING).take(3);
        for (_, sign) in most {
            out.extend(self.sentence_for(*sign, &shown).filter(|s| !out.contains(s)));
        }
        if out.is_empty() {
            out.push("Several small signs add up.".to_owned());
        }
        out
    }

    fn sentence_for(&self, sign: Sign, shown: &dyn Fn(f64) -> String) -> Option<String> {
        Some(match sign {
            Sign::Filter => {
                let odds = format!("its last weights look like faltering with {:.0} in 100", 100.0 * self.p_faltering);
                match self.last_day {
                    Some((hours, gained, expected)) => format!(
                        "It {} {} in {hours:.0}\u{a0}h where a gain of about {} was expected; {odds}.",
                        if gained < 0.0 { "lost" } else { "gained" },
                        shown(gained.abs()),
                        shown(expected)
                    ),
                    None => format!("Counted together, {odds}."),
                }
            }
            Sign::BelowExpectation => "Reading after reading came in under expectation.".to_owned(),
            Sign::Days => "It has gained too little over the last two to three days.".to_owned(),
            Sign::Mates => "Its litter-mates are slow too.".to_owned(),
            Sign::BehindMates => "It falls behind its litter-mates.".to_owned(),
            Sign::Young | Sign::Age => return None,
        })
    }
}
