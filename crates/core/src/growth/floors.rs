//! The published limits that hold whatever the model believes.

/// What the program says of a pup.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    DoingWell,
    KeepWatch,
    NeedsHelp,
    RingTheVet,
}

/// A published limit that a pup has crossed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Floor {
    /// 10 % or more under birth weight (home veterinary handbook, p. 493): ring now.
    LostTenth,
    /// No gain on birth weight by 72 h (same page): ring today.
    NoGainBy72h,
    /// 4 % or more under birth weight at two days (Mila et al. 2015).
    LostFourPercent,
    /// Under birth weight after 48 h and more likely losing than gaining (own judgement on
    /// "failure to gain: call", same handbook, p. 492).
    StillUnderBirthWeight,
    /// A loss too large for chance that was weighed again and is right (own judgement: no
    /// score may talk it away).
    SuddenLoss,
}

impl Floor {
    pub fn standing(self) -> Standing {
        match self {
            Floor::LostTenth | Floor::NoGainBy72h => Standing::RingTheVet,
            Floor::LostFourPercent | Floor::StillUnderBirthWeight | Floor::SuddenLoss => Standing::NeedsHelp,
        }
    }

    pub fn sentence(self) -> &'static str {
        match self {
            Floor::LostTenth => "It is a tenth or more under its birth weight: ring the vet now.",
            Floor::NoGainBy72h => "It is 3 days old and not above its birth weight: vet today.",
            Floor::LostFourPercent => "It is 4 % or more under its birth weight after 2 days: top up, weigh in 6-12 h.",
            Floor::SuddenLoss => "It lost far more since the last weighing than a feed or chance explains.",
            Floor::StillUnderBirthWeight => {
                "It is more than 2 days old, under its birth weight and not clearly gaining."
            }
        }
    }
}

/// Facts of one accepted reading, as far as the limits need them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Facts {
    pub age_hours: f64,
    pub birth_g: f64,
    pub grams: f64,
    /// One was taken before and the other after a feed: a full stomach is as large as the
    /// 4 % line, so that line is not drawn between them.
    pub mixed_pair: bool,
    /// Chance that the pup gained over the last 24 h.
    pub p_gaining: f64,
    /// The reading was far below expectation and is believed all the same.
    pub sudden_loss: bool,
}

/// The gravest limit crossed. Written without division, so that exact edges are exact.
pub fn crossed(f: &Facts) -> Option<Floor> {
    let lost = f.birth_g - f.grams;
    if 10.0 * lost >= f.birth_g {
        Some(Floor::LostTenth)
    } else if f.age_hours >= 72.0 && lost >= 0.0 {
        Some(Floor::NoGainBy72h)
    } else if f.age_hours >= 48.0 && 100.0 * lost >= 4.0 * f.birth_g && !f.mixed_pair {
        Some(Floor::LostFourPercent)
    } else if f.sudden_loss {
        Some(Floor::SuddenLoss)
    } else if f.age_hours >= 48.0 && lost > 0.0 && f.p_gaining < 0.5 {
        Some(Floor::StillUnderBirthWeight)
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(age_hours: f64, birth_g: f64, grams: f64) -> Option<Floor> {
        crossed(&Facts { age_hours, birth_g, grams, mixed_pair: false, p_gaining: 0.9, sudden_loss: false })
    }

    /// The examples 4 and 5 of the growth handbook's "Checks for tests".
    #[test]
    fn published_limits_hold_at_both_sides_of_their_edge() {
        assert_eq!(at(48.0, 400.0, 384.0), Some(Floor::LostFourPercent));
        assert_eq!(at(48.0, 400.0, 385.0), None);
        assert_eq!(at(47.9, 400.0, 384.0), None);
        assert_eq!(at(48.0, 250.0, 240.0), Some(Floor::LostFourPercent));
        assert_eq!(at(48.0, 300.0, 270.0), Some(Floor::LostTenth));
        assert_eq!(at(12.0, 300.0, 270.0), Some(Floor::LostTenth));
        assert_eq!(at(12.0, 300.0, 271.0), None);
        assert_eq!(at(72.0, 300.0, 300.0), Some(Floor::NoGainBy72h));
        assert_eq!(at(71.9, 300.0, 300.0), None);
        assert_eq!(at(72.0, 300.0, 301.0), None);
    }

    #[test]
    fn a_mixed_pair_does_not_fire_the_four_percent_line_but_fires_the_tenth() {
        let facts = Facts {
            age_hours: 50.0,
            birth_g: 400.0,
            grams: 380.0,
            mixed_pair: true,
            p_gaining: 0.9,
            sudden_loss: false,
        };
        assert_eq!(crossed(&facts), None);
        assert_eq!(crossed(&Facts { sudden_loss: true, ..facts }), Some(Floor::SuddenLoss));
        assert_eq!(crossed(&Facts { p_gaining: 0.4, ..facts }), Some(Floor::StillUnderBirthWeight));
        assert_eq!(crossed(&Facts { grams: 360.0, ..facts }), Some(Floor::LostTenth));
    }

    #[test]
    fn standings_are_ordered_by_gravity() {
        assert!(Standing::RingTheVet > Standing::NeedsHelp);
        assert!(Standing::NeedsHelp > Standing::KeepWatch);
        assert_eq!(Floor::LostTenth.standing(), Standing::RingTheVet);
        assert_eq!(Floor::LostFourPercent.standing(), Standing::NeedsHelp);
    }
}
