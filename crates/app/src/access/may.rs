//! Who may do what: one table, asked before every page and every action.

use jiff::{SignedDuration, Timestamp};

/// What a person is in the household.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Looks, and writes nothing.
    Reader,
    /// Weighs and feeds as the program says.
    Helper,
    /// Decides at the box.
    Carer,
    /// Decides everything, also who may come in.
    Breeder,
}

impl Role {
    /// From the one that may most to the one that may least.
    pub const ALL: [Self; 4] = [Self::Breeder, Self::Carer, Self::Helper, Self::Reader];

    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Breeder => "breeder",
            Self::Carer => "carer",
            Self::Helper => "helper",
            Self::Reader => "reader",
        }
    }

    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|r| r.word() == word)
    }
}

/// What can be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action {
    /// See the pages of the litters.
    Look,
    /// Choose what belongs to one's own device: theme, hand, who holds it, own PIN.
    OwnDevice,
    /// Write down weights, feeds, checks, batches.
    Write,
    /// Say that a doubtful entry is right, or that two feeds are one.
    Settle,
    /// Write down a feed although no milk may be given now.
    FeedPastGate,
    /// Write down a birth, and that a pup left.
    Arrive,
    /// Put another value in the place of an entry.
    Correct,
    /// Take an entry back.
    TakeBack,
    /// Start or change a litter, its carers, vets and milks; lay out examples.
    Arrange,
    /// Let people and phones in, read the audit.
    LetIn,
}

/// Whether.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum May {
    Always,
    /// With one's own entries of the last 24 hours (usability O-43).
    OwnForADay,
    /// With one's own entries of the last 10 minutes: a slip that is seen at once (our own).
    OwnForMinutes,
    Never,
}

const DAY: SignedDuration = SignedDuration::from_hours(24);
const MINUTES: SignedDuration = SignedDuration::from_mins(10);

use May::{Always, Never, OwnForADay, OwnForMinutes};

/// The one table. Columns: breeder, carer, helper, reader.
pub const TABLE: [(Action, [May; 4]); 10] = [
    (Action::Look, [Always, Always, Always, Always]),
    (Action::OwnDevice, [Always, Always, Always, Always]),
    (Action::Write, [Always, Always, Always, Never]),
    (Action::Settle, [Always, Always, Never, Never]),
    (Action::FeedPastGate, [Always, Always, Never, Never]),
    (Action::Arrive, [Always, Always, Never, Never]),
    (Action::Correct, [Always, OwnForADay, Never, Never]),
    (Action::TakeBack, [Always, OwnForADay, OwnForMinutes, Never]),
    (Action::Arrange, [Always, Never, Never, Never]),
    (Action::LetIn, [Always, Never, Never, Never]),
];

impl Role {
    /// Whether this role may do it.
    #[must_use]
    pub fn may(self, action: Action) -> May {
        let column = Self::ALL.iter().position(|r| *r == self).unwrap_or(Self::ALL.len() - 1);
        TABLE.iter().find(|(a, _)| *a == action).map_or(Never, |(_, row)| row[column])
    }
}

impl May {
    /// For an entry: whose it is, and when it came into the book.
    #[must_use]
    pub fn for_entry(self, is_own: bool, received: Option<Timestamp>, now: Timestamp) -> bool {
        let within = |limit: SignedDuration| is_own && received.is_some_and(|at| now.duration_since(at) <= limit);
        match self {
            Always => true,
            OwnForADay => within(DAY),
            OwnForMinutes => within(MINUTES),
            Never => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_action_stands_in_the_table_once_and_a_lower_role_never_may_more() {
        for (action, row) in TABLE {
            assert_eq!(TABLE.iter().filter(|(a, _)| *a == action).count(), 1, "{action:?}");
            let rank = |m: May| [Never, OwnForMinutes, OwnForADay, Always].iter().position(|x| *x == m).unwrap();
            assert!(row.windows(2).all(|pair| rank(pair[0]) >= rank(pair[1])), "{action:?}");
        }
    }

    #[test]
    fn a_carer_changes_own_entries_for_a_day_and_a_helper_takes_back_for_ten_minutes() {
        let came: Timestamp = "2026-11-25T20:00:00Z".parse().unwrap();
        let after = |minutes: i64| came + SignedDuration::from_mins(minutes);
        let may = |role: Role, action, is_own, minutes| role.may(action).for_entry(is_own, Some(came), after(minutes));
        assert!(may(Role::Carer, Action::Correct, true, 24 * 60));
        assert!(!may(Role::Carer, Action::Correct, true, 24 * 60 + 1));
        assert!(!may(Role::Carer, Action::Correct, false, 1));
        assert!(may(Role::Helper, Action::TakeBack, true, 10));
        assert!(!may(Role::Helper, Action::TakeBack, true, 11));
        assert!(!may(Role::Helper, Action::Correct, true, 1));
        assert!(may(Role::Breeder, Action::Correct, false, 99 * 24 * 60));
        assert!(!may(Role::Reader, Action::TakeBack, true, 0));
    }
}
