//! A new milk eases in over three days.

use jiff::Timestamp;

use crate::milk::{self, MilkNote};
use crate::record::{Facts, hours_between};
use crate::references::{self as source, Sourced};

/// Share of the new milk on its first, second and later days.
const SHARE_OF_NEW: Sourced<[&str; 3]> = Sourced::new(["one third", "two thirds", "all"], &source::SWITCH_MILK);

/// What to say when the milk in use is not the one that was fed before.
#[must_use]
pub fn switched(facts: &Facts, now: Timestamp) -> Option<MilkNote> {
    let in_use = &facts.milk_in_use()?.id;
    let fed: Vec<_> = facts
        .feeds
        .iter()
        .filter(|f| f.is_by_hand() && f.at <= now)
        .filter_map(|f| Some((f.at, f.milk.as_ref()?)))
        .collect();
    let (last_old, old) = fed.iter().rfind(|(_, id)| *id != in_use)?;
    // Feeds of both milks side by side are the easing in: the first of the new one counts.
    let first_new = fed.iter().find(|(_, id)| *id == in_use).map_or(now, |(at, _)| *at);
    let hours = hours_between(first_new, now).get();
    let day = if hours < 24.0 { 0 } else { usize::from(hours >= 48.0) + 1 };
    if day == 2 || hours_between(*last_old, now).get() > 48.0 {
        return None;
    }
    let is_refused = facts.milks.iter().find(|m| &m.id == *old).and_then(milk::refused).is_some();
    let says = if is_refused {
        format!("New milk {in_use}: start it at once, {old} is not to be fed; smaller and more feeds on the first day.")
    } else {
        format!(
            "New milk: {in_use} after {old}. Today {} {in_use}, the rest {old}, each mixed as its label says; all {in_use} from the third day. \
             Without {old} in the house, smaller and more feeds on the first day.",
            SHARE_OF_NEW.value[day]
        )
    };
    Some(MilkNote { says, source: SHARE_OF_NEW.source })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{FolderFiles, parse};

    fn said(feeds: &str, now: &str) -> Option<String> {
        let litter = r#"
format = 1
[litter]
name = "Example"
expected_adult_weight_kg = 12
whelped_at = 2026-11-01T06:00Z
time_zone = "UTC"
scale_step_g = 1
[[pup]]
id = "Ash"
sex = "male"
marks = "grey"
born_at = 2026-11-01T06:00Z
birth_weight = 310
unit = "g"
[[milk]]
id = "old"
kind = "puppy_powder"
[[milk]]
id = "new"
kind = "puppy_ready"
kcal_per_ml = 1.2
in_use = true
"#;
        let files = FolderFiles {
            litter_toml: Some(litter.into()),
            feeds_csv: Some(format!("pup,fed_at,method,taken_ml,milk\n{feeds}").into()),
            ..FolderFiles::default()
        };
        switched(&parse(&files).unwrap(), now.parse().unwrap()).map(|n| n.says)
    }

    #[test]
    fn a_new_milk_is_eased_in() {
        let old = "Ash,2026-11-10T06:00Z,bottle,9,old\n";
        let new = "Ash,2026-11-10T10:00Z,bottle,9,new\n";
        assert!(said(old, "2026-11-10T09:00Z").unwrap().contains("one third new"), "before its first feed");
        let both = format!("{old}{new}");
        assert!(said(&both, "2026-11-11T09:59Z").unwrap().contains("one third new"));
        assert!(said(&both, "2026-11-11T10:00Z").unwrap().contains("two thirds new"));
        assert!(said(&both, "2026-11-12T10:00Z").is_none(), "the third day");
        assert!(said(new, "2026-11-10T12:00Z").is_none(), "never another milk");
        assert!(said(old, "2026-11-13T06:01Z").is_none(), "the old milk is long gone");
    }
}
