//! When a weight on the scale counts, and that each pup is taken once.
//!
//! Our own rules (usability D-3): the same weight, give or take one count, in three stable reports
//! in a row over 600 ms; then nothing more until the scale was empty again. A pup that will not
//! lie still is offered as the median of the last three seconds, and marked as moving.

use std::collections::VecDeque;
use std::time::Duration;

use super::{Reading, Shown, Trouble};

/// Below this nothing lies on the scale: a hair, a breath, a drop.
pub const EMPTY_BELOW_MG: i64 = 5_000;
const LEAST_REPORTS: usize = 3;
const LEAST_TIME: Duration = Duration::from_millis(600);
/// Reports further apart than this are not "in a row".
const LONGEST_GAP: Duration = Duration::from_secs(2);
const MEDIAN_OF: Duration = Duration::from_secs(3);

/// A weight that may be taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Offer {
    /// Each weight on the scale has another number.
    pub number: u64,
    pub mg: i64,
    /// The median of a pup that did not lie still.
    pub is_moving: bool,
}

/// What the scale shows now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shows {
    /// No report yet.
    Nothing,
    /// Empty.
    Ready,
    /// Something lies on it and is not settled; not to be stored.
    Moving { mg: i64 },
    /// A settled weight, or the median of one that moves.
    Settled { mg: i64 },
    /// The pup that was taken still lies on it.
    TakeOff { mg: i64 },
    /// The scale gives no weight, and says why.
    Trouble(Trouble),
}

/// Follows the reports of one scale. `at` is the time since any fixed moment.
#[derive(Debug, Default)]
pub struct Acceptance {
    last: Option<(Duration, Result<Reading, Trouble>)>,
    /// Stable reports in a row that agree: when the first came, how many, what it showed.
    run: Option<(Duration, usize, Shown)>,
    /// Weights of the last seconds since the scale was empty.
    recent: VecDeque<(Duration, i64)>,
    since_empty: Option<Duration>,
    offer: Option<Offer>,
    /// The offer was taken, and the scale was not empty since.
    is_taken: bool,
    /// The pup of the offer was lifted off.
    is_lifted: bool,
    count: u64,
    steps: Steps,
}

impl Acceptance {
    /// Takes in one report.
    pub fn hear(&mut self, report: Result<Reading, Trouble>, at: Duration) {
        let is_in_a_row = self.last.is_some_and(|(before, _)| at.saturating_sub(before) <= LONGEST_GAP);
        if !is_in_a_row {
            self.run = None;
            self.recent.clear();
            self.since_empty = self.since_empty.map(|_| at);
        }
        self.last = Some((at, report));
        match report {
            Ok(Reading::Zero) | Err(Trouble::UnderZero) => self.is_empty(),
            Ok(Reading::Moving(shown) | Reading::Stable(shown)) if shown.mg < EMPTY_BELOW_MG => self.is_empty(),
            Ok(Reading::Moving(shown)) => {
                self.run = None;
                self.weighs(shown, at);
            }
            Ok(Reading::Stable(shown)) => {
                self.weighs(shown, at);
                self.stands_still(shown, at);
            }
            // Anything else breaks the row, and says nothing of what lies there.
            Err(_) => self.run = None,
        }
    }

    fn is_empty(&mut self) {
        self.run = None;
        self.recent.clear();
        self.since_empty = None;
        self.is_lifted = true;
        self.is_taken = false;
    }

    fn weighs(&mut self, shown: Shown, at: Duration) {
        self.since_empty.get_or_insert(at);
        self.recent.push_back((at, shown.mg));
        while self.recent.front().is_some_and(|(then, _)| at.saturating_sub(*then) > MEDIAN_OF) {
            self.recent.pop_front();
        }
        let has_lain_long = self.since_empty.is_some_and(|since| at.saturating_sub(since) >= MEDIAN_OF);
        let has_settled = self.offer.is_some_and(|o| !o.is_moving && !self.is_lifted);
        if self.run.is_none() && has_lain_long && !has_settled && !self.is_taken {
            let mut weights: Vec<i64> = self.recent.iter().map(|(_, mg)| *mg).collect();
            weights.sort_unstable();
            let median = weights[weights.len() / 2];
            self.offers(median, true);
        }
    }

    fn stands_still(&mut self, shown: Shown, at: Duration) {
        let run = match self.run {
            Some((began, reports, first))
                if (shown.mg - first.mg).abs() <= first.count_mg && shown.count_mg == first.count_mg =>
            {
                (began, reports + 1, first)
            }
            _ => (at, 1, shown),
        };
        self.run = Some(run);
        let (began, reports, _) = run;
        if reports < LEAST_REPORTS || at.saturating_sub(began) < LEAST_TIME || self.is_taken {
            return;
        }
        self.steps.note(shown);
        let is_the_same =
            self.offer.is_some_and(|o| !self.is_lifted && !o.is_moving && (o.mg - shown.mg).abs() <= shown.count_mg);
        if !is_the_same {
            self.offers(shown.mg, false);
        }
    }

