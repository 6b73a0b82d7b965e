//! The litter looked back on, on paper.

use whelpward_core::review::{Review, review};
use whelpward_core::units::{Grams, Millilitres, format_quantity, number};
use whelpward_print::{Block, Column, Document, Table, Text};

use super::source::Source;
use crate::words::{say, tell};

pub fn document(source: &Source) -> Document {
    let review = review(&source.facts, &source.beside, source.now);
    let mut blocks = vec![Block::Heading(2, say("review-facts")), list(&review.facts)];
    blocks.extend([Block::Heading(2, say("review-changes")), list(&review.changes)]);
    blocks.extend([Block::Heading(2, say("review-numbers")), Block::Table(numbers(&review))]);
    if !review.nights.is_empty() {
        let nights = |n: &whelpward_core::review::NightLine| {
            let words = [("carer", n.carer.as_str().into()), ("broken", n.broken.into()), ("of", n.of.into())];
            tell("review-night", &words).into()
        };
        blocks.push(Block::Heading(2, say("review-nights")));
        blocks.push(Block::List(review.nights.iter().map(nights).collect()));
    }
    blocks.push(Block::Heading(2, say("review-history")));
    let h = review.household;
    let noise = [
        ("before", number(h.reading_noise_before_percent, 1, true).into()),
        ("after", number(h.reading_noise_after_percent, 1, true).into()),
    ];
    blocks.push(Block::Text(tell("review-noise", &noise).into()));
    if let Some(grams) = h.middle_birth_weight_g {
        let middle = [("weight", format_quantity(grams, &Grams::ROW).into())];
        blocks.push(Block::Text(tell("review-birth", &middle).into()));
    }
    if !review.priors.is_empty() {
        blocks.push(Block::Table(priors(&review)));
        blocks.push(Block::Text(Text::default().small(say("review-priors-how"))));
    }
    blocks.push(Block::Heading(2, say("review-words")));
    blocks.push(Block::Text(Text::default().small(say("review-defined"))));
    source.document(format!("{}: {}", say("review-title"), source.facts.litter.name), blocks, false)
}

fn list(items: &[String]) -> Block {
    Block::List(items.iter().map(|t| Text::from(t.as_str())).collect())
}

/// What is assumed of the next litter before and after this house's own ones.
fn priors(review: &Review) -> Table {
    let figure = |value: f64| Text::from(number(value, 1, true));
    let rows = review.priors.iter().map(|p| {
        vec![
            vec![Text::default().bold(&p.what), Text::default().small(&p.unit)],
            vec![figure(p.before), Text::default().small(&p.source.source)],
            vec![figure(p.after)],
            vec![p.own_litters.to_string().into()],
        ]
    });
    let columns = vec![
        Column::new(say("owner-what"), 2.0),
        Column::new(say("review-before"), 2.2),
        Column::new(say("review-after"), 0.8),
        Column::new(say("review-own-litters"), 0.8),
    ];
    Table { caption: say("review-priors"), columns, rows: rows.collect(), row_mm: 0.0 }
}

/// What was fed by hand, and what of the mixed milk was thrown away, or why nobody knows that.
fn milk(review: &Review) -> Vec<(String, String)> {
    let Some(milk) = review.milk else { return vec![(say("review-fed"), say("review-no-milk"))] };
    let volume = |ml: f64| format_quantity(ml.round(), &Millilitres::ROW);
    let left = milk.left_ml.map_or_else(String::new, |left| tell("review-left", &[("left", volume(left).into())]));
    let without = match milk.feeds_without_amount {
        0 => String::new(),
        feeds => tell("review-without-amount", &[("feeds", feeds.into())]),
    };
    let fed = [volume(milk.taken_ml), left, without].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>();
    let mut rows = vec![(say("review-fed"), fed.join("; "))];
    match milk.mixed {
        Some(mixed) => {
            let words =
                [("mixed", volume(mixed.mixed_ml).into()), ("percent", number(mixed.wasted_percent, 0, false).into())];
            rows.push((say("review-milk"), tell("review-milk-words", &words)));
            let cost = mixed.cost.map_or_else(|| say("review-no-cost"), |c| number(c, 2, true));
            rows.push((say("review-cost"), cost));
        }
        None => rows.push((say("review-milk"), say("review-no-mixing"))),
    }
    rows
}

fn numbers(review: &Review) -> Table {
    let (l, w, g) = (review.losses, review.warnings, review.gaps);
    let of = |n: usize, of: usize| tell("review-of", &[("n", n.into()), ("of", of.into())]);
    let alive = l.born_alive();
    let mut rows = vec![
        (say("review-stillborn"), of(l.stillborn, l.born)),
        (say("review-died-early"), of(l.died_first_two_days, alive)),
        (say("review-died-later"), of(l.died_later, alive)),
        (say("review-put-to-sleep"), of(l.put_to_sleep, alive)),
        (
            say("review-fostered"),
            tell("review-in-out", &[("in", l.fostered_in.into()), ("out", l.fostered_out.into())]),
        ),
        (say("review-home"), of(l.gone_home, alive)),
        (say("review-right"), of(w.right, w.warnings)),
        (say("review-late"), of(w.late, w.right)),
        (say("review-undecided"), of(w.undecided, w.warnings)),
        (say("review-false"), of(w.false_ones, w.warnings)),
        (say("review-missed"), of(w.missed, w.troubles)),
        (
            say("review-action"),
            review.hours_to_action.map_or_else(|| say("review-none"), |h| format!("{}\u{a0}h", number(h, 1, false))),
        ),
        (say("review-gaps-late"), of(g.late, g.of)),
        (say("review-gaps-missed"), of(g.missed, g.of)),
    ];
    for limit in &review.limits {
        let judged = if limit.is_badly_set { format!(". {}", say("review-badly-set")) } else { String::new() };
        let what = tell("review-kept", &[("limit", limit.limit.as_str().into())]);
        rows.push((what, format!("{}{judged}", of(limit.kept, limit.hits))));
    }
    rows.extend(milk(review));
    let rows = rows.into_iter().map(|(what, text)| vec![vec![what.into()], vec![text.into()]]).collect();
    let columns = vec![Column::new(say("owner-what"), 2.0), Column::new(say("review-count"), 1.6)];
    Table { caption: say("review-numbers"), columns, rows, row_mm: 0.0 }
}
