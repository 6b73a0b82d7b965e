//! The graph of a plan: each node is a round, each edge the gap to the next one.
//!
//! A node knows its slot, how long ago the strong pups were fed (0 in a full round), and of the
//! day before it the rounds, and the bottle rounds that kept the suck of tube-fed pups. That is
//! all that the rounds after it depend on, so shortest paths in this graph are optimal plans.

use super::problem::{Choice, MOST_CARERS, Problem, members};

/// No way on from here.
pub const NEVER: i64 = i64::MAX / 4;

/// A round, before it is staffed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Node {
    pub slot: usize,
    /// Slots since the strong pups were fed; larger than `slot` while no plan round fed them.
    pub since_full: usize,
    pub day: Day,
}

/// What the day of a round had before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Day {
    /// Bottle rounds for tube-fed pups, up to the number that is needed.
    pub sucked: usize,
    /// Rounds; not counted where the household has set no limit.
    pub rounds: usize,
}

/// The graph from a first to an end slot; on a cyclic grid the end is the first round again.
#[derive(Debug)]
pub struct Graph<'p> {
    pub problem: &'p Problem,
    choices: &'p [Vec<Vec<Choice>>; 2],
    pub begin: usize,
    pub end: usize,
    width: usize,
    needed_suck: usize,
    most_rounds: usize,
}

impl<'p> Graph<'p> {
    /// A graph over the whole grid; `begin` is the first full round of a cyclic plan, else 0.
    #[must_use]
    pub fn new(problem: &'p Problem, choices: &'p [Vec<Vec<Choice>>; 2], begin: usize) -> Self {
        let width = problem.strong().map_or(1, |s| s.longest.max(s.since_oldest) + 1);
        let needed_suck = problem.suck_rounds();
        // A limit that no plan can reach is none, so that it costs no states.
        let possible = problem.slots_per_day / problem.weak().shortest.max(1) + 1;
        let most_rounds = problem.most_rounds.filter(|most| *most < possible).unwrap_or(0);
        Self { problem, choices, begin, end: begin + problem.slots, width, needed_suck, most_rounds }
    }

    #[must_use]
    pub fn size(&self) -> usize {
        self.problem.slots * self.width * self.days()
    }

    /// Different [`Day`]s that a node can have.
    fn days(&self) -> usize {
        (self.needed_suck + 1) * self.most_rounds.max(1)
    }

    #[must_use]
    pub fn index(&self, node: Node) -> usize {
        ((node.slot - self.begin) * self.width + node.since_full) * self.days()
            + node.day.sucked * self.most_rounds.max(1)
            + node.day.rounds
    }

    /// Every node at a slot.
    pub fn at_slot(&self, slot: usize) -> impl Iterator<Item = Node> + use<> {
        let (days, most) = (self.days(), self.most_rounds.max(1));
        let day = move |i: usize| Day { sucked: i / most, rounds: i % most };
        // A cyclic plan begins with a full round, so none is older than that.
        let width = if self.problem.is_cyclic { self.width.min(slot - self.begin + 1) } else { self.width };
        (0..width).flat_map(move |since_full| (0..days).map(move |i| Node { slot, since_full, day: day(i) }))
    }

    #[must_use]
    pub fn is_full(&self, node: Node) -> bool {
        node.since_full == 0 || self.problem.strong().is_none()
    }

