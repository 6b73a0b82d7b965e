//! An invented litter as plain values. Times are seconds before the time of asking (`ago`);
//! a negative one lies in the future.

/// One hour in seconds.
pub const H: i64 = 3600;
/// One day in seconds.
pub const DAY: i64 = 24 * H;

/// The ounce and the pound in g, from NIST SP 811 (2008), appendix B.8.
const OUNCE: f64 = 28.349_523_125;
const POUND: f64 = 453.592_37;

#[derive(Clone)]
pub struct Litter {
    /// The time of asking, seconds since 1970.
    pub now: i64,
    pub zone: &'static str,
    pub breed: Option<&'static str>,
    pub adult_kg: f64,
    pub expected_pups: Option<u32>,
    pub most_rounds: Option<u32>,
    pub energy_table: Option<&'static str>,
    pub energy: Option<f64>,
    pub dam_with_pups: bool,
    pub dam_milk: &'static str,
    /// For each carer: taught by a vet to feed by tube.
    pub carers: Vec<bool>,
    /// For each carer: when it can be there, and when it sleeps; nothing when not said.
    pub hours: Vec<(Option<&'static str>, Option<&'static str>)>,
    pub milks: Vec<Milk>,
    pub in_use: Option<usize>,
    pub pups: Vec<Pup>,
    /// Of the dam, the box and the litter.
    pub checks: Vec<Check>,
}

#[derive(Clone, Debug)]
pub struct Milk {
    pub kind: &'static str,
    pub kcal_per_ml: Option<f64>,
    pub contains: Vec<&'static str>,
    pub water_c: Option<f64>,
    /// Powder and water of the label's ratio.
    pub ratio: Option<(f64, f64)>,
}

#[derive(Clone, Debug)]
pub struct Pup {
    pub age: i64,
    pub birth: Option<Weight>,
    pub premature: bool,
    pub rearing: &'static str,
    pub wants_tube: bool,
    pub joined: Option<i64>,
    /// When and why it left; the time may lie ahead.
    pub left: Option<(i64, &'static str)>,
    pub weighings: Vec<Weighing>,
    pub feeds: Vec<Feed>,
    pub checks: Vec<Check>,
    pub order: Option<Order>,
    /// A slip was put into the weighings on purpose.
    pub has_slip: bool,
}

/// A weight as it is typed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Weight {
    /// Tenths of a gram.
    Grams(u32),
    /// Hundredths of an ounce.
    Ounces(u32),
    /// Pounds, and hundredths of an ounce.
    PoundsOunces(u32, u32),
}

#[derive(Clone, Debug)]
pub struct Weighing {
    pub ago: i64,
    pub weight: Weight,
    pub taken: &'static str,
}

#[derive(Clone, Debug)]
pub struct Feed {
    pub ago: i64,
    pub method: &'static str,
    pub offered: Option<f64>,
    pub taken: Option<f64>,
    pub milk: Option<usize>,
    /// Weights before and after a nursing, in g.
    pub nursed: Option<(f64, f64)>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    pub ago: i64,
    pub kind: &'static str,
    pub value: String,
}

#[derive(Clone, Debug)]
pub struct Order {
    pub given: i64,
    /// Seconds from now; an order may end within the plan.
    pub until_in: Option<i64>,
    pub per_feed: Option<f64>,
    pub hours: Option<f64>,
    pub energy: Option<f64>,
}

impl Weight {
    /// To the whole milligram, as weights are stored (U-14).
    pub fn grams(self) -> f64 {
        let exact = match self {
            Self::Grams(tenths) => f64::from(tenths) / 10.0,
            Self::Ounces(hundredths) => f64::from(hundredths) / 100.0 * OUNCE,
            Self::PoundsOunces(lb, hundredths) => f64::from(lb) * POUND + f64::from(hundredths) / 100.0 * OUNCE,
        };
        (exact * 1000.0).round() / 1000.0
    }

    pub fn unit(self) -> &'static str {
        match self {
            Self::Grams(_) => "g",
            Self::Ounces(_) => "oz",
            Self::PoundsOunces(..) => "lb_oz",
        }
    }

    pub fn text(self) -> String {
        match self {
            Self::Grams(tenths) => (f64::from(tenths) / 10.0).to_string(),
            Self::Ounces(hundredths) => (f64::from(hundredths) / 100.0).to_string(),
            Self::PoundsOunces(lb, hundredths) => format!("{lb} lb {} oz", f64::from(hundredths) / 100.0),
        }
    }

    /// The nearest weight that can be typed in a unit (0 g, 1 oz, 2 lb and oz).
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "weights of pups")]
    pub fn nearest(grams: f64, unit: usize) -> Self {
        let grams = grams.clamp(31.0, 24_000.0);
        let ounces = (grams / OUNCE * 100.0).round() as u32;
        match unit {
            0 => Self::Grams((grams * 10.0).round() as u32),
            1 => Self::Ounces(ounces),
            _ => Self::PoundsOunces(ounces / 1600, ounces % 1600),
        }
    }
}

impl Feed {
    pub fn is_by_hand(&self) -> bool {
        self.method != "nursing"
    }

    /// What the stomach may have received; none when nothing was written down.
    pub fn at_most(&self) -> Option<f64> {
        self.taken.or(self.offered)
    }
}

impl Pup {
    /// The checks of one kind that are known now, oldest first.
    pub fn checks_of(&self, kind: &str) -> Vec<&Check> {
        known(&self.checks, kind)
    }

    /// The value of the newest check of a kind.
    pub fn latest(&self, kind: &str) -> Option<&str> {
        self.checks_of(kind).last().map(|c| c.value.as_str())
    }

    pub fn is(&self, kind: &str, words: &[&str]) -> bool {
        self.latest(kind).is_some_and(|w| words.contains(&w))
    }

    pub fn is_here(&self) -> bool {
        self.age >= 0 && self.joined.is_none_or(|j| j >= 0) && self.left.is_none_or(|(at, _)| at < 0)
    }
}

impl Litter {
    /// The newest known check of dam, box or litter.
    pub fn latest(&self, kind: &str) -> Option<&Check> {
        known(&self.checks, kind).pop()
    }

    pub fn is(&self, kind: &str, words: &[&str]) -> bool {
        self.latest(kind).is_some_and(|c| words.contains(&c.value.as_str()))
    }

    /// More mL than the pup ever weighed in g is refused by the format, so nobody has written it.
    pub fn drop_impossible_feeds(&mut self) {
        for pup in &mut self.pups {
            let weighed = pup.weighings.iter().map(|w| w.weight.grams());
            let heaviest = weighed.chain(pup.birth.map(Weight::grams)).fold(0.0, f64::max);
            pup.feeds.retain(|f| heaviest == 0.0 || f.at_most().is_none_or(|ml| ml <= heaviest));
        }
    }

    pub fn milk_in_use(&self) -> Option<&Milk> {
        self.in_use.map(|i| &self.milks[i])
    }
}

fn known<'a>(checks: &'a [Check], kind: &str) -> Vec<&'a Check> {
    let mut known: Vec<&Check> = checks.iter().filter(|c| c.kind == kind && c.ago >= 0).collect();
    known.sort_by_key(|c| -c.ago);
    known
}
