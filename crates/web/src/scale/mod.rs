//! The weighing scale at this computer: what it says now, for the weighing round.
//!
//! The core reads the reports and decides when a weight counts; here is the one scale of the
//! house, shared by all pages. Without a scale everything is as before: weights are typed.

mod device;

use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use tokio::sync::watch;

use whelpward_core::scale::{Acceptance, DataReport, Offer, Shows, decode};
use whelpward_core::units::{Grams, WeightUnit, number};

pub use device::{Devices, follow};

use crate::words::{say, tell};

/// Without a report for this long it has probably switched itself off (our own).
const SILENCE: Duration = Duration::from_secs(5);

/// The scale of the house.
pub struct Scale {
    began: Instant,
    inner: Mutex<Inner>,
    changed: watch::Sender<()>,
}

#[derive(Default)]
struct Inner {
    link: Link,
    acceptance: Acceptance,
    last_report: Duration,
}

/// How this computer is joined to the scale.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
enum Link {
    /// No scale is there, and nobody asked for one.
    #[default]
    None,
    Open,
    /// One clear sentence: what happened, and what to do.
    Lost(String),
}

/// What a page shows of the scale.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct View {
    /// `ready`, `moving`, `settled`, `take_off` or `trouble`.
    pub state: &'static str,
    /// A whole sentence, without the number of a weight that still moves.
    pub text: String,
    /// The weight that still moves, to be shown dim.
    pub moving: Option<String>,
    pub offer: Option<Offer>,
}

impl Default for Scale {
    fn default() -> Self {
        Self { began: Instant::now(), inner: Mutex::default(), changed: watch::Sender::new(()) }
    }
}

impl Scale {
    fn change<R>(&self, how: impl FnOnce(&mut Inner) -> R) -> R {
        let answer = how(&mut self.inner.lock().unwrap_or_else(PoisonError::into_inner));
        self.changed.send_replace(());
        answer
    }

    /// Hears of every report and of every change.
    pub fn watch(&self) -> watch::Receiver<()> {
        self.changed.subscribe()
    }

    /// A weight was stored or looked at: it is not offered again.
    pub fn take(&self, number: u64) {
        self.change(|inner| inner.acceptance.take(number));
    }

    /// The steps in which the scale shows weights, g.
    pub fn step(&self) -> Option<Grams> {
        let mg = self.inner.lock().unwrap_or_else(PoisonError::into_inner).acceptance.step_mg()?;
        Grams::new(grams(mg)).ok()
    }

    /// What the scale says now; nothing where there is none.
    pub fn view(&self, unit: WeightUnit) -> Option<View> {
        let inner = self.inner.lock().unwrap_or_else(PoisonError::into_inner);
        inner.view(unit, self.began.elapsed())
    }

    fn opened(&self) {
        self.change(|inner| *inner = Inner { link: Link::Open, ..Inner::default() });
    }

    fn lost(&self, why: String) {
        self.change(|inner| *inner = Inner { link: Link::Lost(why), ..Inner::default() });
    }

    fn is_not_there(&self) {
        self.change(|inner| *inner = Inner::default());
    }

    fn hear(&self, layout: DataReport, bytes: &[u8]) {
        let at = self.began.elapsed();
        self.change(|inner| inner.hear(layout, bytes, at));
    }
}

impl Inner {
    fn hear(&mut self, layout: DataReport, bytes: &[u8], at: Duration) {
        use whelpward_core::scale::Trouble::OtherReport;
        let report = decode(layout, bytes);
        // Some devices tell of their battery or their limits in between.
        if !matches!(report, Err(OtherReport(_))) {
            self.acceptance.hear(report, at);
        }
        self.last_report = at;
    }

    fn view(&self, unit: WeightUnit, now: Duration) -> Option<View> {
        let shown = |mg: i64| Grams::new(grams(mg)).map(|g| unit.print(g)).unwrap_or_default();
        let is_silent = now.saturating_sub(self.last_report) > SILENCE;
        let offer = self.acceptance.offer().filter(|_| self.link == Link::Open);
        let (state, text, moving) = match (&self.link, self.acceptance.shows()) {
            (Link::None, _) => return None,
            (Link::Lost(why), _) => ("trouble", why.clone(), None),
            (Link::Open, Shows::Nothing) => ("trouble", say("scale-waits"), None),
            (Link::Open, _) if is_silent => ("trouble", say("scale-silent"), None),
            (Link::Open, Shows::Trouble(why)) => ("trouble", crate::show::sentence(&why.to_string()), None),
            (Link::Open, Shows::Moving { mg }) => ("moving", say("scale-moving"), Some(shown(mg))),
            (Link::Open, Shows::TakeOff { .. }) => ("take_off", say("scale-take-off"), None),
            (Link::Open, Shows::Ready) => match offer {
                // It was lifted before anyone saved; its weight waits.
                Some(o) if !o.is_moving => ("settled", tell("scale-lifted", &[("weight", shown(o.mg).into())]), None),
                _ => ("ready", say("scale-ready"), None),
            },
            (Link::Open, Shows::Settled { mg }) => {
                let weight = [("weight", shown(mg).into())];
                let is_moving = offer.is_some_and(|o| o.is_moving);
                let text = if is_moving { tell("scale-median", &weight) } else { tell("scale-settled", &weight) };
                ("settled", text, None)
            }
        };
        Some(View { state, text, moving, offer })
    }
}

