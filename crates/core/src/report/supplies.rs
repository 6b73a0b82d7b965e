//! What to have in the house before the birth as plain data: quantiles with the error of the
//! simulation, a list to buy now and one for later, every assumption.

use jiff::ToSpan as _;
use jiff::civil::Date;
use schemars::JsonSchema;
use serde::Serialize;

use super::build::cite;
use super::{Cite, Said};
use crate::limits;
use crate::record::Facts;
use crate::references::{self as source, Source, Sourced};
use crate::supplies::{Assumptions, Draw, Expected, OwnLitter, Quantile, SYRINGES_ML, quantile, simulate};
use crate::units::Grams;
use crate::whelping::{DueWindow, first_due_window};

/// What is asked.
#[derive(Debug, Clone)]
pub struct SuppliesRequest {
    pub litter: Option<String>,
    pub expected: Expected,
    pub assumptions: Assumptions,
    /// Own closed litters that moved the assumptions, and the sizes of those of the same kind of dog.
    pub own: Vec<OwnLitter>,
    pub own_sizes: Vec<u32>,
    pub shop: Shop,
    pub due: Option<DueWindow>,
    /// The pups are born: the list comes late.
    pub is_born: bool,
    /// Whether a vet taught a carer to feed by tube; none: not known.
    pub is_tube_taught: Option<bool>,
    pub draws: u32,
    pub seed: u64,
}

impl SuppliesRequest {
    /// For a litter that is in no book and no folder.
    #[must_use]
    pub fn without_a_litter(expected: Expected) -> Self {
        Self {
            litter: None,
            assumptions: Assumptions::of(&expected, &[], &[]),
            expected,
            own: Vec::new(),
            own_sizes: Vec::new(),
            shop: Shop::default(),
            due: None,
            is_born: false,
            is_tube_taught: None,
            draws: DRAWS,
            seed: SEED,
        }
    }

    /// What the facts of a litter ask for, with what own closed litters say: all of them, and the
    /// sizes of those of the same kind of dog.
    #[must_use]
    pub fn of(facts: &Facts, own: &[OwnLitter], own_sizes: &[u32]) -> Self {
        let expected = Expected::of(facts);
        let milk = expected.milk.name.as_ref().and_then(|name| facts.milks.iter().find(|m| m.id == *name));
        Self {
            litter: Some(facts.litter.name.clone()),
            assumptions: Assumptions::of(&expected, own, own_sizes),
            own: own.to_vec(),
            own_sizes: own_sizes.to_vec(),
            shop: Shop { price_per_kg: milk.and_then(|m| m.price_per_kg), ..Shop::default() },
            due: first_due_window(facts),
            is_born: facts.pups.iter().any(|p| p.joined_at.is_none()),
            is_tube_taught: (!facts.carers.is_empty()).then(|| facts.carers.iter().any(|c| c.tube_taught_by_vet)),
            draws: DRAWS,
            seed: SEED,
            expected,
        }
    }
}

/// How many litters are drawn when nobody asks for another number.
pub const DRAWS: u32 = 20_000;
/// The fewest and the most that may be asked for.
pub const DRAWS_ALLOWED: (u32, u32) = (1_000, 200_000);
/// The seed when nobody asks for another.
pub const SEED: u64 = 1;

/// How the milk is sold.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Shop {
    /// Grams of powder, or mL of a milk that is bought as it is fed.
    pub packet: Option<f64>,
    /// In the household's money.
    pub packet_price: Option<f64>,
    pub price_per_kg: Option<f64>,
}

/// What to have in the house before the birth.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SuppliesReport {
    pub schema_version: u32,
    pub litter: Option<String>,
    /// What the number of pups rests on, in words.
    pub pups_by: String,
    /// How the answer is to be taken.
    pub caution: String,
    pub draws: u32,
    pub seed: u64,
    pub own_litters: usize,
    pub milk: SupplyMilk,
    /// Chance that any pup gets milk from us.
    pub any_by_hand_percent: f64,
    /// Chance that every pup does.
    pub all_by_hand_percent: f64,
    pub quantities: Vec<QuantityLine>,
    pub buy_now: Vec<BuyLine>,
    pub buy_later: Vec<BuyLine>,
    pub due: Option<DueLine>,
    pub notes: Vec<Said>,
    pub assumptions: Vec<AssumptionLine>,
}

