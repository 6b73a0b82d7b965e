//! Signs seen on a pup: one table from a recorded word to what it means and what it blocks.
//!
//! A sign stands until a newer check of the same kind says otherwise.

use jiff::Timestamp;

use super::{DamFeeds, PupAssessment, Warmth, dam_milk_is_none};
use crate::finding::{Finding, Level};
use crate::limits;
use crate::record::{CHECK_KINDS, Check, CheckKind, Facts, Word as W, hours_between};
use crate::references::{self as source, Source, Sourced};

/// What a sign forbids until a newer check clears it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Block {
    /// No milk until a newer check clears it.
    AllMilk,
    /// Nothing more until the next feed.
    ThisFeed,
    /// No bottle; a tube may do.
    Bottle,
    /// No tube.
    Tube,
}

/// A block with its reason.
#[derive(Debug, Clone)]
pub struct Blocked {
    pub block: Block,
    pub why: String,
    pub since: Timestamp,
    pub source: &'static Source,
}

struct Rule {
    kind: CheckKind,
    word: W,
    code: &'static str,
    level: Level,
    block: Option<Block>,
    says: &'static str,
    action: &'static str,
    source: &'static Source,
}

const fn rule(
    kind: CheckKind,
    word: W,
    code: &'static str,
    level: Level,
    block: Option<Block>,
    says: &'static str,
    action: &'static str,
    source: &'static Source,
) -> Rule {
    Rule { kind, word, code, level, block, says, action, source }
}

use Block::{AllMilk, Bottle, ThisFeed, Tube};
use CheckKind as K;
use Level::{NeedsHelp, VetNow, VetToday};

const RING_NOW: &str = "Ring the vet now. Nothing by mouth. Keep it warm.";
const AIRWAY_ACTION: &str =
    "Ring the vet now. No milk. Keep it warm, head level; look for a cleft palate in white light.";
const GREY_STOOL_ACTION: &str = "Ring the vet now, before the next feed.";

/// Share of water for loose yellow and for loose greenish stool.
pub const DILUTION: Sourced<(f64, f64)> = Sourced::new((1.0 / 3.0, 0.5), &source::STOOL_LOOSE);

/// A dry nose this long after milk at the nose shows that it is over.
const NOSE_DRY_H: Sourced<f64> = Sourced::new(24.0, &source::MILK_AT_NOSE_AGAIN);