/// A weight as it stands in the fields of a unit: whole pounds, where it has any, and the number.
pub fn typed(unit: WeightUnit, mg: i64) -> (Option<String>, String) {
    let plain = |value: f64, decimals| number(value, decimals, false).replace('\u{202f}', "");
    match unit {
        WeightUnit::Gram => (None, plain(grams(mg), 1)),
        WeightUnit::Ounce => (None, plain(grams(mg) / whelpward_core::units::GRAMS_PER_OUNCE, 2)),
        WeightUnit::PoundOunce => {
            let printed = Grams::new(grams(mg)).map(|g| unit.print(g)).unwrap_or_default();
            let mut numbers = printed.split(|c: char| !c.is_ascii_digit() && c != '.').filter(|n| !n.is_empty());
            (numbers.next().map(str::to_owned), numbers.next().unwrap_or_default().to_owned())
        }
    }
}

#[expect(clippy::cast_precision_loss, reason = "a weight in milligrams is far below 2^53")]
fn grams(mg: i64) -> f64 {
    mg as f64 / 1000.0
}

#[cfg(test)]
mod tests {
    use super::*;

    const STABLE_357: [u8; 6] = [3, 4, 2, 0, 0x65, 1];

    fn at(ms: u64) -> Duration {
        Duration::from_millis(ms)
    }

    fn open() -> Inner {
        Inner { link: Link::Open, ..Inner::default() }
    }

    fn state(inner: &Inner, ms: u64) -> (&'static str, String) {
        let view = inner.view(WeightUnit::Gram, at(ms)).unwrap();
        (view.state, view.text)
    }

    #[test]
    fn a_page_shows_ready_moving_settled_and_what_is_wrong() {
        let mut scale = open();
        let mut hear = |bytes: [u8; 6], ms| {
            scale.hear(DataReport::default(), &bytes, at(ms));
            state(&scale, ms)
        };
        assert_eq!(hear([3, 2, 2, 0, 0, 0], 100).0, "ready");
        assert_eq!(hear([3, 3, 2, 0, 0x4A, 1], 200).0, "moving");
        assert_eq!(hear(STABLE_357, 300).0, "moving", "not settled yet");
        hear(STABLE_357, 600);
        let (state, text) = hear(STABLE_357, 900);
        assert_eq!(state, "settled");
        assert!(text.contains("357\u{a0}g"), "{text}");
        let (state, text) = hear([3, 6, 2, 0, 0, 0], 1000);
        assert_eq!((state, text.contains("too much")), ("trouble", true));
    }

    #[test]
    fn a_scale_that_is_silent_has_switched_itself_off() {
        let mut scale = open();
        scale.hear(DataReport::default(), &STABLE_357, at(0));
        assert_eq!(state(&scale, 5_000).0, "moving");
        assert_eq!(state(&scale, 5_001), ("trouble", say("scale-silent")));
    }

    #[test]
    fn without_a_scale_nothing_is_shown_and_a_lost_one_says_why() {
        assert_eq!(Inner::default().view(WeightUnit::Gram, at(0)), None);
        let lost = Inner { link: Link::Lost("It is gone.".into()), ..Inner::default() };
        assert_eq!(state(&lost, 0), ("trouble", "It is gone.".into()));
    }

    /// By hand: 357 000 mg are 12.592 8 oz; 1 000 000 mg are 2 lb 3.273 96 oz.
    #[test]
    fn a_weight_is_typed_in_the_unit_of_the_household() {
        assert_eq!(typed(WeightUnit::Gram, 353_800), (None, "353.8".into()));
        assert_eq!(typed(WeightUnit::Gram, 1_234_000), (None, "1234".into()));
        assert_eq!(typed(WeightUnit::Ounce, 357_000), (None, "12.59".into()));
        assert_eq!(typed(WeightUnit::PoundOunce, 1_000_000), (Some("2".into()), "3.27".into()));
    }
}
