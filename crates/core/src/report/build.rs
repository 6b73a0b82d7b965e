//! Runs the whole line and turns its results into the report.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::clock::{clock, date_and_clock, iso};
use super::{
    Action, BatchLine, Cite, DoubtLine, Feed, FindingLine, GainLine, NeedLine, OtherEnergy, PowderLine, PupLine,
    PupSentence, RoundLine, SCHEMA_VERSION, Said, ShiftLine, ShortfallLine, TermLine, Today, TroubleLine, VetLine,
    WeighLine, Withheld, assess, dam, texts,
};
use crate::assess::{Assessment, BirthBand, PupAssessment, Warmth, assess as assess_litter};
use crate::finding::{Finding, Term};
use crate::guide::{self, CheckedInstruction, Guide, Method, NextFeed, RoundFeed, Task};
use crate::intake::{self, Intake, NoEstimate};
use crate::limits;
use crate::mix::{self, Batch, InUse};
use crate::need::{Need, NoneNeeded, Shortfall, Why, need};
use crate::record::{Facts, LeftWhy, PupId, Sex, WeightUnit, hours_between};
use crate::references::{self as source, Source};
use crate::schedule::{Timetable, Wishes, schedule};
use crate::units::{Grams, Kcal, MlPerKg};

/// Every step's result, for callers that need more than the report.
#[derive(Debug, Clone)]
pub struct Line {
    pub assessment: Assessment,
    pub milk: Result<InUse, String>,
    /// What each pup gets from its dam, in the order of the assessment.
    pub intakes: Vec<Result<Intake, NoEstimate>>,
    pub needs: Vec<Result<Need, NoneNeeded>>,
    pub timetable: Timetable,
    pub guide: Guide,
}

impl Line {
    /// Runs record's facts through assess, need, mix, schedule and guide, as known at `now`.
    #[must_use]
    pub fn run(facts: &Facts, now: Timestamp) -> Self {
        Self::run_as_wished(facts, now, 24.0, &Wishes::default())
    }

    /// The same for more hours, or with wishes for the timetable.
    #[must_use]
    pub fn run_as_wished(facts: &Facts, now: Timestamp, span_h: f64, wishes: &Wishes) -> Self {
        let facts = &facts.known_at(now);
        let mut assessment = assess_litter(facts, now);
        let milk = mix::milk_in_use(facts);
        let intakes = intake::of_litter(facts, &assessment, milk.as_ref().ok().map(|m| &m.strength), now);
        for (pup, note) in assessment.pups.iter_mut().zip(intake::notes(&intakes)) {
            pup.findings.extend(note);
        }
        let needs = need(facts, &assessment, &intakes, milk.as_ref().map(|m| &m.strength), now);
        let timetable = schedule(facts, &assessment, &needs, now, span_h, wishes);
        let guide = guide::guide(facts, &assessment, &needs, milk.as_ref(), &timetable, now);
        Self { assessment, milk, intakes, needs, timetable, guide }
    }
}

/// Why a pup gets no milk by hand at `at`, whether or not a plan feeds it: in words, none where it may.
#[must_use]
pub fn no_milk(facts: &Facts, pup: &str, at: Timestamp) -> Option<String> {
    let assessed = assess_litter(&facts.known_at(at), at);
    let pup = assessed.pups.iter().find(|p| p.pup.id.0 == pup)?;
    guide::no_milk(pup, at).map(|refusal| refusal.words())
}