/// Every sign that asks for something.
const RULES: &[Rule] = &[
    rule(K::Behaviour, W::Seizure, "seizure", VetNow, Some(AllMilk), "had a seizure", RING_NOW, &source::LIFELESS),
    rule(
        K::Behaviour,
        W::CannotBeRoused,
        "not-roused",
        VetNow,
        Some(AllMilk),
        "cannot be roused",
        RING_NOW,
        &source::LIFELESS,
    ),
    rule(K::Behaviour, W::Limp, "limp", VetNow, Some(AllMilk), "is limp", RING_NOW, &source::LIFELESS),
    rule(K::Behaviour, W::Bleeding, "bleeding", VetNow, Some(AllMilk), "is bleeding", RING_NOW, &source::LIFELESS),
    rule(
        K::Breathing,
        W::Laboured,
        "laboured-breath",
        VetNow,
        Some(AllMilk),
        "breathes with effort",
        AIRWAY_ACTION,
        &source::AIRWAY,
    ),
    rule(
        K::Breathing,
        W::Noisy,
        "noisy-breath",
        VetNow,
        Some(AllMilk),
        "breathes noisily",
        AIRWAY_ACTION,
        &source::AIRWAY,
    ),
    rule(K::Gums, W::Blue, "blue-gums", VetNow, Some(AllMilk), "has blue gums", AIRWAY_ACTION, &source::AIRWAY),
    rule(K::Gums, W::Grey, "grey-gums", VetNow, Some(AllMilk), "has grey gums", AIRWAY_ACTION, &source::AIRWAY),
    rule(K::Gums, W::White, "white-gums", VetNow, Some(AllMilk), "has white gums", AIRWAY_ACTION, &source::AIRWAY),
    rule(
        K::Gums,
        W::Pale,
        "pale-gums",
        VetToday,
        Some(Tube),
        "has pale gums",
        "Ring the vet today. Look again in white light in an hour.",
        &source::DRY,
    ),
    rule(
        K::Gums,
        W::Tacky,
        "tacky-gums",
        VetToday,
        Some(Tube),
        "has tacky gums: likely dry",
        "Ring the vet today. Feed by mouth only if it is warm and sucks.",
        &source::DRY,
    ),
    rule(
        K::Urine,
        W::NothingPassed,
        "no-urine",
        VetToday,
        Some(Tube),
        "passed no urine after stroking: likely dry",
        "Ring the vet today. Stroke again in an hour.",
        &source::DRY,
    ),
    rule(
        K::Suck,
        W::None,
        "no-suck",
        VetToday,
        Some(Bottle),
        "does not suck",
        "Ring the vet today: it must be fed another way. No bottle.",
        &source::NO_SUCK,
    ),
    rule(
        K::Suck,
        W::Weak,
        "weak-suck",
        NeedsHelp,
        Some(Bottle),
        "sucks weakly",
        "No bottle until it grips a clean finger with clear force. A tube only by a carer whom a vet taught; else ring the vet today.",
        &source::SUCK_FIRST,
    ),
    rule(
        K::Palate,
        W::Cleft,
        "cleft-palate",
        VetToday,
        Some(Bottle),
        "has a cleft palate",
        "Ring the vet today. No bottle.",
        &source::CLEFT,
    ),
    rule(
        K::Belly,
        W::Taut,
        "taut-belly",
        VetToday,
        Some(AllMilk),
        "has a taut belly",
        "No feed until the belly is soft. Stroke it with warm wet cotton; ring the vet today.",
        &source::TAUT_BELLY,
    ),
    rule(
        K::Behaviour,
        W::Crying,
        "crying",
        VetToday,
        None,
        "has cried for more than 15 min",
        "Take its temperature, look at belly and gums; ring the vet today.",
        &source::CRYING,
    ),
    rule(
        K::Behaviour,
        W::Panting,
        "panting",
        NeedsHelp,
        None,
        "pants, is red or splayed",
        "Cool the box, open a cool end; take the rectal temperature now and again in 15 to 30 min.",
        &source::TOO_HOT,
    ),
    rule(K::Stool, W::Grey, "grey-stool", VetNow, None, "has grey stool", GREY_STOOL_ACTION, &source::STOOL_GREY),
    rule(K::Stool, W::White, "white-stool", VetNow, None, "has white stool", GREY_STOOL_ACTION, &source::STOOL_GREY),
    rule(K::Stool, W::Watery, "watery-stool", VetNow, None, "has watery stool", GREY_STOOL_ACTION, &source::STOOL_OURS),
    rule(
        K::Stool,
        W::Bloody,
        "bloody-stool",
        VetNow,
        None,
        "has blood in the stool",
        GREY_STOOL_ACTION,
        &source::STOOL_OURS,
    ),
    rule(
        K::Dried,
        W::No,
        "wet-newborn",
        NeedsHelp,
        None,
        "is still wet from birth",
        "Rub it dry and warm it now.",
        &source::NO_COLD_FEED,
    ),
];

/// One word of a check with what it means, as data for an open page.
#[derive(Debug, Clone, Copy, serde::Serialize)]
pub struct SignLine {
    /// A kind of check, and a word of it.
    pub kind: &'static str,
    pub value: &'static str,
    /// vet now, vet today or needs help.
    pub level: &'static str,
    pub says: &'static str,
    pub what_to_do: &'static str,
    /// `all_milk`, `this_feed`, bottle or tube.
    pub forbids: Option<&'static str>,
}