/// The milk that is planned with.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SupplyMilk {
    /// Null: no milk of the household is known, and that of the assumption stands in.
    pub name: Option<String>,
    pub kcal_per_ml: f64,
    /// Null for a milk that is bought as it is fed.
    pub powder_g_per_ml: Option<f64>,
    /// In which amounts of it are counted: `g` of powder or `mL`.
    pub unit: String,
    pub packet: Option<f64>,
}

/// A quantity with its quantiles.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct QuantityLine {
    pub code: String,
    pub what: String,
    pub unit: String,
    /// Enough in 50, 80 and 95 of 100 litters.
    pub enough: Vec<QuantileLine>,
}

/// An amount that is enough in so many of 100 litters, rounded up, with the 95 % interval of the
/// simulation about it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct QuantileLine {
    pub percent: u32,
    pub value: f64,
    pub low: f64,
    pub high: f64,
}

/// A line of a shopping list.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BuyLine {
    pub what: String,
    /// Null: as the household sees fit.
    pub how_many: Option<f64>,
    /// Unit of the number; empty for things that are counted.
    pub unit: String,
    /// Packets, where the size of one is known.
    pub packets: Option<u32>,
    /// In the household's money, where a price is known.
    pub cost: Option<f64>,
    pub because: String,
    pub source: Cite,
}

/// The days in which the birth is due.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DueLine {
    pub counted_from: String,
    pub day_counted: String,
    pub first: String,
    /// Null where no middle is published.
    pub middle: Option<String>,
    pub last: String,
    /// From this day on without labour: ring the vet.
    pub ring_from: String,
    /// Things are in the house by this day.
    pub ready_by: String,
    pub source: Cite,
}

/// An assumption, with the range in which it may be set.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AssumptionLine {
    pub key: String,
    pub what: String,
    pub unit: String,
    pub value: f64,
    pub min: f64,
    pub max: f64,
    /// Where the value comes from, in words.
    pub basis: String,
    pub source: Cite,
}

/// JSON Schema of [`SuppliesReport`].
#[must_use]
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(SuppliesReport).to_value()
}

/// Days before the first day of the window by which things are in the house.
const READY_DAYS: Sourced<i64> = Sourced::new(7, &source::SUPPLY_COVER);
/// What must be in the house covers this part of litters.
const SURE: f64 = 0.95;
/// Kit that is bought before the birth covers this part of litters.
const LIKELY: f64 = 0.8;

/// Every litter of the simulation, counted up.
#[must_use]
pub fn supplies(ask: &SuppliesRequest) -> SuppliesReport {
    let drawn = simulate(&ask.expected, &ask.assumptions, ask.draws, ask.seed);
    let columns = Columns(&drawn);
    let milk = SupplyMilk {
        name: ask.expected.milk.name.clone(),
        kcal_per_ml: ask.expected.milk.kcal_per_ml.get(),
        powder_g_per_ml: ask.expected.milk.powder_g_per_ml,
        unit: if ask.expected.milk.powder_g_per_ml.is_some() { "g".into() } else { "mL".into() },
        packet: ask.shop.packet,
    };
    let list = List { ask, columns: &columns, unit: &milk.unit };
    let (buy_now, buy_later) = (list.now(), list.later());
    SuppliesReport {
        schema_version: super::SCHEMA_VERSION,
        litter: ask.litter.clone(),
        pups_by: pups_by(&ask.expected),
        caution:
            "A list for the shop. It says nothing of any one pup: what a pup gets follows from its weight on the day. \
                  Ask your vet what this dam and this litter need."
                .into(),
        draws: ask.draws,
        seed: ask.seed,
        own_litters: ask.own.len(),
        any_by_hand_percent: columns.percent(|d| d.by_hand > 0),
        all_by_hand_percent: columns.percent(|d| d.live_born > 0 && d.by_hand == d.live_born),
        quantities: quantities(ask, &columns, &milk.unit),
        due: ask.due.map(due_line),
        notes: notes(ask, &columns),
        assumptions: assumptions(&ask.assumptions),
        buy_now,
        buy_later,
        milk,
    }
}

