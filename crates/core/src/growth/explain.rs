//! Says in plain sentences why a pup stands as it does, from the score's own terms.

use super::floors::Standing;
use super::score::{ALL, Sign};
use super::screen::{Cause, Doubt};
use super::watch::Assessment;

impl Assessment {
    /// The reasons, gravest first; never empty.
    pub fn sentences(&self) -> Vec<String> {
        if let Some(doubt) = &self.doubt {
            return vec![doubt.sentence(self)];
        }
        let mut out = Vec::new();
        out.extend(self.floor.map(|f| f.sentence().to_owned()));
        if self.standing != Standing::DoingWell {
            let mut by_size: Vec<(f64, Sign)> = self.parts.into_iter().zip(ALL).collect();
            by_size.sort_by(|a, b| b.0.total_cmp(&a.0));
            let most = by_size.iter().take_while(|(part, _)| *part > 0.25).take(3);
            for (_, sign) in most {
                out.extend(self.sentence_for(*sign).filter(|s| !out.contains(s)));
            }
        }
        if self.whole_litter_slow {
            out.push("The whole litter is slow: look at the dam and at the room.".to_owned());
        }
        if !self.enough_data {
            let hours = self.weigh_again_in_hours.unwrap_or(12.0);
            out.push(format!("Not enough data yet: weigh again in {hours:.0} h."));
        }
        if out.is_empty() {
            out.push(match self.standing {
                Standing::DoingWell => "It grows as expected.".to_owned(),
                _ => "Several small signs add up: weigh again soon.".to_owned(),
            });
        }
        out
    }

    fn sentence_for(&self, sign: Sign) -> Option<String> {
        Some(match sign {
            Sign::Filter => {
                let odds = format!("its last weights look like faltering with {:.0} in 100", 100.0 * self.p_faltering);
                match self.last_day {
                    Some((hours, gained, expected)) => format!(
                        "It {} {:.0} g in {hours:.0} h where a gain of about {expected:.0} g was \
                         expected; {odds}.",
                        if gained < 0.0 { "lost" } else { "gained" },
                        gained.abs()
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

impl Doubt {
    fn sentence(&self, about: &Assessment) -> String {
        let what = match self.cause {
            Cause::Tenfold => "the decimal point may have slipped",
            Cause::Digit => "a digit may be missing or doubled",
            Cause::Transposed => "two digits may be exchanged",
            Cause::Unit => "it may be in ounces or pounds",
            Cause::WrongPup(_) => "it fits a litter-mate better",
            Cause::Tare => "the towel or bowl may have been weighed too",
            Cause::Unexplained => "no slip explains it",
        };
        let meant = match self.candidates.first() {
            Some((_, grams)) => format!(" (perhaps {grams:.0} g)"),
            None => String::new(),
        };
        format!(
            "{:.0} g does not fit; about {:.0} g was expected and {what}{meant}. Weigh again now; \
             if it is right, keep it.",
            about.reading_g, about.weight_g
        )
    }
}