/// What milk at the nose asks for.
const NOSE_ACTION: &str = "Stop that feed, wipe the nose, let it rest. Nothing more until the next feed, then slower. Noisy breath or blue gums: ring the vet now.";

/// The table of signs, and milk at the nose.
pub(crate) fn sign_lines() -> Vec<SignLine> {
    let kind_word = |kind: K| CHECK_KINDS.iter().find(|r| r.kind == kind).map_or("", |r| r.word);
    let block_word = |block: Block| match block {
        AllMilk => "all_milk",
        ThisFeed => "this_feed",
        Bottle => "bottle",
        Tube => "tube",
    };
    let of_rule = |rule: &Rule| SignLine {
        kind: kind_word(rule.kind),
        value: rule.word.text(),
        level: rule.level.words(),
        says: rule.says,
        what_to_do: rule.action,
        forbids: rule.block.map(block_word),
    };
    let nose = SignLine {
        kind: kind_word(K::MilkAtNose),
        value: W::Yes.text(),
        level: NeedsHelp.words(),
        says: "milk came from the nose",
        what_to_do: NOSE_ACTION,
        forbids: Some(block_word(ThisFeed)),
    };
    RULES.iter().map(of_rule).chain([nose]).collect()
}

/// Whether a check holds a word of the table of signs.
#[must_use]
pub fn is_ill(check: &Check) -> bool {
    RULES.iter().any(|rule| rule.kind == check.kind && check.is(rule.word))
}

/// The latest word of a kind for this pup.
fn latest<'f>(facts: &'f Facts, pup: &'f PupAssessment, kind: CheckKind) -> Option<&'f Check> {
    facts.latest(Some(&pup.pup.id), kind)
}

/// The check by which a rule stands now.
///
/// A sign that forbids all milk stands through every other ill word of its kind: a pup that had
/// a seizure and now cries is not well. Any other sign gives way to the newest word.
fn seen<'f>(facts: &'f Facts, pup: &'f PupAssessment, rule: &Rule) -> Option<&'f Check> {
    if rule.block != Some(AllMilk) {
        return latest(facts, pup, rule.kind).filter(|c| c.is(rule.word));
    }
    let is_ill = |c: &&Check| RULES.iter().any(|r| r.kind == rule.kind && c.is(r.word));
    facts.checks_of(Some(&pup.pup.id), rule.kind).rev().take_while(is_ill).find(|c| c.is(rule.word))
}

pub fn findings(facts: &Facts, pup: &PupAssessment, now: Timestamp, dam: &DamFeeds) -> (Vec<Finding>, Vec<Blocked>) {
    let mut found = Vec::new();
    let mut blocked = Vec::new();
    for rule in RULES {
        let Some(check) = seen(facts, pup, rule) else { continue };
        found.push(
            Finding::of_pup(&pup.pup.id, rule.code, rule.level, rule.source)
                .says(rule.says)
                .action(rule.action)
                .since(check.at)
                .sign(),
        );
        if let Some(block) = rule.block {
            blocked.push(Blocked { block, why: rule.says.into(), since: check.at, source: rule.source });
        }
    }
    found.extend(loose_stool(facts, pup, now));
    nose(facts, pup, now, &mut found, &mut blocked);
    found.extend(colostrum(facts, pup, now));
    found.extend(left_milk(facts, pup, now));
    if pup.pup.premature {
        blocked.push(Blocked {
            block: Tube,
            why: "was born too early".into(),
            since: pup.pup.born_at,
            source: &source::TUBE_NOT,
        });
    }
    if !dam.is_feeding && pup.age.get() < limits::COLOSTRUM_H.value && dam_milk_is_none(facts) {
        found.push(
            Finding::of_pup(&pup.pup.id, "no-colostrum-dam", VetNow, &source::COLOSTRUM)
                .says("the dam gives no first milk")
                .action("Ring the vet now for colostrum from another source; the gut closes 12 to 16 h after birth.")
                .sign(),
        );
    }
    two_signs_together(facts, pup, &mut found);
    (found, blocked)
}

