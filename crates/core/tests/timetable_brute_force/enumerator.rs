//! Random small problems, and every plan of each.

use whelpward_core::schedule::problem::{Class, Helper, Problem};

/// A small generator with a fixed seed (splitmix64), so that a failure can be run again.
pub struct Dice(pub u64);

impl Dice {
    pub fn roll(&mut self, sides: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % sides
    }
    pub fn between(&mut self, low: u64, high: u64) -> u64 {
        low + self.roll(high - low + 1)
    }
    pub fn size(&mut self, low: u64, high: u64) -> usize {
        usize::try_from(self.between(low, high)).unwrap()
    }
    pub fn count(&mut self, low: u64, high: u64) -> u32 {
        u32::try_from(self.between(low, high)).unwrap()
    }
    pub fn price(&mut self, low: u64, high: u64) -> i64 {
        i64::try_from(self.between(low, high)).unwrap()
    }
    pub fn one_in(&mut self, n: u64) -> bool {
        self.roll(n) == 0
    }
}

/// Two classes, up to three carers, tubes and unequal gaps, on 8 to 12 slots.
pub fn instance(dice: &mut Dice) -> Problem {
    let slots = dice.size(8, 12);
    let is_cyclic = dice.one_in(3);
    // One hard thing more, one slot or carer less, so that trying everything ends.
    let has_tube = dice.one_in(3);
    let is_two = if has_tube { slots == 8 } else { slots <= 10 && dice.one_in(2) };
    let carers = if slots == 8 && !has_tube && (!is_two || dice.one_in(6)) {
        3
    } else if is_two || has_tube {
        dice.size(1, 2)
    } else {
        2
    };
    let slot_s = 900;
    let class = |dice: &mut Dice, shortest: usize, longest: usize| Class {
        bottle: dice.count(0, 2),
        tube: if has_tube { dice.count(0, 2) } else { 0 },
        tube_only: u32::from(has_tube && dice.one_in(4)),
        shortest,
        longest,
        usual: dice.size(2, 4),
        excess_price: dice.price(0, 400),
        since_oldest: dice.size(1, 5),
        earliest: dice.size(0, 2),
    };
    let shortest = 2;
    let longest = shortest + dice.size(1, 2);
    let mut classes = vec![class(dice, shortest, longest)];
    if is_two {
        let gap = shortest + dice.size(0, 1);
        let most = (longest + dice.size(1, 3)).max(gap);
        classes.push(class(dice, gap, most));
    }
    for class in &mut classes {
        if class.bottle + class.tube + class.tube_only == 0 {
            class.bottle = 1;
        }
    }
    let helpers = (0..carers)
        .map(|_| Helper {
            there: (0..slots).map(|_| !dice.one_in(6)).collect(),
            asleep: (0..slots).map(|_| dice.one_in(3)).collect(),
            wake_price: dice.price(0, 3000),
            woken_before: dice.count(0, 2),
            may_tube: !dice.one_in(3),
            at_once: dice.count(1, 2),
            bottle_s: dice.price(200, 600),
            tube_s: dice.price(20, 90),
            round_price: if dice.one_in(5) { 5000 } else { 0 },
        })
        .collect();
    Problem {
        slots,
        is_cyclic,
        slots_per_day: if is_cyclic || dice.one_in(2) { slots } else { slots.div_ceil(2) },
        slot_s,
        classes,
        helpers,
        set_up_s: dice.price(0, 400),
        clean_up_s: dice.price(0, 300),
        fairness: if dice.one_in(3) { 0 } else { dice.price(1, 2500) },
        suck_rounds: dice.size(0, 2),
        most_rounds: None,
        closed: (0..slots).map(|_| dice.one_in(12)).collect(),
    }
}

/// A round as the enumerator sees it.
#[derive(Clone, Copy)]
pub struct Round {
    pub slot: usize,
    pub is_full: bool,
    pub keeps_suck: bool,
    pub length: usize,
    pub price: i64,
    /// Who sleeps while the round lasts.
    pub woken: u8,
}

