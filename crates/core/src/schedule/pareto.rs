//! Every plan worth a thought between work and sleep: no other plan has both less hands-on
//! time and fewer wake-ups.
//!
//! The same graph as for the optimum, with a set of labels (work, wake-ups) at each node in
//! place of one price; a label that another one matches in both is dropped. Of plans that are
//! equal in both, the one with the least time above the usual gaps stays. Only for plans over
//! a stretch of days.

use super::problem::{Choice, Plan, Problem, Visit};
use super::steps::{Graph, Node};

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

/// The non-dominated plans, most work first; the price is the hands-on time.
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