/// Two signs on one pup that each ask for help are a call to the vet, where none of them is one yet.
pub fn several_together(pup: &crate::record::PupId, findings: &[Finding]) -> Option<Finding> {
    let signs: Vec<&Finding> = findings.iter().filter(|f| f.is_sign && f.level >= NeedsHelp).collect();
    let is_a_call_already = signs.iter().any(|f| f.level >= VetToday);
    (signs.len() >= 2 && !is_a_call_already).then(|| {
        let says: Vec<&str> = signs.iter().map(|f| f.says.as_str()).collect();
        Finding::of_pup(pup, "several-signs", VetToday, &source::SEVERAL_SIGNS)
            .says(format!("several signs together: {}", says.join("; ")))
            .action("Ring the vet today; in the evening or at night that means now.")
            .sign()
    })
}

/// Loose stool with another sign, a taut belly with another sign, no suck in a cold pup: vet now.
fn two_signs_together(facts: &Facts, pup: &PupAssessment, found: &mut [Finding]) {
    let signs = found.iter().filter(|f| f.is_sign && f.level >= NeedsHelp).count();
    let is_cold = matches!(pup.warmth, Warmth::Cold(_));
    let is_out_of_range = is_cold || matches!(pup.warmth, Warmth::Hot { .. });
    let has_loose_stool = latest(facts, pup, K::Stool).is_some_and(|c| c.is(W::LooseYellow) || c.is(W::LooseGreen));
    let others = signs + usize::from(is_out_of_range);
    for finding in found.iter_mut() {
        let is_one_of_two = match finding.code {
            "loose-stool" | "taut-belly" => others >= 2,
            "no-suck" => is_cold,
            _ => false,
        };
        if is_one_of_two && finding.level < VetNow {
            finding.level = VetNow;
            finding.says = format!("{}, with another sign", finding.says);
            finding.action = format!("Ring the vet now: two signs together. {}", finding.action);
            if has_loose_stool && finding.code == "loose-stool" {
                finding.source = &source::STOOL_OURS;
            }
        }
    }
}

/// Loose stool; what a handbook adds in water, by its colour, for a pup that is well otherwise.
fn loose_stool(facts: &Facts, pup: &PupAssessment, now: Timestamp) -> Option<Finding> {
    let check = latest(facts, pup, K::Stool)?;
    let (word, water, dilution) = match () {
        () if check.is(W::LooseYellow) => {
            ("loose yellow", DILUTION.value.0, "one third water (2 parts milk, 1 part water)")
        }
        () if check.is(W::LooseGreen) => ("loose greenish", DILUTION.value.1, "half water (1 part milk, 1 part water)"),
        () => return None,
    };
    let since = facts
        .checks_of(Some(&pup.pup.id), K::Stool)
        .rev()
        .take_while(|c| !c.is(W::Firm))
        .last()
        .map_or(check.at, |c| c.at);
    let is_long = hours_between(since, now).get() > limits::DILUTED_FOR_H.value;
    let is_small = is_small(pup);
    let finding = Finding::of_pup(
        &pup.pup.id,
        "loose-stool",
        if is_small || is_long { VetToday } else { NeedsHelp },
        &source::STOOL_LOOSE,
    )
    .says(format!("has {word} stool"))
    .since(check.at)
    .sign();
    let is_well = is_warm_sucking_moist_and_gaining(facts, pup);
    let percent = crate::units::number(water * 100.0, 0, false);
    let left = facts.milk_in_use().and_then(crate::milk::strength).map_or(String::new(), |s| {
        format!(": {} of the {} that it has now", s.kcal_per_ml * (1.0 - water), s.kcal_per_ml)
    });
    let handbook = format!(
        "A handbook mixes {dilution} for at most {} h, then goes back to full strength as the stool firms. {percent} % of the \
         energy is missing in each feed{left}; no larger feed makes up for it.",
        limits::DILUTED_FOR_H.value
    );
    Some(match (is_small, is_long, is_well) {
        (true, ..) => finding.action("Ring the vet today, before changing the milk: it is under 14 days or 500 g."),
        (false, true, _) => {
            finding.action("Ring the vet today: it has been loose for more than 24 h. Do not thin the milk any longer.")
        }
        (false, false, true) => finding.action(handbook),
        (false, false, false) => finding.action(
            "Check first: rectal temperature, suck, gums, weight. Ring the vet today if one of them is not right.",
        ),
    })
}

