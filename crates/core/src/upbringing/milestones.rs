//! What pups show by themselves, with the published days; late is a reason to look, never a verdict.

use super::{Dated, View};
use crate::record::DoneKind;
use crate::references::{self as source, Source, Sourced};

/// One milestone with the days after birth in which it is usual.
#[derive(Debug, Clone, Copy)]
pub struct Milestone {
    pub kind: DoneKind,
    pub title: &'static str,
    /// None: no earliest day is published.
    pub from: Option<i64>,
    pub to: i64,
    pub source: &'static Source,
}

/// A pup whose eyes are closed after this day is shown to a vet.
const EYES_OPEN_BY: Sourced<i64> = Sourced::new(17, &source::EYES_LATEST);

const fn row(kind: DoneKind, title: &'static str, from: Option<i64>, to: i64, source: &'static Source) -> Milestone {
    Milestone { kind, title, from, to, source }
}

/// Every milestone, the earliest first.
pub const MILESTONES: &[Milestone] = &[
    row(DoneKind::EyesOpen, "eyes open", Some(10), 16, &source::EYES_OPEN),
    row(DoneKind::EarsOpen, "ears open", Some(10), 17, &source::EARS_OPEN),
    row(DoneKind::Stands, "stands", Some(14), 21, &source::STANDS),
    row(DoneKind::Walks, "walks", Some(16), 21, &source::WALKS),
    row(DoneKind::PassesUnaided, "passes urine and stool by itself", Some(13), 21, &source::PASSES_UNAIDED),
    row(DoneKind::Laps, "laps from a bowl", None, 21, &source::LAPS),
    row(DoneKind::FirstTeeth, "first teeth", Some(14), 28, &source::FIRST_TEETH),
];

pub(super) fn items(view: &View<'_>) -> Vec<Dated> {
    MILESTONES.iter().map(|m| item(view, m)).collect()
}

fn item(view: &View<'_>, m: &Milestone) -> Dated {
    let done_on = view.days_of(m.kind).first().copied();
    let from = m.from.map(|d| view.at_age(d));
    let (last, last_source) =
        if m.kind == DoneKind::EyesOpen { (EYES_OPEN_BY.value, EYES_OPEN_BY.source) } else { (m.to, m.source) };
    // The published days are those of pups born at term: an early one has its own time.
    let to = (!view.pup.premature).then(|| view.at_age(last));
    let days = match m.from {
        Some(from) => format!("usual on days {from} to {}", m.to),
        None => format!("usual by day {}", m.to),
    };
    let mut because = match (m.kind, view.pup.premature) {
        (_, true) => format!("{days} of a pup born at term; this one was early"),
        (DoneKind::EyesOpen, false) => format!(
            "{days}. Not open after day {last}, or swollen before they open: show them to the vet; never pull them open"
        ),
        _ => days,
    };
    let state = match view.once(done_on, from.or(to), to) {
        // An early pup is never late; it grows up all the same.
        super::State::Due if view.is_asked_for_no_more(view.at_age(last)) => super::State::Unwritten,
        state => state,
    };
    let is_late = state == super::State::Late;
    if is_late && m.kind != DoneKind::EyesOpen {
        because
            .push_str(". Not written down yet: look at it beside its litter-mates, and ask the vet if it is not there");
    }
    let source = if is_late { last_source } else { m.source };
    Dated {
        code: m.kind.word(),
        title: m.title.into(),
        pup: Some(view.pup.id.clone()),
        records: Some(m.kind),
        from,
        to,
        state,
        done_on,
        because,
        source,
    }
}