/// Every assignment of single pups to carers: the shortest longest part, then the least work.
fn parts(problem: &Problem, carers: &[usize], bottles: u32, tubes: u32) -> Option<(i64, i64)> {
    let pups = bottles + tubes;
    let base = carers.len();
    let mut best: Option<(i64, i64)> = None;
    for code in 0..base.pow(pups) {
        let mut rest = code;
        let mut given = vec![(0i64, 0i64); base];
        let mut is_allowed = true;
        for pup in 0..pups {
            let who = rest % base;
            rest /= base;
            if pup < bottles {
                given[who].0 += 1;
            } else {
                given[who].1 += 1;
                is_allowed &= problem.helpers[carers[who]].may_tube;
            }
        }
        if !is_allowed {
            continue;
        }
        let times: Vec<i64> = carers
            .iter()
            .zip(&given)
            .map(|(&k, (b, t))| {
                let h = &problem.helpers[k];
                (b + i64::from(h.at_once) - 1) / i64::from(h.at_once) * h.bottle_s + t * h.tube_s
            })
            .collect();
        let value = (*times.iter().max().unwrap(), times.iter().sum());
        best = Some(best.map_or(value, |b| b.min(value)));
    }
    best
}

/// Every round that could be at all.
pub fn rounds(problem: &Problem) -> Vec<Vec<Round>> {
    let carers = problem.helpers.len();
    let mut kinds = Vec::new();
    for is_full in [true, false] {
        if !is_full && problem.classes.len() == 1 {
            continue;
        }
        let fed: &[Class] = if is_full { &problem.classes } else { &problem.classes[..1] };
        for is_bottle in [true, false] {
            for set in 1u8..1 << carers {
                let who: Vec<usize> = (0..carers).filter(|k| set & (1 << k) != 0).collect();
                let bottles: u32 = fed.iter().map(|c| c.bottle + if is_bottle { c.tube } else { 0 }).sum();
                let tubes: u32 = fed.iter().map(|c| c.tube_only + if is_bottle { 0 } else { c.tube }).sum();
                let Some((longest, work)) = parts(problem, &who, bottles, tubes) else { continue };
                let reaches_all = is_full || problem.classes[1].tube == 0;
                let fixed = problem.set_up_s + problem.clean_up_s;
                let extra: i64 = who.iter().map(|k| problem.helpers[*k].round_price).sum();
                let length = usize::try_from((fixed + longest).max(1).unsigned_abs().div_ceil(900)).unwrap();
                kinds.push((is_full, is_bottle && reaches_all, who, length, fixed + work + extra));
            }
        }
    }
    let mut all = Vec::new();
    for slot in 0..problem.slots {
        let mut here = Vec::new();
        for (is_full, keeps_suck, who, length, price) in &kinds {
            let touched: Vec<usize> = (slot..slot + length)
                .filter_map(
                    |s| if problem.is_cyclic { Some(s % problem.slots) } else { (s < problem.slots).then_some(s) },
                )
                .collect();
            let is_there = who.iter().all(|k| touched.iter().all(|s| problem.helpers[*k].there[*s]));
            if problem.closed[slot] || !is_there {
                continue;
            }
            let mut woken = 0;
            for k in who {
                if touched.iter().any(|s| problem.helpers[*k].asleep[*s]) {
                    woken |= 1 << k;
                }
            }
            here.push(Round {
                slot,
                is_full: *is_full,
                keeps_suck: *keeps_suck,
                length: *length,
                price: *price,
                woken,
            });
        }
        all.push(here);
    }
    all
}