/// What to do now, from the facts known at `now`.
#[must_use]
pub fn today(facts: &Facts, now: Timestamp) -> Today {
    let later = facts.later_than(now);
    let line = Line::run(facts, now);
    let facts = &facts.known_at(now);
    let zone = &facts.litter.zone;
    let mut missing = line.assessment.missing.clone();
    if facts.vets.is_empty() {
        missing.insert(0, "no vet's number: add a [[vet]] to litter.toml".into());
    }
    if later > 0 {
        missing.push(format!("{later} entries are later than {} and were left out", date_and_clock(now, zone)));
    }
    let is_anything_fed = line.guide.rounds.iter().any(|r| r.instructions().next().is_some());
    let any_tube =
        line.guide.rounds.iter().flat_map(guide::GuidedRound::instructions).any(|i| *i.method() != Method::Bottle);
    let any_need = line.needs.iter().any(Result::is_ok);
    Today {
        schema_version: SCHEMA_VERSION,
        program_version: env!("CARGO_PKG_VERSION").into(),
        litter: facts.litter.name.clone(),
        at: iso(now, zone),
        time_zone: zone.iana_name().unwrap_or("UTC").into(),
        example_note: facts.litter.example.as_ref().map(|e| e.note.clone()),
        caution: texts::CAUTION.into(),
        litter_age_days: facts.litter.whelped_at.map(|at| whole_days(hours_between(at, now).get())),
        pups_born: facts.pups.iter().filter(|p| p.joined_at.is_none()).count(),
        pups_stillborn: facts.pups.iter().filter(|p| p.left.is_some_and(|l| l.why == LeftWhy::Stillborn)).count(),
        pups_here: line.assessment.pups.len(),
        dam: line.assessment.dam_feeds.why.into(),
        vets: facts
            .vets
            .iter()
            .map(|v| VetLine { name: v.name.clone(), phone: v.phone.clone(), hours: v.hours.clone() })
            .collect(),
        if_no_answer: (!line.guide.tasks.is_empty())
            .then(|| Said { text: texts::RING_NEXT.0.into(), source: cite(texts::RING_NEXT.1) }),
        do_now: actions(&line, zone),
        pups: pup_lines(facts, &line, now, zone),
        batch: line.guide.batch.as_ref().map(|b| batch_line(b, &line, zone)),
        milk_notes: milk_notes(facts, &line, any_need, now),
        no_amounts_because: line.milk.as_ref().err().filter(|_| needs_milk(&line)).cloned(),
        rounds: line.guide.rounds.iter().map(|r| round_line(r, zone)).collect(),
        weigh_next: line
            .assessment
            .pups
            .iter()
            .zip(&line.guide.weigh_at)
            .map(|(p, at)| WeighLine { pup: p.pup.id.0.clone(), at: iso(*at, zone) })
            .collect(),
        dates: super::stages::open(&crate::upbringing::dates(facts, &line.assessment, now)),
        shortfalls: line.guide.shortfalls.iter().map(|(pup, s)| shortfall_line(pup, s)).collect(),
        timetable_trouble: line.timetable.trouble.as_ref().map(trouble_line),
        doubts: doubt_lines(&line, zone),
        missing,
        clock_change: line.timetable.clock_change.as_ref().map(|c| {
            format!("The clocks change at {}; the hours between feeds stay as they are.", date_and_clock(c.at, zone))
        }),
        how_to_feed: if is_anything_fed { how_to_feed(any_tube) } else { Vec::new() },
        large_feeds: large_feeds(facts, &line, now),
    }
}

fn needs_milk(line: &Line) -> bool {
    line.needs.iter().any(|n| matches!(n, Err(NoneNeeded::NoMilk(_))))
}

fn milk_notes(facts: &Facts, line: &Line, any_need: bool, now: Timestamp) -> Vec<Said> {
    let Ok(milk) = &line.milk else { return Vec::new() };
    let mut notes: Vec<Said> =
        milk.notes.iter().map(|n| Said { text: n.says.clone(), source: cite(n.source) }).collect();
    let most = line.needs.iter().flatten().map(|n| n.fewest_feeds).max();
    if let Some(most) = most.filter(|_| any_need && !notes.is_empty()) {
        notes.push(Said {
            text: format!("With this milk the stomach limit asks for at least {most} feeds a day."),
            source: cite(&source::STOMACH),
        });
    }
    notes.extend(mix::switched(facts, now).map(|n| Said { text: n.says, source: cite(n.source) }));
    notes
}

fn how_to_feed(any_tube: bool) -> Vec<Said> {
    let tube = if any_tube { texts::TUBE } else { &[] };
    texts::HOW_TO_FEED
        .iter()
        .chain(tube)
        .chain([&texts::HYGIENE])
        .map(|(text, source)| Said { text: (*text).into(), source: cite(source) })
        .collect()
}

/// A row as it is cited.
#[must_use]
pub fn cite(source: &Source) -> Cite {
    Cite { key: source.key.into(), source: source.cite(), status: source.mark.word().into() }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "ages are never negative here")]
fn whole_days(hours: f64) -> u32 {
    (hours / 24.0).max(0.0) as u32
}

fn actions(line: &Line, zone: &TimeZone) -> Vec<Action> {
    line.guide.tasks.iter().map(|task| action(task, zone)).collect()
}