fn is_small(pup: &PupAssessment) -> bool {
    let (age, weight) = limits::LOOSE_STOOL_SMALL.value;
    pup.age.get() < age || pup.latest().is_none_or(|l| l.weight < weight)
}

/// The dilution is what a handbook says, for such a pup only.
fn is_warm_sucking_moist_and_gaining(facts: &Facts, pup: &PupAssessment) -> bool {
    matches!(pup.warmth, Warmth::InRange { .. })
        && latest(facts, pup, K::Suck).is_some_and(|c| c.is(W::Strong))
        && latest(facts, pup, K::Gums).is_some_and(|c| c.is(W::PinkMoist))
        && pup.gain.as_ref().is_some_and(|g| g.change.get() > 0.0)
}

/// Whether the milk of this pup may be thinned after loose stool.
///
/// # Errors
/// Why not, and what to do instead.
pub fn may_be_thinned(facts: &Facts, pup: &PupAssessment) -> Result<(), &'static str> {
    if pup.findings.iter().any(|f| f.level >= VetNow) {
        return Err("ring the vet now: it has a sign that comes before any change of milk");
    }
    if is_small(pup) {
        return Err("ring the vet today, before changing the milk: it is under 14 days or 500 g");
    }
    if !is_warm_sucking_moist_and_gaining(facts, pup) {
        return Err("check first: rectal temperature, suck, gums, weight; ring the vet today if one is not right");
    }
    Ok(())
}

/// Milk at the nose: this feed stops; a second time, or with noisy breath: vet now.
///
/// A dry nose written down a moment later unsays neither; only a day without milk at the nose does.
fn nose(facts: &Facts, pup: &PupAssessment, now: Timestamp, found: &mut Vec<Finding>, blocked: &mut Vec<Blocked>) {
    let all = || facts.checks_of(Some(&pup.pup.id), K::MilkAtNose);
    let Some(last) = all().rfind(|c| c.is(W::Yes)) else { return };
    let is_dry_since = all().any(|c| c.is(W::No) && hours_between(last.at, c.at).get() >= NOSE_DRY_H.value);
    if is_dry_since {
        return;
    }
    let times = all().filter(|c| c.is(W::Yes)).count();
    let id = &pup.pup.id;
    if times >= 2 {
        found.push(
            Finding::of_pup(id, "milk-at-nose-again", VetNow, &source::MILK_AT_NOSE_AGAIN)
                .says(format!("milk came from the nose {times} times"))
                .action(AIRWAY_ACTION)
                .since(last.at)
                .sign(),
        );
        blocked.push(Blocked {
            block: AllMilk,
            why: "milk came from the nose again".into(),
            since: last.at,
            source: &source::MILK_AT_NOSE_AGAIN,
        });
    } else if hours_between(last.at, now).get() <= 24.0 {
        found.push(
            Finding::of_pup(id, "milk-at-nose", NeedsHelp, &source::MILK_AT_NOSE)
                .says("milk came from the nose")
                .action(NOSE_ACTION)
                .since(last.at)
                .sign(),
        );
        blocked.push(Blocked {
            block: ThisFeed,
            why: "milk came from the nose".into(),
            since: last.at,
            source: &source::MILK_AT_NOSE,
        });
    }
}

