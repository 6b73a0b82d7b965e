//! The published limits on loss, which hold whatever the model believes.

use crate::finding::Level;
use crate::references::{self as source, Sourced};

/// Loss in percent of the birth weight, or of the highest weight in two days.
pub const LOSS_TEN: Sourced<i64> = Sourced::new(10, &source::LOSS_TEN);
pub const LOSS_FOUR: Sourced<i64> = Sourced::new(4, &source::LOSS_FOUR);

/// "At two days" begins here: few weighings fall on the hour (own judgement).
const TWO_DAYS_H: f64 = 40.0;

/// A published limit that a pup has crossed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Floor {
    /// 10 % or more under birth weight.
    LostTenth,
    /// 4 % or more under birth weight at two days or later.
    LostFour,
    /// The same on the second day, before the published time.
    LostFourOnDayTwo,
    /// The same in the first day, when some loss is expected.
    LostFourOnDayOne,
    /// Under birth weight after 48 h and more likely losing than gaining.
    StillUnderBirthWeight,
    /// Under birth weight after 48 h, but gaining.
    UnderBirthWeight,
    /// A tenth of the weight lost within two days, at any age.
    LostTenthIn48h,
    /// A loss too large for a feed or chance that was weighed again and is right.
    SuddenLoss,
    /// Not above birth weight at 72 h, and no gain over the last day.
    NoGainBy72h,
}

impl Floor {
    /// The code of its finding.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::LostTenth => "lost-10",
            Self::LostFour | Self::LostFourOnDayTwo | Self::LostFourOnDayOne => "lost-4",
            Self::StillUnderBirthWeight | Self::UnderBirthWeight => "below-birth-weight",
            Self::LostTenthIn48h => "lost-10-in-48h",
            Self::SuddenLoss => "sudden-loss",
            Self::NoGainBy72h => "no-gain-72h",
        }
    }

    #[must_use]
    pub const fn level(self) -> Level {
        match self {
            Self::LostTenth | Self::LostTenthIn48h => Level::VetNow,
            Self::NoGainBy72h => Level::VetToday,
            Self::LostFour | Self::LostFourOnDayTwo | Self::StillUnderBirthWeight | Self::SuddenLoss => {
                Level::NeedsHelp
            }
            Self::LostFourOnDayOne | Self::UnderBirthWeight => Level::KeepWatch,
        }
    }
}

/// Facts of one reading, as far as the limits need them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Facts {
    pub age_hours: f64,
    /// None: the birth weight is not known.
    pub birth_g: Option<f64>,
    pub grams: f64,
    /// The highest reading of the last 48 h.
    pub highest_g: f64,
    /// Heavier than about a day ago.
    pub gained: bool,
    /// Chance that the pup is gaining.
    pub p_gaining: f64,
    /// The reading was far below expectation and is believed all the same.
    pub sudden_loss: bool,
}

/// The limits crossed: against the birth weight, against the last two days, no gain by 72 h.
pub type Crossed = [Option<Floor>; 3];

/// What they make of a standing by the weights alone. Before the published time a loss of 4 % is
/// left to the score there, or healthy pups in their dip would use up the stated rate of false
/// alarms; in the findings of `today` it counts.
#[must_use]
pub fn level(crossed: &Crossed) -> Level {
    let level = |floor: Floor| match floor {
        Floor::LostFourOnDayTwo => Level::KeepWatch,
        other => other.level(),
    };
    crossed.iter().flatten().map(|f| level(*f)).max().unwrap_or(Level::Note)
}

/// Whether the loss is at least this many percent, exactly: in whole milligrams.
#[must_use]
pub fn has_lost(percent: i64, from_g: f64, to_g: f64) -> bool {
    let (from, to) = (milligrams(from_g), milligrams(to_g));
    100 * (from - to) >= percent * from
}

#[expect(clippy::cast_possible_truncation, reason = "weights of pups")]
fn milligrams(grams: f64) -> i64 {
    (grams * 1000.0).round() as i64
}