fn pups_by(expected: &Expected) -> String {
    match (expected.counted, &expected.breed, expected.adult_or_dam()) {
        (Some(1), ..) => "1 pup counted".into(),
        (Some(n), ..) => format!("{n} pups counted"),
        (None, Some(breed), _) if crate::supplies::has_published_size(breed) => {
            format!("litters of the breed {breed}")
        }
        (None, Some(breed), Some(adult)) => {
            format!(
                "litters of dogs of about {} kg; none are published for {breed}",
                crate::units::number(adult.get() / 1000.0, 1, false)
            )
        }
        (None, None, Some(adult)) => {
            format!("litters of dogs of about {} kg", crate::units::number(adult.get() / 1000.0, 1, false))
        }
        (None, ..) => "litters of any dog".into(),
    }
}

/// The draws, a column at a time.
struct Columns<'d>(&'d [Draw]);

impl Columns<'_> {
    #[expect(clippy::cast_precision_loss, reason = "some hundred thousand draws")]
    fn percent(&self, is: impl Fn(&Draw) -> bool) -> f64 {
        let share = self.0.iter().filter(|d| is(d)).count() as f64 / self.0.len() as f64;
        (share * 1000.0).round() / 10.0
    }

    fn sorted(&self, of: impl Fn(&Draw) -> f64) -> Vec<f64> {
        let mut all: Vec<f64> = self.0.iter().map(of).collect();
        all.sort_by(f64::total_cmp);
        all
    }

    fn at(&self, p: f64, of: impl Fn(&Draw) -> f64) -> f64 {
        quantile(&self.sorted(of), p).value
    }
}

/// Rounded up to a whole step: too much in the house is the safe side.
fn up(value: f64, step: f64) -> f64 {
    (value / step - 1e-9).ceil().max(0.0) * step
}

/// Milk is counted in steps of 10 g or mL.
const MILK_STEP: f64 = 10.0;

fn quantities(ask: &SuppliesRequest, columns: &Columns<'_>, unit: &str) -> Vec<QuantityLine> {
    let line = |code: &str, what: String, unit: &str, step: f64, of: &dyn Fn(&Draw) -> f64| {
        let sorted = columns.sorted(of);
        let enough = [50, 80, 95].map(|percent| {
            let Quantile { value, low, high } = quantile(&sorted, f64::from(percent) / 100.0);
            QuantileLine { percent, value: up(value, step), low: up(low, step), high: up(high, step) }
        });
        QuantityLine { code: code.into(), what, unit: unit.into(), enough: enough.into() }
    };
    let of_milk = if unit == "g" { "milk powder" } else { "milk" };
    let mut lines = vec![
        line("born", "pups born".into(), "", 1.0, &|d| f64::from(d.born)),
        line("raised", "pups raised".into(), "", 1.0, &|d| f64::from(d.raised)),
        line("by-hand", "pups fed by hand".into(), "", 1.0, &|d| f64::from(d.by_hand)),
        line("milk", of_milk.into(), unit, MILK_STEP, &|d| d.milk),
        line("milk-first-days", format!("{of_milk} of the first days, without the dam"), unit, MILK_STEP, &|d| {
            d.milk_of_first_days
        }),
    ];
    if let Some(packet) = ask.shop.packet {
        lines.push(line("packets", "packets of it".into(), "", 1.0, &move |d| up(d.milk / packet, 1.0)));
    }
    lines.push(line("bottles", "bottles".into(), "", 1.0, &|d| f64::from(d.bottles)));
    lines.push(line("teats-small", "teats for pups up to 300 g".into(), "", 1.0, &|d| f64::from(d.teats[0])));
    lines.push(line("teats-large", "teats for pups above 300 g".into(), "", 1.0, &|d| f64::from(d.teats[1])));
    for (at, ml) in SYRINGES_ML.value.into_iter().enumerate() {
        lines.push(line(&format!("syringes-{ml}"), format!("oral syringes of {ml} mL"), "", 1.0, &move |d| {
            f64::from(d.syringes[at])
        }));
    }
    if ask.is_tube_taught != Some(false) {
        lines.push(line("tubes-5", "feeding tubes 5 Fr (up to 300 g)".into(), "", 1.0, &|d| f64::from(d.tubes[0])));
        lines.push(line("tubes-8", "feeding tubes 8 Fr (above 300 g)".into(), "", 1.0, &|d| f64::from(d.tubes[1])));
    }
    // What no litter in 95 of 100 needs is no line.
    lines.retain(|l| l.code == "milk" || l.enough.iter().any(|q| q.high > 0.0));
    lines
}