/// The price of one class's gaps, or none when one is not allowed.
fn class_price(problem: &Problem, class: &Class, slots: &[usize]) -> Option<i64> {
    let (first, last) = (*slots.first()?, *slots.last()?);
    let over = |gap: usize| i64::try_from(gap.saturating_sub(class.usual)).unwrap() * class.excess_price;
    let is_fine = |gap: usize| gap >= class.shortest && gap <= class.longest;
    let mut price = 0;
    for pair in slots.windows(2) {
        let gap = pair[1] - pair[0];
        if !is_fine(gap) {
            return None;
        }
        price += over(gap);
    }
    if problem.is_cyclic {
        let gap = first + problem.slots - last;
        return is_fine(gap).then_some(price + over(gap));
    }
    // A class that has waited longer than it may must be fed at once.
    let is_soon_enough = first + class.since_oldest <= class.longest || first == 0;
    let is_apart = first >= class.earliest;
    let to_end = problem.slots - last;
    (is_soon_enough && is_apart && to_end <= class.longest)
        .then_some(price + over(first + class.since_oldest) + over(to_end))
}

pub fn price(problem: &Problem, chosen: &[Round]) -> Option<i64> {
    for (i, round) in chosen.iter().enumerate() {
        let next = match chosen.get(i + 1) {
            Some(next) => next.slot,
            None if problem.is_cyclic => chosen[0].slot + problem.slots,
            None => usize::MAX,
        };
        if round.slot + round.length > next {
            return None;
        }
    }
    let all: Vec<usize> = chosen.iter().map(|r| r.slot).collect();
    let full: Vec<usize> = chosen.iter().filter(|r| r.is_full).map(|r| r.slot).collect();
    let mut price = class_price(problem, &problem.classes[0], &all)?;
    if let Some(strong) = problem.classes.get(1) {
        price += class_price(problem, strong, &full)?;
    }
    if problem.classes.iter().any(|c| c.tube > 0) {
        for day in 0..problem.slots / problem.slots_per_day {
            let kept = chosen.iter().filter(|r| r.keeps_suck && r.slot / problem.slots_per_day == day).count();
            if kept < problem.suck_rounds {
                return None;
            }
        }
    }
    if let Some(most) = problem.most_rounds {
        for day in 0..=problem.slots / problem.slots_per_day {
            if chosen.iter().filter(|r| r.slot / problem.slots_per_day == day).count() > most {
                return None;
            }
        }
    }
    price += chosen.iter().map(|r| r.price).sum::<i64>();
    for (k, helper) in problem.helpers.iter().enumerate() {
        let wakes = i64::try_from(chosen.iter().filter(|r| r.woken & (1 << k) != 0).count()).unwrap();
        let before = i64::from(helper.woken_before);
        price += (0..wakes).map(|j| helper.wake_price + problem.fairness * (before + j)).sum::<i64>();
    }
    Some(price)
}

/// Shows every plan that could be one; only what is already too close or too far apart is cut short.
pub fn enumerate(
    problem: &Problem,
    rounds: &[Vec<Round>],
    from: usize,
    chosen: &mut Vec<Round>,
    visit: &mut impl FnMut(&[Round]),
) {
    let weak = &problem.classes[0];
    let to_end =
        chosen.last().map(|last| problem.slots - last.slot + if problem.is_cyclic { chosen[0].slot } else { 0 });
    if to_end.is_some_and(|gap| gap <= weak.longest) {
        visit(chosen);
    }
    for slot in from..problem.slots {
        if chosen.is_empty() && !problem.is_cyclic && slot > 0 && slot + weak.since_oldest > weak.longest {
            break;
        }
        if let Some(last) = chosen.last()
            && slot - last.slot > problem.classes[0].longest
        {
            break;
        }
        if chosen.last().is_some_and(|last| slot - last.slot < problem.classes[0].shortest.max(last.length)) {
            continue;
        }
        for round in &rounds[slot] {
            chosen.push(*round);
            enumerate(problem, rounds, slot + 1, chosen, visit);
            chosen.pop();
        }
    }
}
