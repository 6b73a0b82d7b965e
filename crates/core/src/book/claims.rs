//! Who has begun a round: it informs for a while and locks nothing.

use jiff::{SignedDuration, Timestamp};

use super::{Fact, Folded, Kind};

/// A claim informs for this long (our own, usability O-25).
pub const CLAIM_LASTS: SignedDuration = SignedDuration::from_mins(20);

/// The claims that still inform at a time, the latest of each carer (or device), oldest first.
#[must_use]
pub fn open_claims(folded: &Folded, now: Timestamp) -> Vec<&Fact> {
    let mut open: Vec<&Fact> = Vec::new();
    let is_open = |claimed: Timestamp| (SignedDuration::ZERO..CLAIM_LASTS).contains(&now.duration_since(claimed));
    let mut claims: Vec<&Fact> =
        folded.of_kind(Kind::Claim).map(AsRef::as_ref).filter(|f| is_open(f.occurred)).collect();
    claims.sort_by_key(|f| (f.occurred, f.id));
    for claim in claims {
        let who = |f: &Fact| f.carer.clone().unwrap_or_else(|| f.device.clone());
        open.retain(|other| who(other) != who(claim));
        open.push(claim);
    }
    open
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::book::{FactId, Receipt, fold};

    fn claim(number: u128, carer: Option<&str>, device: &str, at: &str) -> Arc<Fact> {
        let at: Timestamp = at.parse().unwrap();
        Arc::new(Fact {
            id: FactId::from_parts(at, number),
            litter: FactId::from_parts(Timestamp::UNIX_EPOCH, 1),
            kind: Kind::Claim,
            pup: None,
            body: [("claimed_at", at), ("round_at", at)].map(|(k, t)| (k.into(), t.to_string().into())).into(),
            occurred: at,
            zone: "UTC".into(),
            carer: carer.map(str::to_owned),
            device: device.into(),
            supersedes: None,
            voids: None,
            receipt: Receipt::default(),
        })
    }

    #[test]
    fn a_claim_informs_for_twenty_minutes_and_the_latest_of_a_carer_counts() {
        let folded = fold(&[
            claim(1, Some("Tom"), "one", "2026-11-20T02:50Z"),
            claim(2, Some("Tom"), "two", "2026-11-20T02:58Z"),
            claim(3, None, "three", "2026-11-20T02:59Z"),
        ]);
        let at = |text: &str| {
            let open = open_claims(&folded, text.parse().unwrap());
            open.iter().map(|f| (f.device.clone(), f.occurred.to_string())).collect::<Vec<_>>()
        };
        let (tom, other) =
            (("two".into(), "2026-11-20T02:58:00Z".into()), ("three".into(), "2026-11-20T02:59:00Z".into()));
        assert_eq!(at("2026-11-20T03:00Z"), [tom.clone(), other.clone()]);
        assert_eq!(at("2026-11-20T03:17:59Z"), [tom, other.clone()]);
        assert_eq!(at("2026-11-20T03:18Z"), [other]);
        assert!(at("2026-11-20T03:19Z").is_empty());
        assert_eq!(at("2026-11-20T02:57Z").len(), 1, "a claim from a clock ahead of ours does not inform yet");
    }
}