/// The two shopping lists.
struct List<'a> {
    ask: &'a SuppliesRequest,
    columns: &'a Columns<'a>,
    unit: &'a str,
}

/// What else a box needs: text, whether one for each pup, source.
const THINGS: [(&str, bool, &Source); 14] = [
    ("the vet's numbers by day and by night, written on paper", false, &source::RING_NEXT),
    ("scale with steps of 1 g", false, &source::WEIGH_OFTEN),
    ("thermometer for pups and dam (rectal)", false, &source::GUT_STOPS),
    ("thermometer for the box", false, &source::BOX_TEMPERATURE),
    ("thermometer for milk", false, &source::FEED_TEMPERATURE),
    ("warmth for a part of the box, with a cooler end", false, &source::HEAT_SOURCE),
    ("collars, or another mark, for each pup", true, &source::COLLAR),
    ("towels to dry the pups, clock, paper and pen, light", false, &source::PAPER_AND_CLOTH),
    ("gloves", false, &source::HYGIENE),
    ("soap", false, &source::HANDS_BEFORE),
    ("disinfectant, and what its label says", false, &source::DISINFECT),
    ("cotton for stroking", false, &source::AFTER_FEED),
    ("pan to boil bottles and teats", false, &source::BOIL),
    ("food for the dam: she will need several times her usual energy", false, &source::DAM_ENERGY),
];