    /// The ways to staff a round.
    #[must_use]
    pub fn choices(&self, node: Node) -> &'p [Choice] {
        &self.choices[usize::from(self.is_full(node))][node.slot % self.problem.slots]
    }

    /// The first rounds that may be, each with the price of the gap before it.
    #[must_use]
    pub fn starts(&self) -> Vec<(Node, i64)> {
        let weak = self.problem.weak();
        if self.problem.is_cyclic {
            return vec![(Node { slot: self.begin, since_full: 0, day: Day::default() }, 0)];
        }
        let mut starts = Vec::new();
        for slot in weak.earliest..=weak.first_deadline() {
            let price = weak.gap_price(slot + weak.since_oldest);
            let never = self.problem.strong().map_or(0, |s| slot + s.since_oldest);
            self.rounds_at(slot, never, Day::default(), price, &mut |node, price| starts.push((node, price)));
        }
        starts
    }

    /// Full and weak-only rounds that may be at a slot.
    fn rounds_at(&self, slot: usize, since_full: usize, day: Day, price: i64, visit: &mut impl FnMut(Node, i64)) {
        let full = Node { slot, since_full: 0, day };
        let Some(strong) = self.problem.strong() else { return visit(full, price) };
        let (earliest, deadline) = self.strong_window(slot, since_full);
        if (earliest..=deadline).contains(&slot) {
            visit(full, price + strong.gap_price(since_full));
        }
        if slot < deadline {
            visit(Node { slot, since_full, day }, price);
        }
    }

    /// When the strong pups may and must be fed next, seen from a slot.
    fn strong_window(&self, slot: usize, since_full: usize) -> (usize, usize) {
        let Some(strong) = self.problem.strong() else { return (0, usize::MAX) };
        if !self.problem.is_cyclic && since_full > slot {
            return (strong.earliest, strong.first_deadline());
        }
        let last = slot - since_full;
        (last + strong.shortest, last + strong.longest)
    }

    /// Visits what may follow a staffed round: the next round, or the end of the plan.
    pub fn onward(&self, node: Node, choice: &Choice, visit: &mut impl FnMut(Option<Node>, i64)) {
        let weak = self.problem.weak();
        let keeps = self.problem.keeps_the_suck(self.is_full(node), choice.is_bottle);
        let after = Day {
            sucked: (node.day.sucked + usize::from(keeps)).min(self.needed_suck),
            rounds: node.day.rounds + usize::from(self.most_rounds > 0),
        };
        let first = node.slot + weak.shortest.max(choice.slots);
        let last = node.slot + weak.longest;
        for next in first..=last.min(self.end - 1) {
            let Some(day) = self.day_at(node.slot, next, after) else { break };
            if self.most_rounds > 0 && day.rounds >= self.most_rounds {
                continue;
            }
            let since_full = if self.problem.strong().is_some() { node.since_full + next - node.slot } else { 0 };
            let price = weak.gap_price(next - node.slot);
            self.rounds_at(next, since_full, day, price, &mut |node, price| visit(Some(node), price));
        }
        if let Some(price) = self.closing(node, first, after) {
            visit(None, price);
        }
    }

    /// What the day of a later slot had so far; none when a day would end with too few bottles.
    fn day_at(&self, from: usize, to: usize, so_far: Day) -> Option<Day> {
        let day = self.problem.slots_per_day;
        if self.problem.is_cyclic || from / day == to / day {
            return Some(so_far);
        }
        (so_far.sucked >= self.needed_suck).then_some(Day::default())
    }

    /// The price of the last gap, when the plan may end after this round.
    fn closing(&self, node: Node, first: usize, after: Day) -> Option<i64> {
        let weak = self.problem.weak();
        let gap = self.end - node.slot;
        let strong_gap = node.since_full + gap;
        let (earliest, deadline) = self.strong_window(self.end, strong_gap);
        let is_in_time = gap <= weak.longest && self.end <= deadline;
        let is_apart = !self.problem.is_cyclic || (first <= self.end && self.end >= earliest);
        let is_kept = if self.problem.is_cyclic {
            after.sucked >= self.needed_suck
        } else {
            let after = self.day_at(node.slot, self.end - 1, after)?;
            after.sucked >= self.needed_suck || !self.end.is_multiple_of(self.problem.slots_per_day)
        };
        let strong = self.problem.strong().map_or(0, |s| s.gap_price(strong_gap));
        (is_in_time && is_apart && is_kept).then(|| weak.gap_price(gap) + strong)
    }

    /// What a round costs at least: every wake-up at its first price.
    #[must_use]
    pub fn least_price(&self, choice: &Choice) -> i64 {
        choice.price + self.wake_price(choice, [0; MOST_CARERS])
    }

    /// The price of a round's wake-ups, after those that the plan already has.
    #[must_use]
    pub fn wake_price(&self, choice: &Choice, woken: [u8; MOST_CARERS]) -> i64 {
        members(choice.woken)
            .map(|k| {
                let helper = &self.problem.helpers[k];
                let before = i64::from(helper.woken_before) + i64::from(woken[k]);
                helper.wake_price + self.problem.fairness * before
            })
            .sum()
    }

    /// Which nodes some beginning of a plan leads to; none when no plan reaches the end.
    #[must_use]
    pub fn reached(&self) -> Option<Vec<bool>> {
        let mut reached = vec![false; self.size()];
        let mut has_plan = false;
        for (node, _) in self.starts() {
            reached[self.index(node)] = true;
        }
        for slot in self.begin..self.end {
            let kinds = self.kinds_at(slot);
            for node in self.at_slot(slot) {
                if !reached[self.index(node)] {
                    continue;
                }
                for (choice, _) in &kinds[usize::from(self.is_full(node))] {
                    self.onward(node, choice, &mut |next, _| match next {
                        Some(next) => reached[self.index(next)] = true,
                        None => has_plan = true,
                    });
                }
            }
        }
        has_plan.then_some(reached)
    }

    /// The least price from each reached node to the end, as if each wake-up were the first.
    #[must_use]
    pub fn least_to_end(&self, reached: &[bool]) -> Vec<i64> {
        let mut least = vec![NEVER; self.size()];
        for slot in (self.begin..self.end).rev() {
            let kinds = self.kinds_at(slot);
            for node in self.at_slot(slot) {
                if !reached[self.index(node)] {
                    continue;
                }
                let mut best = NEVER;
                for (choice, own) in &kinds[usize::from(self.is_full(node))] {
                    self.onward(node, choice, &mut |next, price| {
                        let rest = next.map_or(0, |n| least[self.index(n)]);
                        best = best.min(own + price + rest);
                    });
                }
                least[self.index(node)] = best.min(NEVER);
            }
        }
        least
    }

    /// The rounds that a slot can have, by kind: of those that last as long and give the bottle
    /// alike only the cheapest, because what may follow is the same.
    fn kinds_at(&self, slot: usize) -> [Vec<(Choice, i64)>; 2] {
        [0, 1].map(|kind| {
            let mut kinds: Vec<(Choice, i64)> = Vec::new();
            for choice in &self.choices[kind][slot % self.problem.slots] {
                let own = self.least_price(choice);
                match kinds.iter_mut().find(|(c, _)| c.slots == choice.slots && c.is_bottle == choice.is_bottle) {
                    Some((_, least)) => *least = own.min(*least),
                    None => kinds.push((*choice, own)),
                }
            }
            kinds
        })
    }
}
