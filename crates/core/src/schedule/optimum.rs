//! The exact optimum: a shortest path through [`Graph`], with the wake-ups of each carer as a
//! ledger on the way.
//!
//! First the price to the end without fairness is tabulated backwards (a dynamic programme).
//! It never exceeds the true price, so a best-first search that adds the ledger may trust it
//! as its bound, and the first finished plan that it takes out is an optimum. Of two ways to
//! the same node, one that costs no more and has woken nobody more often replaces the other:
//! further wake-ups only grow dearer.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::problem::{Choice, MOST_CARERS, Plan, Problem, Visit, members};
use super::steps::{Graph, NEVER, Node};

/// A way to a node.
struct Way {
    /// None: the plan is finished.
    node: Option<Node>,
    price: i64,
    woken: [u8; MOST_CARERS],
    before: u32,
    /// How the round before was staffed.
    staffed: Option<Choice>,
}

const START: u32 = u32::MAX;

/// Whether some plan keeps every limit.
#[must_use]
pub fn is_possible(problem: &Problem) -> bool {
    let choices = problem.choices();
    let longest = problem.strong().unwrap_or(problem.weak()).longest;
    let begins = if problem.is_cyclic { longest.min(problem.slots) } else { 1 };
    (0..begins).any(|first| Graph::new(problem, &choices, first).reached().is_some())
}

/// An optimal plan, or none when no plan keeps every limit.
#[must_use]
pub fn optimum(problem: &Problem) -> Option<Plan> {
    let choices = problem.choices();
    if !problem.is_cyclic {
        return search(&Graph::new(problem, &choices, 0), NEVER);
    }
    // Some full round is the first of the day; each slot within the longest gap is tried.
    let longest = problem.strong().unwrap_or(problem.weak()).longest;
    let mut best: Option<Plan> = None;
    for first in 0..longest.min(problem.slots) {
        let below = best.as_ref().map_or(NEVER, |p| p.price);
        best = search(&Graph::new(problem, &choices, first), below).or(best);
    }
    best
}

/// The best plan that costs less than `below`.
fn search(graph: &Graph<'_>, below: i64) -> Option<Plan> {
    let least = graph.least_to_end(&graph.reached()?);
    let bound = |node: Option<Node>| node.map_or(0, |n| least[graph.index(n)]);
    let mut ways: Vec<Way> = Vec::new();
    let mut open: BinaryHeap<Reverse<(i64, u32)>> = BinaryHeap::new();
    let mut closed: Vec<Vec<[u8; MOST_CARERS]>> = vec![Vec::new(); graph.size()];
    let add = |way: Way, ways: &mut Vec<Way>, open: &mut BinaryHeap<_>| {
        let at_least = way.price + bound(way.node);
        if at_least < below {
            // Of equals the newest first: it is nearest to the end.
            open.push(Reverse((at_least, u32::MAX - u32::try_from(ways.len()).expect("fewer ways than 2^32"))));
            ways.push(way);
        }
    };
    for (node, price) in graph.starts() {
        let way = Way { node: Some(node), price, woken: [0; MOST_CARERS], before: START, staffed: None };
        add(way, &mut ways, &mut open);
    }
    while let Some(Reverse((_, key))) = open.pop() {
        let id = u32::MAX - key;
        let Way { node, price, woken, .. } = ways[id as usize];
        let Some(node) = node else { return Some(plan(graph, &ways, id)) };
        // Ways to one node come out by price, so only their ledgers are compared.
        let known = &mut closed[graph.index(node)];
        if known.iter().any(|k| k.iter().zip(&woken).all(|(a, b)| a <= b)) {
            continue;
        }
        known.push(woken);
        for choice in graph.choices(node) {
            let staffed = price + choice.price + graph.wake_price(choice, woken);
            let mut after = woken;
            if graph.problem.fairness > 0 {
                members(choice.woken).for_each(|k| after[k] = after[k].saturating_add(1));
            }
            graph.onward(node, choice, &mut |next, gap| {
                let way = Way { node: next, price: staffed + gap, woken: after, before: id, staffed: Some(*choice) };
                add(way, &mut ways, &mut open);
            });
        }
    }
    None
}

fn plan(graph: &Graph<'_>, ways: &[Way], end: u32) -> Plan {
    let mut visits = Vec::new();
    let mut way = &ways[end as usize];
    while let Some(choice) = way.staffed {
        let before = &ways[way.before as usize];
        let node = before.node.expect("only the last way has no node");
        visits.push(Visit { slot: node.slot % graph.problem.slots, is_full: graph.is_full(node), choice });
        way = before;
    }
    visits.sort_by_key(|v| v.slot);
    Plan { visits, price: ways[end as usize].price }
}
