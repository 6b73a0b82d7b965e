//! Concessions: what a household could give so that a plan exists, each priced by solving again.
//!
//! For each concession alone the smallest that is enough is found: the weakest milk, the fewest
//! rounds. When none is enough alone, each two together. The price of an offer is the
//! objective of its plan, where a visit from outside counts like one wake-up in place of the
//! price that keeps visits few.

use jiff::Timestamp;

use super::household::{self, DAYS, VISITOR, VISITOR_PRICE, Wishes};
use super::plan::{self, LitterPlan};
use super::problem::Visit;
use crate::assess::Assessment;
use crate::need::{Need, NoneNeeded};
use crate::record::Facts;

/// As many rounds a day as the shortest gap allows, and more.
pub const ROUNDS_WITHOUT_LIMIT: u32 = 24;
/// A milk so many times as strong is looked for, in twentieths.
const STRONGEST: f64 = 3.0;

/// Something that the household could give.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lift {
    Milk,
    Taught,
    ByTube,
    Rounds,
    Visitor,
    TaughtVisitor,
}

/// A concession, or two, with the plan that it makes possible.
#[derive(Debug, Clone)]
pub struct Offer {
    pub lifts: Vec<Lift>,
    pub wishes: Wishes,
    pub plan: LitterPlan,
    pub price: i64,
}

/// Every concession that is enough, the cheapest first; where none is, the cheapest two.
#[must_use]
pub fn offers(
    facts: &Facts,
    assessment: &Assessment,
    needs: &[Result<Need, NoneNeeded>],
    now: Timestamp,
    wishes: &Wishes,
) -> Vec<Offer> {
    let household = Household { facts, assessment, needs, now };
    let offer = |lifts: &[Lift]| household.offer(wishes, lifts);
    let single = [Lift::Milk, Lift::Taught, Lift::ByTube, Lift::Rounds, Lift::Visitor];
    let mut found: Vec<Offer> = single.iter().filter_map(|l| offer(&[*l])).collect();
    // Someone taught is asked for only where someone is not enough.
    if !found.iter().any(|o| o.lifts == [Lift::Visitor]) {
        found.extend(offer(&[Lift::TaughtVisitor]));
    }
    if found.is_empty() {
        let lifts = [Lift::Milk, Lift::Taught, Lift::ByTube, Lift::Rounds, Lift::Visitor, Lift::TaughtVisitor];
        let pairs = (0..lifts.len()).flat_map(|i| (i + 1..lifts.len()).map(move |j| [lifts[i], lifts[j]]));
        let pairs = pairs.filter(|p| *p != [Lift::Visitor, Lift::TaughtVisitor]);
        found.extend(pairs.filter_map(|pair| offer(&pair)).min_by_key(|o| o.price));
    }
    found.sort_by_key(|o| o.price);
    found
}

struct Household<'a> {
    facts: &'a Facts,
    assessment: &'a Assessment,
    needs: &'a [Result<Need, NoneNeeded>],
    now: Timestamp,
}

impl Household<'_> {
    fn has_plan(&self, wishes: &Wishes) -> bool {
        plan::is_possible(self.facts, self.assessment, self.needs, self.now, wishes)
    }

    /// A concession of the smallest size that is enough.
    fn offer(&self, wishes: &Wishes, lifts: &[Lift]) -> Option<Offer> {
        let facts = self.facts;
        let most = lifts.iter().try_fold(wishes.clone(), |wishes, lift| lifted(facts, &wishes, *lift))?;
        if !self.has_plan(&most) {
            return None;
        }
        let mut least = most.clone();
        for lift in lifts {
            // More is never less possible, so the smallest size is found by halving.
            let sizes = sizes(facts, *lift);
            let (mut too_little, mut is_enough) = (0, sizes.len().saturating_sub(1));
            while too_little < is_enough {
                let middle = usize::midpoint(too_little, is_enough);
                if self.has_plan(&sized(&least, *lift, sizes[middle])) {
                    is_enough = middle;
                } else {
                    too_little = middle + 1;
                }
            }
            if let Some(size) = sizes.get(is_enough) {
                least = sized(&least, *lift, *size);
            }
        }
        let solve = |wishes: &Wishes| plan::best(facts, self.assessment, self.needs, self.now, wishes);
        // The grid of a plan may shift by minutes with what is due; then the largest stays.
        let (wishes, plan) = match solve(&least) {
            Some(plan) => (least, plan),
            None => (most.clone(), solve(&most)?),
        };
        // A concession that its plan makes no use of is none.
        let is_used = !lifts.contains(&Lift::ByTube) || plan.figures().tube_fed > 0;
        is_used.then(|| Offer { lifts: lifts.to_vec(), wishes, price: price(facts, &plan), plan })
    }
}