impl List<'_> {
    fn milk_now(&self) -> f64 {
        up(self.columns.at(SURE, |d| d.milk_of_first_days), MILK_STEP)
    }

    /// The amount in whole packets, if the size of one is known.
    fn bought(&self, amount: f64) -> (f64, Option<u32>) {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "some packets")]
        match self.ask.shop.packet {
            Some(packet) => (up(amount, packet), Some((amount / packet - 1e-9).ceil().max(0.0) as u32)),
            None => (amount, None),
        }
    }

    fn milk_line(&self, amount: f64, because: String, source: &Source) -> BuyLine {
        let (bought, packets) = self.bought(amount);
        let Shop { packet_price, price_per_kg, .. } = self.ask.shop;
        let cost = match (packet_price, packets, price_per_kg) {
            (Some(price), Some(packets), _) => Some(price * f64::from(packets)),
            (_, _, Some(price)) => Some(price * bought / 1000.0),
            _ => None,
        };
        let what = if self.unit == "g" { "milk replacer for puppies, powder" } else { "milk replacer for puppies" };
        BuyLine {
            what: what.into(),
            how_many: Some(bought),
            unit: self.unit.into(),
            packets,
            cost: cost.map(|c| (c * 100.0).round() / 100.0),
            because,
            source: cite(source),
        }
    }

    fn now(&self) -> Vec<BuyLine> {
        let days = self.ask.assumptions.value("covered_days").unwrap_or_default();
        let days = crate::units::number(days, 1, false);
        let because = format!(
            "the first {days} days if she can feed none of them: enough in 95 of 100 litters; then there is time to buy more"
        );
        let mut lines = vec![self.milk_line(self.milk_now(), because, &source::SUPPLY_COVER)];
        for (what, now, _, source) in self.kit() {
            if now > 0.0 {
                lines.push(counted(what, now, "enough in 80 of 100 litters, and for the first pup in any", source));
            }
        }
        let pups = self.columns.at(SURE, |d| f64::from(d.born));
        for (what, is_each, source) in THINGS {
            let line = counted(what.into(), pups, "as many as pups in 95 of 100 litters", source);
            lines.push(if is_each { line } else { BuyLine { how_many: None, because: String::new(), ..line } });
        }
        lines
    }

    fn later(&self) -> Vec<BuyLine> {
        let mut lines = Vec::new();
        let all = up(self.columns.at(SURE, |d| d.milk), MILK_STEP);
        let in_house = self.bought(self.milk_now()).0;
        if all > in_house {
            let because =
                "the rest of what is enough in 95 of 100 litters; from the day on which hand-feeding begins".to_owned();
            lines.push(self.milk_line(all - in_house, because, &source::SUPPLY_COVER));
        }
        for (what, now, all, source) in self.kit() {
            if all > now {
                lines.push(counted(what, all - now, "the rest of what is enough in 95 of 100 litters", source));
            }
        }
        lines
    }

    /// Things for feeding: what, how many now, how many in all, source.
    fn kit(&self) -> Vec<(String, f64, f64, &'static Source)> {
        let both =
            |of: &dyn Fn(&Draw) -> f64, least: f64| (self.columns.at(LIKELY, of).max(least), self.columns.at(SURE, of));
        let value = |key: &str| self.ask.assumptions.value(key).unwrap_or_default();
        let first = Grams::new(value("birth_weight_g")).map_or(0, first_size);
        let one_pup = value("bottles_per_pup").ceil();
        let least = |at: usize, n: f64| if at == first { n } else { 0.0 };
        let mut kit = Vec::new();
        let (now, all) = both(&|d| f64::from(d.bottles), one_pup + value("spare_bottles"));
        kit.push(("bottles with marks for small amounts".to_owned(), now, all, &source::SUPPLY_KIT));
        for (at, words) in ["up to 300 g", "above 300 g"].into_iter().enumerate() {
            let (now, all) = both(&|d| f64::from(d.teats[at]), least(at, one_pup * value("teats_per_bottle").ceil()));
            kit.push((
                format!("teats with a small hole for pups {words}; no size is published: ask your vet"),
                now,
                all,
                &source::TEAT_SIZE,
            ));
        }
        let feed = limits::STOMACH.value * Grams::new(value("birth_weight_g")).unwrap_or(Grams::of(1.0));
        let size = SYRINGES_ML.value.iter().position(|ml| feed.get() <= *ml).unwrap_or(SYRINGES_ML.value.len() - 1);
        for (at, ml) in SYRINGES_ML.value.into_iter().enumerate() {
            let (now, all) = both(&|d| f64::from(d.syringes[at]), if at == size { 1.0 } else { 0.0 });
            kit.push((format!("oral syringes of {ml} mL"), now, all, SYRINGES_ML.source));
        }
        if self.ask.is_tube_taught != Some(false) {
            for (at, words) in ["5 Fr (up to 300 g)", "8 Fr (above 300 g)"].into_iter().enumerate() {
                let (now, all) = both(&|d| f64::from(d.tubes[at]), least(at, value("tubes_per_pup").ceil()));
                let only = if self.ask.is_tube_taught.is_none() { ", only if a vet taught a carer" } else { "" };
                kit.push((format!("feeding tubes {words}{only}"), now, all, &source::TUBE_SIZE));
            }
        }
        kit
    }
}

fn first_size(weight: Grams) -> usize {
    usize::from(limits::tube_size_fr(weight).value > 5)
}

fn counted(what: String, how_many: f64, because: &str, source: &Source) -> BuyLine {
    BuyLine {
        what,
        how_many: Some(how_many),
        unit: String::new(),
        packets: None,
        cost: None,
        because: because.into(),
        source: cite(source),
    }
}

fn notes(ask: &SuppliesRequest, columns: &Columns<'_>) -> Vec<Said> {
    let mut notes = Vec::new();
    let mut note = |text: String, source| notes.push(Said { text, source: cite(source) });
    if ask.is_born {
        note(
            "The pups are born. This is reckoned as before a birth; how much they take now follows from their weights."
                .into(),
            &source::SUPPLY_COVER,
        );
    }
    if columns.at(0.5, |d| d.milk) == 0.0 {
        note(
            "Half of such litters need no milk from you, and a few need very much. So: little now, and know where more can be had within a day.".into(),
            &source::SUPPLY_COVER,
        );
    }
    if ask.expected.milk.name.is_none() {
        note("No milk of the household is known: a powder as in the assumption is planned with. Its label changes the amounts.".into(), &source::SUPPLY_POWDER);
    }
    if ask.is_tube_taught == Some(false) {
        note(
            "No tubes are on the list: no carer was taught by a vet. Ask the vet before the birth, not in the night."
                .into(),
            &source::TUBE_TAUGHT,
        );
    }
    if !ask.own.is_empty() {
        let litters =
            if ask.own.len() == 1 { "litter counts".into() } else { format!("{} litters count", ask.own.len()) };
        note(format!("Your own closed {litters} in these figures."), &source::OWN_LITTERS);
    }
    notes
}

