//! Every plan worth a thought: no other plan is as good in hands-on time, wake-ups, longest gap
//! and pups fed by tube together.
//!
//! The same graph as for the optimum, with a set of labels (work, wake-ups) at each node in
//! place of one price; a label that another one matches in both is dropped. Of plans that are
//! equal in both, the one with the least time above the usual gaps stays. The longest gap is
//! swept from the limit downwards: after each step it is put just below the longest gap that
//! the plans found still have, so no value between is left out. Only for plans over a stretch
//! of days.

use super::problem::{Choice, Plan, Problem, Visit};
use super::steps::{Graph, Node};

/// A way of feeding that is one of those to choose from: its pups by tube, and its problem.
#[derive(Debug, Clone)]
pub struct Variant {
    pub tube_fed: usize,
    pub problem: Problem,
}

/// A plan that no other one matches.
#[derive(Debug, Clone)]
pub struct Found {
    /// By number.
    pub variant: usize,
    pub figures: Criteria,
    pub plan: Plan,
}

/// What is compared; less is better in each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Criteria {
    pub tube_fed: usize,
    pub work_s: i64,
    pub wake_ups: u32,
    /// In slots, as [`Problem::longest_gap`] counts it.
    pub longest_gap: usize,
}

impl Criteria {
    fn is_as_good_as(&self, other: &Self) -> bool {
        self.work_s <= other.work_s
            && self.wake_ups <= other.wake_ups
            && self.longest_gap <= other.longest_gap
            && self.tube_fed <= other.tube_fed
    }
}

/// All non-dominated figures of all variants, each with one plan that has them; in order. A gap
/// of `enough` slots is as good as any shorter one.
#[must_use]
pub fn front(variants: &[Variant], enough: usize) -> Vec<Found> {
    let mut kept: Vec<Found> = Vec::new();
    for (variant, Variant { tube_fed, problem }) in variants.iter().enumerate() {
        let mut limited = problem.clone();
        loop {
            let plans = work_against_sleep(&limited);
            let mut longest = 0;
            for plan in plans {
                let gap = problem.longest_gap(&plan.visits);
                longest = longest.max(gap);
                let figures = Criteria {
                    tube_fed: *tube_fed,
                    work_s: plan.price,
                    wake_ups: plan.visits.iter().map(|v| v.choice.woken.count_ones()).sum(),
                    longest_gap: gap.max(enough),
                };
                if kept.iter().any(|k| k.figures.is_as_good_as(&figures)) {
                    continue;
                }
                kept.retain(|k| !figures.is_as_good_as(&k.figures));
                kept.push(Found { variant, figures, plan });
            }
            if longest <= enough.max(1) {
                break;
            }
            limited.classes.iter_mut().for_each(|c| c.longest = c.longest.min(longest - 1));
            if limited.classes.iter().any(|c| c.longest < c.shortest) {
                break;
            }
        }
    }
    kept.sort_by_key(|found| found.figures);
    kept
}

#[derive(Clone, Copy)]
struct Label {
    work_s: i64,
    excess: i64,
    wakes: u32,
    before: usize,
    node: Node,
    /// How the round before was staffed.
    staffed: Option<Choice>,
}

/// The non-dominated plans in hands-on time and wake-ups; the price is the hands-on time.
///
/// # Panics
/// On a cyclic grid.
#[must_use]
pub fn work_against_sleep(problem: &Problem) -> Vec<Plan> {
    assert!(!problem.is_cyclic, "only over a stretch of days");
    let choices = problem.choices();
    let graph = Graph::new(problem, &choices, 0);
    let mut labels: Vec<Label> = Vec::new();
    let mut at_node: Vec<Vec<usize>> = vec![Vec::new(); graph.size()];
    let mut finished: Vec<usize> = Vec::new();
    for (node, excess) in graph.starts() {
        let label = Label { work_s: 0, excess, wakes: 0, before: usize::MAX, node, staffed: None };
        keep(label, &mut labels, &mut at_node[graph.index(node)]);
    }
    for slot in 0..problem.slots {
        for node in graph.at_slot(slot) {
            for id in at_node[graph.index(node)].clone() {
                for choice in graph.choices(node) {
                    let from = labels[id];
                    graph.onward(node, choice, &mut |next, gap| {
                        let label = Label {
                            work_s: from.work_s + choice.hands_on_s,
                            excess: from.excess + gap,
                            wakes: from.wakes + choice.woken.count_ones(),
                            before: id,
                            node: next.unwrap_or(node),
                            staffed: Some(*choice),
                        };
                        let set = next.map_or(&mut finished, |n| &mut at_node[graph.index(n)]);
                        keep(label, &mut labels, set);
                    });
                }
            }
        }
    }
    finished.sort_by_key(|id| labels[*id].wakes);
    finished.iter().map(|id| plan(&graph, &labels, *id)).collect()
}

/// Adds a label unless a kept one matches it; drops those that it matches.
fn keep(label: Label, labels: &mut Vec<Label>, set: &mut Vec<usize>) {
    let key = |l: &Label| (l.work_s, l.excess);
    let matches = |a: &Label, b: &Label| {
        if a.wakes == b.wakes { key(a) <= key(b) } else { a.wakes < b.wakes && a.work_s <= b.work_s }
    };
    if set.iter().any(|id| matches(&labels[*id], &label)) {
        return;
    }
    set.retain(|id| !matches(&label, &labels[*id]));
    set.push(labels.len());
    labels.push(label);
}

fn plan(graph: &Graph<'_>, labels: &[Label], end: usize) -> Plan {
    let mut visits = Vec::new();
    let mut label = labels[end];
    let price = label.work_s;
    while let Some(choice) = label.staffed {
        label = labels[label.before];
        visits.push(Visit { slot: label.node.slot, is_full: graph.is_full(label.node), choice });
    }
    visits.reverse();
    Plan { visits, price }
}