/// The concession at its largest; none when the household has given it already.
fn lifted(facts: &Facts, wishes: &Wishes, lift: Lift) -> Option<Wishes> {
    let wishes = wishes.clone();
    match lift {
        Lift::Milk => Some(Wishes { milk_factor: Some(STRONGEST), ..wishes }),
        Lift::Taught => {
            (!facts.carers.iter().all(|c| c.tube_taught_by_vet)).then_some(Wishes { all_taught: true, ..wishes })
        }
        Lift::ByTube => wishes.tube_fed.is_none().then_some(Wishes { tube_fed: Some(usize::MAX), ..wishes }),
        Lift::Rounds => {
            facts.litter.most_rounds_per_day.map(|_| Wishes { most_rounds: Some(ROUNDS_WITHOUT_LIMIT), ..wishes })
        }
        Lift::Visitor => Some(Wishes { visitor: true, ..wishes }),
        Lift::TaughtVisitor => Some(Wishes { visitor: true, visitor_may_tube: true, ..wishes }),
    }
}

/// The sizes of a concession, from the smallest; nothing where it has none.
fn sizes(facts: &Facts, lift: Lift) -> Vec<u32> {
    match lift {
        Lift::Milk => (21..=60).collect(),
        Lift::Rounds => (facts.litter.most_rounds_per_day.unwrap_or(0) + 1..=ROUNDS_WITHOUT_LIMIT).collect(),
        _ => Vec::new(),
    }
}

fn sized(wishes: &Wishes, lift: Lift, size: u32) -> Wishes {
    let wishes = wishes.clone();
    match lift {
        Lift::Milk => Wishes { milk_factor: Some(f64::from(size) / 20.0), ..wishes },
        Lift::Rounds => Wishes { most_rounds: Some(size), ..wishes },
        _ => wishes,
    }
}

/// The visits of someone from outside.
pub fn visits(plan: &LitterPlan) -> impl Iterator<Item = &Visit> {
    let all = plan.first.iter().map(|f| &f.visit).chain(&plan.plan.visits);
    all.filter(|v| is_from_outside(plan, v))
}

fn is_from_outside(plan: &LitterPlan, visit: &Visit) -> bool {
    plan.carers.iter().position(|c| c == VISITOR).is_some_and(|k| visit.choice.carers >> k & 1 == 1)
}

/// The objective of the plan with each visit priced as a wake-up.
fn price(facts: &Facts, plan: &LitterPlan) -> i64 {
    let count = |n: usize| i64::try_from(n).expect("rounds of two days");
    let before: i64 = plan.first.iter().map(|f| f.visit.choice.hands_on_s).sum();
    let in_plan = plan.plan.visits.iter().filter(|v| is_from_outside(plan, v)).count();
    let all = count(visits(plan).count());
    before + plan.plan.price - VISITOR_PRICE * count(in_plan) + household::wake_up_s(facts) * all
}

/// Hands-on minutes a day of a plan.
#[must_use]
#[expect(clippy::cast_possible_wrap, reason = "two days")]
pub fn minutes_a_day(plan: &LitterPlan) -> i64 {
    plan.figures().hands_on_s / 60 / DAYS as i64
}