/// The limits that a reading crosses.
#[must_use]
pub fn crossed(f: &Facts) -> Crossed {
    let below_birth = f.birth_g.and_then(|birth| {
        if has_lost(LOSS_TEN.value, birth, f.grams) {
            Some(Floor::LostTenth)
        } else if has_lost(LOSS_FOUR.value, birth, f.grams) {
            Some(match f.age_hours {
                h if h >= TWO_DAYS_H => Floor::LostFour,
                h if h >= 24.0 => Floor::LostFourOnDayTwo,
                _ => Floor::LostFourOnDayOne,
            })
        } else if f.grams < birth && f.age_hours >= 48.0 {
            Some(if f.p_gaining < 0.5 { Floor::StillUnderBirthWeight } else { Floor::UnderBirthWeight })
        } else {
            None
        }
    });
    let sudden = if has_lost(LOSS_TEN.value, f.highest_g, f.grams) {
        Some(Floor::LostTenthIn48h)
    } else {
        f.sudden_loss.then_some(Floor::SuddenLoss)
    };
    let no_gain = f.age_hours >= 72.0 && f.birth_g.is_some_and(|birth| f.grams <= birth) && !f.gained;
    [below_birth, sudden, no_gain.then_some(Floor::NoGainBy72h)]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(age_hours: f64, birth_g: f64, grams: f64) -> Option<Floor> {
        let facts = Facts {
            age_hours,
            birth_g: Some(birth_g),
            grams,
            highest_g: grams,
            gained: false,
            p_gaining: 0.9,
            sudden_loss: false,
        };
        crossed(&facts).into_iter().flatten().max_by_key(|f| f.level())
    }

    /// The examples 4 and 5 of the growth handbook's "Checks for tests".
    #[test]
    fn published_limits_hold_at_both_sides_of_their_edge() {
        assert_eq!(at(48.0, 400.0, 384.0), Some(Floor::LostFour));
        assert_eq!(at(47.9, 400.0, 385.0), None);
        assert_eq!(at(40.0, 400.0, 384.0), Some(Floor::LostFour));
        assert_eq!(at(39.9, 400.0, 384.0), Some(Floor::LostFourOnDayTwo));
        assert_eq!(at(24.0, 400.0, 384.0), Some(Floor::LostFourOnDayTwo));
        assert_eq!(at(23.9, 400.0, 384.0), Some(Floor::LostFourOnDayOne));
        assert_eq!(at(48.0, 250.0, 240.0), Some(Floor::LostFour));
        assert_eq!(at(48.0, 300.0, 270.0), Some(Floor::LostTenth));
        assert_eq!(at(12.0, 300.0, 270.0), Some(Floor::LostTenth));
        assert_eq!(at(12.0, 300.0, 270.1), Some(Floor::LostFourOnDayOne));
        assert_eq!(at(72.0, 300.0, 300.0), Some(Floor::NoGainBy72h));
        assert_eq!(at(71.9, 300.0, 300.0), None);
        assert_eq!(at(72.0, 300.0, 300.1), None);
    }

    #[test]
    fn published_four_per_cent_rule() {
        // Handbook growth.md check 4 (Mila et al. 2015, read): fires at exactly -4 %.
        assert!(has_lost(4, 400.0, 384.0));
        assert!(!has_lost(4, 400.0, 385.0));
        assert!(has_lost(4, 250.0, 240.0));
        // Handbook care.md check 14: 300 g, 287 g is -4.33 %.
        assert!(has_lost(4, 300.0, 287.0));
    }

    #[test]
    fn a_loss_within_two_days_and_one_that_was_confirmed_speak_without_a_birth_weight() {
        let facts = Facts {
            age_hours: 200.0,
            birth_g: None,
            grams: 450.0,
            highest_g: 500.0,
            gained: false,
            p_gaining: 0.1,
            sudden_loss: true,
        };
        assert_eq!(crossed(&facts), [None, Some(Floor::LostTenthIn48h), None]);
        assert_eq!(crossed(&Facts { grams: 451.0, ..facts }), [None, Some(Floor::SuddenLoss), None]);
        assert_eq!(crossed(&Facts { grams: 451.0, sudden_loss: false, ..facts }), [None; 3]);
    }

    #[test]
    fn under_the_birth_weight_it_matters_whether_it_gains() {
        let facts = Facts {
            age_hours: 48.0,
            birth_g: Some(400.0),
            grams: 399.0,
            highest_g: 400.0,
            gained: false,
            p_gaining: 0.4,
            sudden_loss: false,
        };
        assert_eq!(crossed(&facts)[0], Some(Floor::StillUnderBirthWeight));
        assert_eq!(crossed(&Facts { p_gaining: 0.5, ..facts })[0], Some(Floor::UnderBirthWeight));
        assert_eq!(crossed(&Facts { age_hours: 47.9, ..facts })[0], None);
    }
}
