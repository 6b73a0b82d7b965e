//! The days in which the birth is due, counted from a known day, with the published spread.

use jiff::civil::Date;
use jiff::{Timestamp, ToSpan};

use crate::record::{Dam, Facts};
use crate::references::{self as source, Source, Sourced};

/// Days from the surge of the hormone LH: first, middle, last.
const FROM_LH: Sourced<[i64; 3]> = Sourced::new([64, 65, 66], &source::DUE_FROM_LH);
/// Days from ovulation.
const FROM_OVULATION: Sourced<[i64; 3]> = Sourced::new([62, 63, 64], &source::DUE_FROM_OVULATION);
/// Days from the first mating.
const FROM_FIRST_MATING: Sourced<[i64; 3]> = Sourced::new([57, 65, 72], &source::DUE_FROM_FIRST_MATING);
/// Days from the only mating; no middle is published.
const FROM_ONLY_MATING: Sourced<[i64; 2]> = Sourced::new([55, 68], &source::DUE_FROM_ONLY_MATING);
/// More days than this from a mating without labour: ring the vet.
const OVERDUE_AFTER: Sourced<i64> = Sourced::new(70, &source::OVERDUE);

/// What the days are counted from, the surest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Counted {
    Ovulation,
    LhSurge,
    OnlyMating,
    FirstMating,
}

impl Counted {
    /// As it is said to a person.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Ovulation => "ovulation",
            Self::LhSurge => "the LH surge",
            Self::OnlyMating => "the only mating",
            Self::FirstMating => "the first mating",
        }
    }
}

/// The days in which the birth is due.
#[derive(Debug, Clone, Copy)]
pub struct DueWindow {
    pub counted: Counted,
    /// The day that was counted from.
    pub day_0: Date,
    pub first: Date,
    /// None where no middle is published.
    pub middle: Option<Date>,
    pub last: Date,
    /// From this day on without labour: ring the vet.
    pub ring_from: Date,
    pub source: &'static Source,
    pub ring_source: &'static Source,
}

/// The window from one known day. Days are calendar days by the litter's clocks.
///
/// Days from LH surge: 64 to 66; ovulation: 62 to 64; first mating: 57 to 72; an only mating:
/// 55 to 68. Sources: the rows `due-from-…`. Valid for days that a calendar holds.
#[must_use]
pub fn due_window(counted: Counted, day_0: Date) -> DueWindow {
    let (first, middle, last, source) = match counted {
        Counted::LhSurge => spread(FROM_LH),
        Counted::Ovulation => spread(FROM_OVULATION),
        Counted::FirstMating => spread(FROM_FIRST_MATING),
        Counted::OnlyMating => {
            let [first, last] = FROM_ONLY_MATING.value;
            (first, None, last, FROM_ONLY_MATING.source)
        }
    };
    let after = |days: i64| day_0.saturating_add(days.days());
    // From ovulation and LH the window is so narrow that its end is the end; from a mating the
    // published figure counts.
    let (ring_after, ring_source) = match counted {
        Counted::LhSurge | Counted::Ovulation => (last, &source::OVERDUE_KNOWN_DAY),
        Counted::FirstMating | Counted::OnlyMating => (OVERDUE_AFTER.value, OVERDUE_AFTER.source),
    };
    DueWindow {
        counted,
        day_0,
        first: after(first),
        middle: middle.map(after),
        last: after(last),
        ring_from: after(ring_after + 1),
        source,
        ring_source,
    }
}

fn spread(days: Sourced<[i64; 3]>) -> (i64, Option<i64>, i64, &'static Source) {
    let [first, middle, last] = days.value;
    (first, Some(middle), last, days.source)
}

/// Every window that the facts allow, the surest first.
#[must_use]
pub fn due_windows(facts: &Facts) -> Vec<DueWindow> {
    let Dam { ovulated_at, lh_surge_at, mated_at, is_mated_once, .. } = facts.dam;
    let mating = if is_mated_once { Counted::OnlyMating } else { Counted::FirstMating };
    let known = [(Counted::Ovulation, ovulated_at), (Counted::LhSurge, lh_surge_at), (mating, mated_at)];
    let day = |at: Timestamp| at.to_zoned_datetime(facts.litter.zone.clone()).date();
    known.into_iter().filter_map(|(counted, at)| Some(due_window(counted, day(at?)))).collect()
}

/// The surest window.
#[must_use]
pub fn first_due_window(facts: &Facts) -> Option<DueWindow> {
    due_windows(facts).into_iter().next()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn published_due_windows() {
        // Care handbook section 14, checks 24 and 25.
        let lh = due_window(Counted::LhSurge, date(2025, 1, 1));
        assert_eq!((lh.first, lh.middle, lh.last), (date(2025, 3, 6), Some(date(2025, 3, 7)), date(2025, 3, 8)));
        let mated = due_window(Counted::FirstMating, date(2025, 1, 1));
        assert_eq!((mated.first, mated.last), (date(2025, 2, 27), date(2025, 3, 14)));
        // Section 11: 65 days on average; 55 to 68 from a single mating, no average printed.
        assert_eq!(mated.middle, Some(date(2025, 3, 7)));
        let once = due_window(Counted::OnlyMating, date(2025, 1, 1));
        assert_eq!((once.first, once.middle, once.last), (date(2025, 2, 25), None, date(2025, 3, 10)));
    }

    #[test]
    fn ovulation_is_two_days_after_the_surge() {
        // Section 11: LH to ovulation 2 days, so both ways of counting name the same days.
        let lh = due_window(Counted::LhSurge, date(2024, 1, 1));
        let ovulation = due_window(Counted::Ovulation, date(2024, 1, 3));
        assert_eq!((lh.first, lh.middle, lh.last), (ovulation.first, ovulation.middle, ovulation.last));
        assert_eq!(ovulation.middle, Some(date(2024, 3, 6)), "a leap year: 63 days");
    }

    #[test]
    fn the_vet_is_rung_after_day_70_from_a_mating() {
        // Section 11 (Jutkowitz 2005, Box 2): more than 70 days.
        let mated = due_window(Counted::FirstMating, date(2025, 1, 1));
        assert_eq!(mated.ring_from, date(2025, 3, 13), "day 71");
        // Ours: the day after a window that is known to two days.
        let known = due_window(Counted::Ovulation, date(2025, 1, 1));
        assert_eq!(known.ring_from, date(2025, 3, 7), "day 65");
    }
}