fn action(task: &Task, zone: &TimeZone) -> Action {
    let empty = Action {
        kind: String::new(),
        about: String::new(),
        pups: Vec::new(),
        code: String::new(),
        because: String::new(),
        what_to_do: String::new(),
        since: None,
        source: None,
        feeds: Vec::new(),
    };
    match task {
        Task::Finding(f) => Action {
            kind: f.level.words().into(),
            about: f.pup.as_ref().map_or_else(|| about(f.code).into(), |p| p.0.clone()),
            pups: f.pup.iter().map(|p| p.0.clone()).collect(),
            code: f.code.into(),
            because: f.says.clone(),
            what_to_do: f.action.clone(),
            since: f.since.map(|at| iso(at, zone)),
            source: Some(cite(f.source)),
            ..empty
        },
        Task::FeedNow { feeds, late } => Action {
            kind: "feed now".into(),
            about: names(feeds.iter().map(CheckedInstruction::pup)),
            pups: feeds.iter().map(|i| i.pup().0.clone()).collect(),
            code: "feed-now".into(),
            because: late_words(late, zone),
            what_to_do: "Feed in this order, each pup only when its conditions are met; a top-up after it has nursed."
                .into(),
            feeds: feeds.iter().map(|i| Feed::from_checked(i, zone)).collect(),
            ..empty
        },
        Task::Withheld { pup, why } => Action {
            kind: "withheld".into(),
            about: pup.0.clone(),
            pups: vec![pup.0.clone()],
            code: "withheld".into(),
            because: "a feed is due".into(),
            what_to_do: why.words(),
            ..empty
        },
        Task::Weigh { pups } => Action {
            kind: "weigh now".into(),
            about: names(pups.iter()),
            pups: pups.iter().map(|p| p.0.clone()).collect(),
            code: "weigh-now".into(),
            because: "a weighing is due".into(),
            what_to_do: "Weigh before the feed, each time on the same scale.".into(),
            source: Some(cite(&source::WEIGH_OFTEN)),
            ..empty
        },
    }
}

/// Which feeds are late; a missed feed is not made up.
fn late_words(late: &[(PupId, Timestamp)], zone: &TimeZone) -> String {
    if late.is_empty() {
        return "a feed is due".into();
    }
    let each: Vec<String> = late.iter().map(|(pup, since)| format!("{pup} since {}", clock(*since, zone))).collect();
    format!("a feed is late: {}; a missed feed is not made up by a larger one", each.join(", "))
}

fn names<'p>(pups: impl Iterator<Item = &'p PupId>) -> String {
    pups.map(|p| p.0.as_str()).collect::<Vec<_>>().join(", ")
}

/// Whom a finding without a pup is about.
fn about(code: &str) -> &'static str {
    match code {
        c if c.starts_with("box") => "the box",
        c if c.starts_with("dam") => "the dam",
        c if c.starts_with("litter") => "the litter",
        _ => "the birth",
    }
}

impl Feed {
    /// The only way to a [`Feed`]: from an instruction that passed every limit.
    #[must_use]
    pub fn from_checked(instruction: &CheckedInstruction, zone: &TimeZone) -> Self {
        let (method, tube_carers) = match instruction.method() {
            Method::Bottle => ("bottle", Vec::new()),
            Method::Tube { carers } => ("tube", carers.clone()),
        };
        Self {
            pup: instruction.pup().0.clone(),
            at: iso(instruction.at(), zone),
            amount_ml: instruction.amount().get(),
            at_most_ml: instruction.most().get(),
            method: method.into(),
            tube_carers,
            only_after: instruction.conditions().iter().map(guide::Condition::words).collect(),
            weight_g: instruction.weight().get(),
            weighed_at: iso(instruction.weighed_at(), zone),
            ordered_by: instruction.ordered_by().map(str::to_owned),
        }
    }
}

fn shortfall_line(pup: &PupId, s: &Shortfall) -> ShortfallLine {
    ShortfallLine {
        pup: pup.0.clone(),
        kind: s.kind.into(),
        text: s.text.clone(),
        missing_kcal: s.missing.map(Kcal::get),
    }
}

pub(super) fn round_line(round: &guide::GuidedRound, zone: &TimeZone) -> RoundLine {
    RoundLine {
        at: iso(round.at, zone),
        until: (round.until > round.at).then(|| iso(round.until, zone)),
        carers: round.staff.iter().map(carer_line).collect(),
        feeds: round.instructions().map(|i| Feed::from_checked(i, zone)).collect(),
        withheld: round
            .feeds
            .iter()
            .filter_map(|f| match f {
                RoundFeed::Withheld { pup, why } => Some(Withheld { pup: pup.0.clone(), because: why.words() }),
                RoundFeed::Feed(_) => None,
            })
            .collect(),
    }
}

/// Why no plan keeps every gap, as data.
pub(super) fn trouble_line(trouble: &crate::schedule::Trouble) -> TroubleLine {
    TroubleLine { because: trouble.because.clone(), what_would_help: trouble.concessions.clone() }
}

