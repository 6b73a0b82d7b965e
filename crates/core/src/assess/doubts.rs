//! Doubts about readings: what may have slipped, and what to do about it.
//!
//! What is odd is decided by the growth model (`growth::screen`). With a likely cause (tenfold, a
//! digit, two digits exchanged, the unit, another pup) a reading is held back until it is weighed
//! again. A loss without such a cause is acted on at once, because it may be true. Two readings in
//! a row that agree with each other are believed.

use super::{PupAssessment, Reading};
use crate::finding::{Finding, Level};
use crate::growth::Cause;
use crate::record::{PupId, hours_between};
use crate::references as source;
use crate::units::Grams;

/// A reading that is probably a slip.
#[derive(Debug, Clone)]
pub struct Doubt {
    pub reading: Reading,
    pub suspicion: Suspicion,
    /// Held back: nothing is computed from it.
    pub is_held_back: bool,
    /// A later reading has settled it.
    pub is_settled: bool,
    /// What the reading would be, were the suspicion right.
    pub meant: Option<Grams>,
}

/// The likely cause, in the order in which causes are tried.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Suspicion {
    Tenfold,
    MissingOrExtraDigit,
    ExchangedDigits,
    Unit,
    OtherPup(PupId),
    Tare,
    Unexplained,
}

impl Suspicion {
    /// The model's cause, with the other pup by its name.
    pub(super) fn of(cause: Cause, name: impl Fn(usize) -> PupId) -> Self {
        match cause {
            Cause::Tenfold => Self::Tenfold,
            Cause::Digit => Self::MissingOrExtraDigit,
            Cause::Transposed => Self::ExchangedDigits,
            Cause::Unit => Self::Unit,
            Cause::WrongPup(mate) => Self::OtherPup(name(mate)),
            Cause::Tare => Self::Tare,
            Cause::Unexplained => Self::Unexplained,
        }
    }

    /// The cause in words.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Tenfold => "ten times too large or too small".into(),
            Self::MissingOrExtraDigit => "a digit too many or too few".into(),
            Self::ExchangedDigits => "two digits exchanged".into(),
            Self::Unit => "grams and ounces exchanged".into(),
            Self::OtherPup(other) => format!("the weight of {other}"),
            Self::Tare => "a towel or bowl weighed too".into(),
            Self::Unexplained => "no slip that explains it".into(),
        }
    }
}

/// What to do about the open doubts of a pup.
pub fn findings(pup: &PupAssessment) -> Vec<Finding> {
    let Some(doubt) = pup.doubts.iter().rfind(|d| !d.is_settled) else { return left_out(pup).into_iter().collect() };
    let id = &pup.pup.id;
    let shown = doubt.reading.unit.print(doubt.reading.weight);
    let last = pup.readings.iter().rfind(|r| r.at < doubt.reading.at);
    let was = last.map_or(String::new(), |l| format!(" after {}", l.unit.print(l.weight)));
    let meant = doubt.meant.map_or(String::new(), |m| format!("; was {} meant?", doubt.reading.unit.print(m)));
    let is_loss = last.is_some_and(|l| doubt.reading.weight < l.weight);
    let level = if is_loss { Level::NeedsHelp } else { Level::KeepWatch };
    let then = if is_loss {
        " If it shows the same, check the scale with a known weight; if it is right, ring the vet now."
    } else {
        ""
    };
    vec![
        Finding::of_pup(id, "doubtful-weight", level, &source::SLIP_BAND)
            .says(format!("{shown} was read{was}: {}{meant}", doubt.suspicion.words()))
            .action(format!("Weigh {id} again now.{then}"))
            .since(doubt.reading.at),
    ]
}

/// A reading that nobody checked within a day, and that was then left out.
fn left_out(pup: &PupAssessment) -> Option<Finding> {
    let doubt = pup.doubts.iter().rfind(|d| d.is_held_back)?;
    let next = pup.readings.iter().find(|r| r.at > doubt.reading.at)?;
    (hours_between(doubt.reading.at, next.at).get() > 24.0).then(|| {
        let shown = doubt.reading.unit.print(doubt.reading.weight);
        Finding::of_pup(&pup.pup.id, "doubt-left-out", Level::Note, &source::SLIP_BAND)
            .says(format!("{shown} was never weighed again and is left out: {}", doubt.suspicion.words()))
            .action("If it was right, weigh again today and tell the vet of the change.")
            .since(doubt.reading.at)
    })
}