    /// The median of a pup that goes on moving keeps its number.
    fn offers(&mut self, mg: i64, is_moving: bool) {
        let goes_on = is_moving && !self.is_lifted && self.offer.is_some_and(|o| o.is_moving);
        if !goes_on {
            self.count += 1;
        }
        self.offer = Some(Offer { number: self.count, mg, is_moving });
        self.is_lifted = false;
    }

    /// The weight of this number was stored; no weight is offered until the scale was empty.
    pub fn take(&mut self, number: u64) {
        if self.offer.is_some_and(|o| o.number == number) {
            self.offer = None;
            self.is_taken = !self.is_lifted;
        }
    }

    /// The weight that may be stored: of what lies there, or of what was lifted off last.
    #[must_use]
    pub fn offer(&self) -> Option<Offer> {
        self.offer
    }

    #[must_use]
    pub fn shows(&self) -> Shows {
        match self.last {
            None => Shows::Nothing,
            Some((_, Err(trouble))) => Shows::Trouble(trouble),
            Some((_, Ok(Reading::Zero))) => Shows::Ready,
            Some((_, Ok(Reading::Moving(shown) | Reading::Stable(shown)))) => match self.offer {
                _ if shown.mg < EMPTY_BELOW_MG => Shows::Ready,
                _ if self.is_taken => Shows::TakeOff { mg: shown.mg },
                Some(offer) if !self.is_lifted => Shows::Settled { mg: offer.mg },
                _ => Shows::Moving { mg: shown.mg },
            },
        }
    }

    /// The step in which this scale shows weights, mg, once enough different weights were seen.
    #[must_use]
    pub fn step_mg(&self) -> Option<i64> {
        self.steps.step_mg()
    }
}

/// The steps of the scale are the greatest number that divides every weight it has shown. Of eight
/// weights that are multiples of the step by chance, all are multiples of a larger one in fewer
/// than one of 200 cases: 1 - 1/ζ(8) = 0.4 %.
#[derive(Debug, Default)]
struct Steps {
    count_mg: i64,
    counts: Vec<i64>,
}
const ENOUGH_WEIGHTS: usize = 8;

impl Steps {
    fn note(&mut self, shown: Shown) {
        if shown.count_mg != self.count_mg {
            // Another unit or another power of ten: other steps.
            *self = Self { count_mg: shown.count_mg, counts: Vec::new() };
        }
        // Back to whole counts, because ounces are no whole milligrams.
        let counts = (2 * shown.mg + self.count_mg) / (2 * self.count_mg);
        if self.counts.len() < ENOUGH_WEIGHTS && !self.counts.contains(&counts) {
            self.counts.push(counts);
        }
    }

    fn step_mg(&self) -> Option<i64> {
        let step = self.counts.iter().fold(0, |a, b| divisor(a, *b));
        (self.counts.len() >= ENOUGH_WEIGHTS).then_some(step * self.count_mg)
    }
}