/// A window as data, with the day by which things are in the house.
#[must_use]
pub fn due_line(window: DueWindow) -> DueLine {
    let day = |date: Date| date.to_string();
    DueLine {
        counted_from: window.counted.words().into(),
        day_counted: day(window.day_0),
        first: day(window.first),
        middle: window.middle.map(day),
        last: day(window.last),
        ring_from: day(window.ring_from),
        ready_by: day(window.first.saturating_sub(READY_DAYS.value.days())),
        source: cite(window.source),
    }
}

fn assumptions(all: &Assumptions) -> Vec<AssumptionLine> {
    all.rows
        .iter()
        .map(|row| AssumptionLine {
            key: row.key.into(),
            what: row.what.into(),
            unit: row.unit.into(),
            value: (row.value * 1000.0).round() / 1000.0,
            min: row.min,
            max: row.max,
            basis: row.basis.words(),
            source: cite(row.source),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn request() -> SuppliesRequest {
        let breed = Some("Labrador Retriever".into());
        let expected = Expected { breed, dam: Some(Grams::of(28_000.0)), ..Expected::unknown() };
        SuppliesRequest {
            shop: Shop { packet: Some(400.0), packet_price: Some(19.5), price_per_kg: None },
            is_tube_taught: Some(true),
            draws: 2000,
            ..SuppliesRequest::without_a_litter(expected)
        }
    }

    #[test]
    fn what_is_bought_now_covers_the_first_days_without_a_dam() {
        let ask = request();
        let report = supplies(&ask);
        let milk = &report.buy_now[0];
        let bought = milk.how_many.unwrap();
        let drawn = simulate(&ask.expected, &ask.assumptions, ask.draws, ask.seed);
        let covered = drawn.iter().filter(|d| d.milk_of_first_days <= bought).count();
        assert!(covered >= 1900, "{covered} of 2000");
        // Whole packets, and their price.
        assert_eq!(bought, 400.0 * f64::from(milk.packets.unwrap()));
        assert_eq!(milk.cost, Some(19.5 * f64::from(milk.packets.unwrap())));
        // With what is bought later, 95 of 100 litters have enough.
        let all = bought + report.buy_later.iter().filter(|l| l.unit == "g").filter_map(|l| l.how_many).sum::<f64>();
        let enough = drawn.iter().filter(|d| d.milk <= all).count();
        assert!(enough >= 1900, "{enough} of 2000");
    }

    #[test]
    fn quantiles_are_in_order_and_within_their_intervals() {
        let report = supplies(&request());
        for line in &report.quantities {
            for q in &line.enough {
                assert!(q.low <= q.value && q.value <= q.high, "{}: {q:?}", line.code);
            }
            assert!(line.enough.windows(2).all(|w| w[0].value <= w[1].value), "{}", line.code);
        }
        let codes: Vec<&str> = report.quantities.iter().map(|q| q.code.as_str()).collect();
        for code in ["born", "by-hand", "milk", "packets", "bottles", "teats-large", "tubes-8"] {
            assert!(codes.contains(&code), "{code} in {codes:?}");
        }
    }

    #[test]
    fn without_a_taught_carer_no_tube_is_on_any_list() {
        let report = supplies(&SuppliesRequest { is_tube_taught: Some(false), ..request() });
        let mut all = report
            .buy_now
            .iter()
            .chain(&report.buy_later)
            .map(|l| &l.what)
            .chain(report.quantities.iter().map(|q| &q.what));
        assert!(!all.any(|w| w.contains("tube")));
        assert!(report.notes.iter().any(|n| n.source.key == "tube-taught"));
    }
}
