//! What the growth model adds: a warning at the stated rate of false alarms, and a litter that is
//! slow as a whole. It may raise a standing and never lowers one.

use jiff::Timestamp;

use super::PupAssessment;
use super::growth::how_to_help;
use crate::finding::{Finding, Level, Standing};
use crate::record::hours_between;
use crate::references::GROWTH_MODEL;
use crate::units::WeightUnit;

/// A litter that was slow longer ago than this is no news.
const LITTER_NEWS_H: f64 = 36.0;

/// The warning of the model on the latest reading that counts.
pub fn findings(pup: &PupAssessment, unit: WeightUnit) -> Option<Finding> {
    let (judged, latest) = (pup.growth.as_ref()?, pup.latest()?);
    let (level, then) = match judged.by_score {
        Standing::DoingWell => return None,
        Standing::KeepWatch => (Level::KeepWatch, "weigh it again in 12 h."),
        Standing::NeedsHelp | Standing::RingTheVet => {
            (Level::NeedsHelp, "weigh it in 6 to 12 h; no gain then: ring the vet today.")
        }
    };
    Some(
        Finding::of_pup(&pup.pup.id, "may-falter", level, &GROWTH_MODEL)
            .says(format!("it may be faltering. {}", judged.reasons(unit).join(" ")))
            .action(how_to_help(pup, then))
            .since(latest.at),
    )
}

/// When half of the pups falter at once, the cause is seldom in the pups.
pub fn whole_litter(pups: &[PupAssessment], now: Timestamp) -> Option<Finding> {
    let judged = pups.iter().filter_map(|p| Some((p.latest()?.at, p.growth.as_ref()?)));
    let (at, newest) = judged.max_by_key(|(at, _)| *at)?;
    (newest.whole_litter_slow && hours_between(at, now).get() < LITTER_NEWS_H).then(|| {
        let mut finding = Finding::of_litter("litter-slow", Level::KeepWatch, &GROWTH_MODEL)
            .says("half of the pups or more grow too slowly at the same time")
            .action("Look at the dam (milk, glands, temperature, appetite) and at the warmth of the box and the room.")
            .since(at);
        finding.is_sign = false;
        finding
    })
}