/// The greatest common divisor.
fn divisor(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { divisor(b, a % b) }
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn grams(g: i64) -> Shown {
        Shown { mg: g * 1000, count_mg: 1000 }
    }

    /// A scale that reports every so many milliseconds.
    struct Bench {
        scale: Acceptance,
        at: Duration,
        every: Duration,
    }

    impl Bench {
        fn new(every_ms: u64) -> Self {
            Self { scale: Acceptance::default(), at: Duration::ZERO, every: Duration::from_millis(every_ms) }
        }

        fn hear(&mut self, report: Result<Reading, Trouble>) -> &mut Self {
            self.at += self.every;
            self.scale.hear(report, self.at);
            self
        }

        fn still(&mut self, g: i64, times: usize) -> &mut Self {
            for _ in 0..times {
                self.hear(Ok(Reading::Stable(grams(g))));
            }
            self
        }

        fn moving(&mut self, g: i64) -> &mut Self {
            self.hear(Ok(Reading::Moving(grams(g))))
        }

        fn empty(&mut self) -> &mut Self {
            self.hear(Ok(Reading::Zero))
        }

        fn offered(&self) -> Option<(i64, bool)> {
            self.scale.offer().map(|o| (o.mg / 1000, o.is_moving))
        }

        fn take(&mut self) {
            let number = self.scale.offer().expect("something to take").number;
            self.scale.take(number);
        }
    }

    #[test]
    fn three_reports_over_600_ms_settle_a_weight_and_neither_alone_does() {
        let mut slow = Bench::new(300);
        slow.still(357, 2);
        assert_eq!(slow.offered(), None, "two reports");
        slow.still(357, 1);
        assert_eq!(slow.offered(), Some((357, false)), "three over 600 ms");

        let mut fast = Bench::new(100);
        fast.still(357, 6);
        assert_eq!(fast.offered(), None, "six over 500 ms");
        fast.still(357, 1);
        assert_eq!(fast.offered(), Some((357, false)), "seven over 600 ms");
        assert_eq!(fast.scale.shows(), Shows::Settled { mg: 357_000 });
    }

    #[test]
    fn one_count_of_difference_is_the_same_weight_and_two_are_not() {
        let mut near = Bench::new(300);
        near.still(357, 1).still(358, 1).still(356, 1);
        assert_eq!(near.offered(), Some((356, false)));
        let mut far = Bench::new(300);
        far.still(357, 2).still(359, 1);
        assert_eq!(far.offered(), None);
        // A weight that creeps never leaves the first of its row by more than one count.
        let mut creeping = Bench::new(300);
        creeping.still(350, 1).still(351, 1).still(352, 1).still(353, 1).still(354, 1);
        assert_eq!(creeping.offered(), None);
    }

    #[test]
    fn a_movement_an_error_or_a_silence_breaks_the_row() {
        for broken in [Ok(Reading::Moving(grams(357))), Err(Trouble::OverLimit), Err(Trouble::Short(5))] {
            let mut bench = Bench::new(300);
            bench.still(357, 2).hear(broken).still(357, 2);
            assert_eq!(bench.offered(), None, "{broken:?}");
        }
        let mut bench = Bench::new(300);
        bench.still(357, 2);
        bench.at += Duration::from_secs(5);
        bench.still(357, 2);
        assert_eq!(bench.offered(), None);
    }

    #[test]
    fn a_pup_is_taken_once_until_the_scale_was_empty() {
        let mut bench = Bench::new(300);
        bench.empty().still(357, 3);
        bench.take();
        assert_eq!(bench.scale.shows(), Shows::TakeOff { mg: 357_000 });
        bench.still(357, 10);
        assert_eq!(bench.offered(), None, "it still lies there");
        // Another pup put down before the first is lifted is not believed either.
        bench.still(410, 10);
        assert_eq!(bench.offered(), None);
        // 5 g are something; 4 g are nothing.
        bench.still(5, 1).still(410, 4);
        assert_eq!(bench.offered(), None);
        bench.still(4, 1).still(410, 3);
        assert_eq!(bench.offered(), Some((410, false)));
    }

    #[test]
    fn a_weight_stays_offered_when_its_pup_is_lifted_and_gives_way_to_the_next() {
        let mut bench = Bench::new(300);
        bench.empty().still(357, 3).empty().empty();
        assert_eq!(bench.offered(), Some((357, false)));
        assert_eq!(bench.scale.shows(), Shows::Ready);
        let first = bench.scale.offer().unwrap().number;
        // Taken after it was lifted: the next pup counts at once.
        bench.take();
        bench.still(357, 3);
        assert_eq!(bench.offered(), Some((357, false)), "a sister of the same weight");
        assert_ne!(bench.scale.offer().unwrap().number, first);
    }

    #[test]
    fn less_than_zero_counts_as_empty_and_says_what_to_do() {
        let mut bench = Bench::new(300);
        bench.still(357, 3);
        bench.take();
        bench.hear(Err(Trouble::UnderZero));
        assert_eq!(bench.scale.shows(), Shows::Trouble(Trouble::UnderZero));
        bench.still(400, 3);
        assert_eq!(bench.offered(), Some((400, false)));
    }

    #[test]
    fn a_wriggling_pup_is_offered_as_the_median_of_three_seconds() {
        let mut bench = Bench::new(300);
        bench.empty();
        // The first report of it comes at 600 ms, the one three seconds later at 3600 ms.
        let weights = [330, 370, 352, 348, 351, 390, 350, 349, 353, 310];
        for g in weights {
            bench.moving(g);
        }
        assert_eq!(bench.offered(), None, "2.7 seconds");
        bench.moving(351);
        // By hand: 310 330 348 349 350 351 351 352 353 370 390; the sixth of eleven.
        assert_eq!(bench.offered(), Some((351, true)));
        let number = bench.scale.offer().unwrap().number;
        bench.moving(360);
        assert_eq!(bench.scale.offer().unwrap().number, number, "the same pup");
        // It lies still at last: that counts more.
        bench.still(352, 3);
        assert_eq!(bench.offered(), Some((352, false)));
        assert_ne!(bench.scale.offer().unwrap().number, number);
        // And a later wriggle does not undo it.
        for g in [340, 360, 350, 340, 360, 350, 340, 360, 350, 340, 360, 350] {
            bench.moving(g);
        }
        assert_eq!(bench.offered(), Some((352, false)));
    }

    #[test]
    fn the_step_of_the_scale_shows_after_eight_weights() {
        let mut bench = Bench::new(300);
        for g in [302, 334, 356, 378, 410, 422, 444] {
            bench.empty().still(g, 3);
        }
        assert_eq!(bench.scale.step_mg(), None, "seven");
        bench.empty().still(350, 3);
        assert_eq!(bench.scale.step_mg(), Some(2_000));
    }

    #[test]
    fn what_was_not_offered_cannot_be_taken() {
        let mut bench = Bench::new(300);
        bench.still(357, 3);
        bench.scale.take(7);
        assert_eq!(bench.offered(), Some((357, false)));
    }
}