/// Less than half of what was offered, twice in a row: silent under-feeding.
fn left_milk(facts: &Facts, pup: &PupAssessment, now: Timestamp) -> Option<Finding> {
    let last_two: Vec<_> = facts.hand_feeds(&pup.pup.id).rev().take(2).collect();
    let [last, before] = last_two[..] else { return None };
    let is_left = |f: &crate::record::Feed| matches!((f.offered, f.taken), (Some(o), Some(t)) if t < o * 0.5);
    (is_left(last) && is_left(before) && hours_between(before.at, now).get() <= 24.0).then(|| {
        Finding::of_pup(&pup.pup.id, "left-milk", NeedsHelp, &source::LEFT_MILK)
            .says("took less than half at its last two feeds")
            .action("Take its rectal temperature, try the suck, look at belly and gums; weigh it. If one of them is not right, ring the vet today.")
            .since(before.at)
            .sign()
    })
}

fn colostrum(facts: &Facts, pup: &PupAssessment, now: Timestamp) -> Option<Finding> {
    let age = hours_between(pup.pup.born_at, now).get();
    let seen = latest(facts, pup, K::ColostrumSeen);
    if age >= 24.0 || seen.is_some_and(|c| c.is(W::Yes)) {
        return None;
    }
    let limit = limits::COLOSTRUM_H;
    let left = limit.value - age;
    let finding = Finding::of_pup(&pup.pup.id, "colostrum", VetNow, limit.source).sign();
    Some(match (left > 0.0, seen) {
        (true, _) => {
            let level = if left <= 4.0 { NeedsHelp } else { Level::KeepWatch };
            let mut finding = finding;
            finding.level = level;
            finding.is_sign = false;
            finding
                .says(format!("colostrum not seen yet; {} left", super::growth::hours_words(left)))
                .action("Put it to a full teat now and see that it swallows.")
        }
        (false, Some(_)) => finding
            .says(format!("no colostrum in {} h", limit.value))
            .action("Ring the vet now: the gut closes 12 to 16 h after birth."),
        (false, None) => {
            let mut finding = finding;
            finding.level = NeedsHelp;
            finding.is_sign = false;
            finding
                .says(format!("colostrum not recorded in {} h", limit.value))
                .action("If nobody saw it swallow, ring the vet now; else record colostrum_seen.")
        }
    })
}

/// First-day checks that nobody has recorded, and the palate before a bottle.
pub fn missing_checks(facts: &Facts, pup: &PupAssessment, now: Timestamp) -> Vec<String> {
    let id = &pup.pup.id;
    let has = |kind| latest(facts, pup, kind).is_some();
    let mut missing = Vec::new();
    if pup.age.get() < 24.0 {
        let asked = [
            (K::Breathing, "breathing"),
            (K::Dried, "dry"),
            (K::RectalTemperature, "warm (rectal)"),
            (K::ColostrumSeen, "colostrum seen"),
        ];
        let words: Vec<&str> = asked.into_iter().filter(|(kind, _)| !has(*kind)).map(|(_, word)| word).collect();
        if !words.is_empty() {
            missing.push(format!("{id}: not recorded on the first day: {}", words.join(", ")));
        }
    }
    let has_had_bottle = facts.hand_feeds(&pup.pup.id).any(|f| f.at <= now);
    if !has(K::Palate) && (has_had_bottle || pup.age.get() < 24.0) {
        missing.push(format!("{id}: palate not recorded; look at it in white light before the first bottle"));
    }
    for feed in facts.hand_feeds(&pup.pup.id).filter(|f| hours_between(f.at, now).get() <= 24.0) {
        if feed.taken.is_none() {
            let at = crate::report::clock(feed.at, &facts.litter.zone);
            let counted = if feed.offered.is_some() { "all that was offered" } else { "a full stomach" };
            missing.push(format!("{id}: amount taken at {at} not recorded; counted as {counted}"));
        }
    }
    missing
}