pub(super) fn carer_line(shift: &crate::schedule::Shift) -> ShiftLine {
    ShiftLine { carer: shift.carer.clone(), bottles: shift.bottles, tubes: shift.tubes, is_woken: shift.is_woken }
}

fn pup_lines(facts: &Facts, line: &Line, now: Timestamp, zone: &TimeZone) -> Vec<PupLine> {
    let intakes = line.intakes.iter();
    let mut pups: Vec<_> =
        line.assessment.pups.iter().zip(&line.guide.next).zip(line.needs.iter().zip(intakes)).collect();
    // Most urgent first, signs before figures; the sort is stable, so equals stay in the order of their names.
    pups.sort_by_key(|((pup, _), _)| {
        let has_sign = pup.findings.iter().any(|f| f.is_sign && f.level == pup.level());
        std::cmp::Reverse((pup.level(), has_sign))
    });
    pups.into_iter()
        .map(|((pup, next), (need, intake))| PupLine {
            hand_back: dam::handed_back(pup, need, intake, now, zone),
            ..pup_line(facts, pup, next, need.as_ref().ok(), intake, zone)
        })
        .collect()
}

fn pup_line(
    facts: &Facts,
    pup: &PupAssessment,
    next: &NextFeed,
    need: Option<&Need>,
    intake: &Result<Intake, NoEstimate>,
    zone: &TimeZone,
) -> PupLine {
    let latest = pup.latest();
    let (next_feed, no_feed_because, working) = match next {
        NextFeed::Feed(i) => (Some(Feed::from_checked(i, zone)), None, Some(i.working())),
        NextFeed::Withheld(why) => (None, Some(why.words()), None),
        NextFeed::NoneNeeded(none) => (None, Some(none.words()), None),
    };
    PupLine {
        pup: pup.pup.id.0.clone(),
        sex: match pup.pup.sex {
            Sex::Female => "female",
            Sex::Male => "male",
            Sex::Unknown => "unknown",
        }
        .into(),
        marks: pup.pup.marks.clone(),
        age_h: pup.age.get(),
        standing: pup.standing.words().into(),
        weight_g: latest.map(|l| l.weight.get()),
        weight: latest.map(|l| facts.litter.weight_unit.print(l.weight)),
        weighed_at: latest.map(|l| iso(l.at, zone)),
        birth_weight_g: pup.pup.birth_weight.map(Grams::get),
        birth_band: match pup.birth_band {
            BirthBand::Normal => "normal",
            BirthBand::Low => "low",
            BirthBand::VeryLow => "very low",
            BirthBand::NoThreshold => "no published threshold for this breed",
            BirthBand::NotWeighed => "not weighed",
        }
        .into(),
        change_from_birth_percent: pup.change_from_birth_percent,
        gain: pup.gain.as_ref().map(|g| GainLine {
            shown: signed(g.per_day, facts.litter.weight_unit),
            g_per_day: g.per_day.get(),
            percent_per_day: g.percent_per_day,
            change_g: g.change.get(),
            hours: g.hours,
            is_mixed_pair: g.is_mixed_pair,
        }),
        growth: pup.growth.as_ref().map(|g| assess::growth_line(g, facts.litter.weight_unit)),
        warmth: match pup.warmth {
            Warmth::InRange { .. } => "warm",
            Warmth::Unknown { .. } => "not known",
            Warmth::Cool { .. } => "cool",
            Warmth::Cold(_) => "cold",
            Warmth::Hot { .. } => "hot",
        }
        .into(),
        next_feed,
        no_feed_because,
        findings: pup.findings.iter().map(|f| finding_line(f, zone)).collect(),
        need: need.map(|n| need_line(n, working)),
        from_dam: dam::from_dam(intake),
        hand_back: None,
    }
}

/// A change of weight in the household's unit, with its sign.
pub(super) fn signed(change: Grams, unit: WeightUnit) -> String {
    let sign = if change.get() < 0.0 { "-" } else { "+" };
    format!("{sign}{}", unit.print(Grams::of(change.get().abs())))
}

pub(super) fn finding_line(f: &Finding, zone: &TimeZone) -> FindingLine {
    FindingLine {
        code: f.code.into(),
        level: f.level.words().into(),
        because: f.says.clone(),
        what_to_do: f.action.clone(),
        since: f.since.map(|at| iso(at, zone)),
        source: cite(f.source),
    }
}

fn need_line(need: &Need, checked: Option<&[Term]>) -> NeedLine {
    NeedLine {
        by_hand: match need.why {
            Why::Whole => "whole",
            Why::TopUp => "top-up",
        }
        .into(),
        energy_kcal_per_100g_day: need.energy.value.get(),
        day_kcal: need.day.get(),
        by_hand_kcal: need.by_hand.get(),
        by_hand_ml: need.by_hand_volume.get(),
        fewest_feeds_per_day: need.fewest_feeds,
        feeds_per_day: need.feeds_per_day,
        water_ml_per_kg_day: need.water.map(MlPerKg::get),
        is_eased_in: need.is_eased_in,
        working: checked.unwrap_or(&need.working).iter().map(term_line).collect(),
        other_published_energy: need
            .alternatives
            .iter()
            .map(|(name, v)| OtherEnergy {
                name: name.clone(),
                kcal_per_100g_day: v.value.get(),
                source: cite(v.source),
            })
            .collect(),
    }
}

pub(super) fn term_line(term: &Term) -> TermLine {
    TermLine { what: term.what.clone(), value: term.value.clone(), source: term.source.map(cite) }
}

fn batch_line(batch: &Batch, line: &Line, zone: &TimeZone) -> BatchLine {
    let round = line.guide.rounds.iter().find(|r| r.instructions().next().is_some());
    let (low, high) = limits::FEED_TEMPERATURE.value;
    BatchLine {
        milk: batch.milk.clone(),
        for_round_at: round.map_or(String::new(), |r| iso(r.at, zone)),
        fed_ml: batch.fed.get(),
        stays_in_the_kit_ml: batch.dead.get(),
        wanted_ml: batch.wanted.get(),
        volume_ml: batch.volume.get(),
        strength_kcal_per_ml: batch.strength.get(),
        label_strength_kcal_per_ml: batch.label_strength.get(),
        powder: batch.powder.as_ref().map(|p| PowderLine {
            powder_g: p.powder.get(),
            water_ml: p.water.get(),
            hot_water_ml: p.hot_water.get(),
            cold_water_ml: (p.water - p.hot_water).get(),
            hot_water_c: p.hot.get(),
            cold_water_c: p.cold.get(),
            scoops: p.scoops,
            is_more_than_wanted: p.is_more_than_wanted,
        }),
        mixing_temperature_c: batch.mixing_temperature.get(),
        must_cool: batch.must_cool,
        feed_at_c: [low.get(), high.get()],
        throw_away_leftovers_at: iso(batch.leftovers_until, zone),
        throw_away_refrigerated_at: iso(batch.refrigerated_until, zone),
        sources: [&source::DEAD_VOLUME, &source::FEED_TEMPERATURE, &source::LEFTOVERS, &source::DISCARD]
            .into_iter()
            .map(cite)
            .collect(),
    }
}

fn doubt_lines(line: &Line, zone: &TimeZone) -> Vec<DoubtLine> {
    let pups = line.assessment.pups.iter();
    pups.flat_map(|pup| pup.doubts.iter().filter(|d| d.is_held_back || !d.is_settled).map(move |d| (pup, d)))
        .map(|(pup, d)| DoubtLine {
            pup: pup.pup.id.0.clone(),
            at: iso(d.reading.at, zone),
            reading_g: d.reading.weight.get(),
            reading: d.reading.unit.print(d.reading.weight),
            suspicion: d.suspicion.words(),
            meant_g: d.meant.map(Grams::get),
            is_held_back: d.is_held_back,
            is_settled: d.is_settled,
        })
        .collect()
}

/// Recorded feeds above the upper published stomach volume: marked, with what to watch for.
fn large_feeds(facts: &Facts, line: &Line, now: Timestamp) -> Vec<PupSentence> {
    let mut said = Vec::new();
    for pup in &line.assessment.pups {
        for feed in facts.hand_feeds(&pup.pup.id).filter(|f| hours_between(f.at, now).get() <= 24.0) {
            let weight = pup.readings.iter().rfind(|r| r.at <= feed.at).or(pup.readings.first()).map(|r| r.weight);
            let (Some(weight), Some(volume)) = (weight, feed.at_most()) else { continue };
            let age = hours_between(pup.pup.born_at, feed.at).get();
            let stomach = limits::stomach_limit(age, weight);
            let is_over = volume > stomach.volume || (stomach.is_exclusive && volume >= stomach.volume);
            if !is_over {
                continue;
            }
            let grade = if volume.per_kg_of(weight) > limits::STOMACH_GRADE.value { "far above" } else { "above" };
            said.push(PupSentence {
                pup: pup.pup.id.0.clone(),
                text: format!(
                    "{volume} at {} was {grade} the limit of {}: watch for a taut belly, milk at the nose, noisy breath; \
                     any of these: ring the vet now",
                    clock(feed.at, &facts.litter.zone),
                    stomach.volume
                ),
            });
        }
    }
    said
}
