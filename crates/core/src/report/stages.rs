//! Stages and dates from the first steps to the new home, as plain data.
//!
//! Energy of a day is shown beside the food; no amount of milk stands here.

use jiff::Timestamp;
use schemars::JsonSchema;
use serde::Serialize;

use super::build::cite;
use super::clock::iso;
use super::{Cite, SCHEMA_VERSION, Said};
use crate::assess::{Assessment, PupAssessment, assess};
use crate::record::{DoneKind, Facts, HomeLaw, ProductRule, UpbringingChoice, VaccinationGuideline, WormingGuideline};
use crate::references::{self as source};
use crate::units::Kcal;
use crate::upbringing::chip::{number, read, shown};
use crate::upbringing::weaning::{self, GainCheck, RULES, STEPS, Weaning};
use crate::upbringing::{ASKED_FOR, Dated, Dates, Home, State, dates, home_rule};

const CAUTION: &str = "Dates by published guidelines. A veterinarian decides every product, amount and day of worming \
                       and vaccination. Laws change: check the one of your place.";
const NO_CHECK_DIGIT: &str = "The 15 digits hold no check digit, so a slip looks as good as the number: read it with a \
                              reader and compare.";

/// Stages and dates of a litter.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StagesReport {
    pub schema_version: u32,
    pub program_version: String,
    pub litter: String,
    pub at: String,
    /// Today by the litter's clocks, YYYY-MM-DD as every day here.
    pub today: String,
    pub time_zone: String,
    /// Set when the litter is invented.
    pub example_note: Option<String>,
    pub caution: String,
    /// How long a date is asked for that nobody wrote down.
    pub asked_for: Said,
    pub choices: Vec<ChoiceLine>,
    /// What is due or late, of all pups together.
    pub open: Vec<DateLine>,
    pub pups: Vec<PupStages>,
    pub dam: Vec<ItemLine>,
    pub weaning_steps: Vec<StepLine>,
    pub weaning_steps_source: Cite,
    pub weaning_rules: Vec<Said>,
    /// Everyone who gets these dates into a calendar.
    pub carers: Vec<String>,
}

/// A guideline or law, chosen in `[litter]` or taken while none is.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ChoiceLine {
    /// The key of `[litter]`.
    pub key: String,
    pub chosen: String,
    pub is_chosen: bool,
    pub allowed: Vec<String>,
    pub source: Cite,
}

/// Something due or late for several pups.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DateLine {
    pub code: String,
    /// due, late, or look: something written down does not fit.
    pub state: String,
    pub title: String,
    pub pups: Vec<String>,
    /// It is (also) about the dam.
    pub dam: bool,
    /// The last day of its window.
    pub by: Option<String>,
    pub because: String,
    pub source: Cite,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PupStages {
    pub pup: String,
    pub born: String,
    /// Calendar days since the day of birth.
    pub age_days: i64,
    pub items: Vec<ItemLine>,
    /// What was written down and does not fit.
    pub faults: Vec<Said>,
    pub chip: Option<ChipLine>,
    pub home: HomeLine,
    /// None once it is older than twelve weeks.
    pub weaning: Option<WeaningLine>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ItemLine {
    pub code: String,
    pub title: String,
    /// done, due, late, coming, missed, or unwritten: asked for long enough, and nobody wrote it down.
    pub state: String,
    pub from: Option<String>,
    pub to: Option<String>,
    pub done_on: Option<String>,
    pub because: String,
    /// The kind of `done.csv` under which it is written down.
    pub record_as: Option<String>,
    /// It is seen, not done.
    pub is_milestone: bool,
    /// A product is written down with it.
    pub needs_product: bool,
    pub source: Cite,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ChipLine {
    pub number: String,
    pub shown: String,
    pub is_of_the_standard: bool,
    pub reading: String,
    pub caution: String,
    pub source: Cite,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HomeLine {
    pub law: String,
    /// The first day that the law allows.
    pub earliest: String,
    /// Every condition is met today.
    pub may_go: bool,
    pub conditions: Vec<ConditionLine>,
    pub planned: Option<String>,
    pub new_owner: Option<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ConditionLine {
    pub code: String,
    pub is_met: bool,
    pub text: String,
    pub source: Cite,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StepLine {
    pub from_day: i64,
    pub mix: String,
    pub meals_least: u32,
    pub meals_most: u32,
    pub milk_percent: u32,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WeaningLine {
    pub start_on: String,
    pub start_source: Cite,
    pub begun_on: Option<String>,
    pub weaned_on: Option<String>,
    pub ready: Vec<ReadyLine>,
    pub advice: String,
    pub step: Option<StepLine>,
    pub next_step_on: Option<String>,
    /// enough, too little or not known.
    pub gain: String,
    pub gain_text: String,
    pub gain_source: Cite,
    pub energy: Option<DayEnergyLine>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ReadyLine {
    pub sign: String,
    pub seen_on: Option<String>,
}

/// Metabolisable energy of a day at the newest weight, shared between milk and food by the step.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DayEnergyLine {
    pub weight_g: f64,
    pub whole_kcal: f64,
    pub milk_kcal: f64,
    /// What milk no longer gives.
    pub food_kcal: f64,
    pub source: Cite,
    pub others: Vec<OtherDayEnergy>,
    pub note: Option<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OtherDayEnergy {
    pub name: String,
    pub kcal: f64,
    pub source: Cite,
}

/// JSON Schema of [`StagesReport`].
#[must_use]
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(StagesReport).to_value()
}

/// Stages and dates from the facts known at `now`.
#[must_use]
pub fn stages(facts: &Facts, now: Timestamp) -> StagesReport {
    let facts = &facts.known_at(now);
    let zone = &facts.litter.zone;
    let assessment = assess(facts, now);
    let dates = dates(facts, &assessment, now);
    let weanings = weaning::weaning(facts, &assessment, now);
    StagesReport {
        schema_version: SCHEMA_VERSION,
        program_version: env!("CARGO_PKG_VERSION").into(),
        litter: facts.litter.name.clone(),
        at: iso(now, zone),
        today: dates.today.to_string(),
        time_zone: zone.iana_name().unwrap_or("UTC").into(),
        example_note: facts.litter.example.as_ref().map(|e| e.note.clone()),
        caution: CAUTION.into(),
        asked_for: Said {
            text: format!(
                "A date that nobody writes down is asked for until {} weeks after its last day.",
                ASKED_FOR.value / 7
            ),
            source: cite(ASKED_FOR.source),
        },
        choices: choices(facts.litter.upbringing),
        open: open(&dates),
        pups: pups(facts, &assessment, &dates, &weanings),
        dam: dates.items.iter().filter(|i| i.pup.is_none()).map(item_line).collect(),
        weaning_steps: STEPS.value.iter().map(step_line).collect(),
        weaning_steps_source: cite(STEPS.source),
        weaning_rules: RULES.value.iter().map(|r| Said { text: (*r).into(), source: cite(RULES.source) }).collect(),
        carers: facts.carers.iter().map(|c| c.name.clone()).collect(),
    }
}

fn choices(choice: UpbringingChoice) -> Vec<ChoiceLine> {
    let words = |words: &[&str]| words.iter().map(|w| (*w).to_owned()).collect();
    let worming = choice.worming.unwrap_or(WormingGuideline::Esccap);
    let vaccination = choice.vaccination.unwrap_or(VaccinationGuideline::Wsava2024);
    let all = |each: &mut dyn Iterator<Item = &'static str>| words(&each.collect::<Vec<_>>());
    vec![
        ChoiceLine {
            key: "worming_guideline".into(),
            chosen: worming.word().into(),
            is_chosen: choice.worming.is_some(),
            allowed: all(&mut WormingGuideline::ALL.iter().map(|g| g.word())),
            source: cite(match worming {
                WormingGuideline::Esccap => &source::WORMING_ESCCAP,
                WormingGuideline::Capc => &source::WORMING_CAPC,
            }),
        },
        ChoiceLine {
            key: "vaccination_guideline".into(),
            chosen: vaccination.word().into(),
            is_chosen: choice.vaccination.is_some(),
            allowed: all(&mut VaccinationGuideline::ALL.iter().map(|g| g.word())),
            source: cite(match vaccination {
                VaccinationGuideline::Wsava2024 => &source::VACCINATION_WSAVA,
                VaccinationGuideline::Aaha2022 => &source::VACCINATION_AAHA,
            }),
        },
        ChoiceLine {
            key: "home_law".into(),
            chosen: choice.home_law.map_or("strictest", HomeLaw::word).into(),
            is_chosen: choice.home_law.is_some(),
            allowed: all(&mut HomeLaw::ALL.iter().map(|l| l.word())),
            source: cite(home_rule(choice.home_law).days.source),
        },
    ]
}

/// What is due or late, and what does not fit: late first, the same for several pups on one line.
#[must_use]
pub fn open(dates: &Dates) -> Vec<DateLine> {
    let mut lines: Vec<(State, DateLine)> = Vec::new();
    for item in dates.open() {
        let same = |(_, l): &&mut (State, DateLine)| {
            l.code == item.code
                && l.state == item.state.word()
                && l.because == item.because
                && l.dam == item.pup.is_none()
        };
        if let Some((_, line)) = lines.iter_mut().find(same) {
            line.pups.extend(item.pup.iter().map(|p| p.0.clone()));
            continue;
        }
        let line = DateLine {
            code: item.code.into(),
            state: item.state.word().into(),
            title: item.title.clone(),
            pups: item.pup.iter().map(|p| p.0.clone()).collect(),
            dam: item.pup.is_none(),
            by: item.to.map(|d| d.to_string()),
            because: item.because.clone(),
            source: cite(item.source),
        };
        lines.push((item.state, line));
    }
    lines.sort_by_key(|(state, _)| *state);
    let faults = dates.open_faults().map(|f| DateLine {
        code: f.code.into(),
        state: "look".into(),
        title: "does not fit".into(),
        pups: vec![f.pup.0.clone()],
        dam: false,
        by: None,
        because: f.says.clone(),
        source: cite(f.source),
    });
    lines.into_iter().map(|(_, line)| line).chain(faults).collect()
}

fn item_line(item: &Dated) -> ItemLine {
    let day = |d: Option<jiff::civil::Date>| d.map(|d| d.to_string());
    ItemLine {
        code: item.code.into(),
        title: item.title.clone(),
        state: item.state.word().into(),
        from: day(item.from),
        to: day(item.to),
        done_on: day(item.done_on),
        because: item.because.clone(),
        record_as: item.records.map(|k| k.word().to_owned()),
        is_milestone: item.is_milestone(),
        needs_product: item.records.is_some_and(|k| k.row().product == ProductRule::Must),
        source: cite(item.source),
    }
}

fn pups(facts: &Facts, assessment: &Assessment, dates: &Dates, weanings: &[Weaning]) -> Vec<PupStages> {
    let each = assessment.pups.iter().zip(&dates.homes).zip(weanings);
    each.map(|((assessed, home), weaning)| pup(facts, assessed, home, weaning, dates)).collect()
}

fn pup(facts: &Facts, assessed: &PupAssessment, home: &Home, weaning: &Weaning, dates: &Dates) -> PupStages {
    let id = &assessed.pup.id;
    PupStages {
        pup: id.0.clone(),
        born: crate::upbringing::day(assessed.pup.born_at, &facts.litter.zone).to_string(),
        age_days: weaning.age_days,
        items: dates.items.iter().filter(|i| i.pup.as_ref() == Some(id)).map(item_line).collect(),
        faults: dates
            .faults
            .iter()
            .filter(|f| &f.pup == id)
            .map(|f| Said { text: f.says.clone(), source: cite(f.source) })
            .collect(),
        chip: number(facts, id).map(|number| {
            let reading = read(number);
            ChipLine {
                number: number.into(),
                shown: shown(number),
                is_of_the_standard: reading.is_standard(),
                reading: reading.words(),
                caution: NO_CHECK_DIGIT.into(),
                source: cite(&source::CHIP_CODE),
            }
        }),
        home: home_line(home),
        weaning: (weaning.age_days <= 84).then(|| weaning_line(weaning, assessed)),
    }
}

fn home_line(home: &Home) -> HomeLine {
    let condition = |g: &crate::upbringing::Gate| ConditionLine {
        code: g.code.into(),
        is_met: g.is_met,
        text: g.says.clone(),
        source: cite(g.source),
    };
    HomeLine {
        law: home.law.into(),
        earliest: home.earliest.to_string(),
        may_go: home.may_go(),
        conditions: home.gates.iter().map(condition).collect(),
        planned: home.planned.map(|d| d.to_string()),
        new_owner: home.new_owner.clone(),
    }
}

fn step_line(step: &weaning::Step) -> StepLine {
    StepLine {
        from_day: step.from_day,
        mix: step.mix.into(),
        meals_least: step.meals.0,
        meals_most: step.meals.1,
        milk_percent: step.milk_percent,
    }
}

fn weaning_line(w: &Weaning, assessed: &PupAssessment) -> WeaningLine {
    let day = |d: Option<jiff::civil::Date>| d.map(|d| d.to_string());
    let (gain, gain_text) = match &w.gain {
        GainCheck::Enough(says) => ("enough", says),
        GainCheck::TooLittle(says) => ("too little", says),
        GainCheck::NotKnown(says) => ("not known", says),
    };
    WeaningLine {
        start_on: w.start_on.to_string(),
        start_source: cite(w.start_source),
        begun_on: day(w.has_begun_on),
        weaned_on: day(w.weaned_on),
        ready: w.ready.iter().map(|(kind, seen)| ReadyLine { sign: sign(*kind).into(), seen_on: day(*seen) }).collect(),
        advice: w.advice(assessed.standing),
        step: w.step.as_ref().map(step_line),
        next_step_on: day(w.next_step_on),
        gain: gain.into(),
        gain_text: gain_text.clone(),
        gain_source: cite(&source::WEAN_GAIN),
        energy: w.energy.as_ref().map(|e| DayEnergyLine {
            weight_g: e.weight.get(),
            whole_kcal: e.whole.value.get(),
            milk_kcal: e.milk.get(),
            food_kcal: e.food.get(),
            source: cite(e.whole.source),
            others: e
                .others
                .iter()
                .map(|(name, kcal)| OtherDayEnergy {
                    name: (*name).into(),
                    kcal: Kcal::get(kcal.value),
                    source: cite(kcal.source),
                })
                .collect(),
            note: e
                .is_before_the_study
                .then(|| "The study began at 8 weeks; below that the figure is carried on from it.".into()),
        }),
    }
}

fn sign(kind: DoneKind) -> &'static str {
    crate::upbringing::MILESTONES.iter().find(|m| m.kind == kind).map_or(kind.word(), |m| m.title)
}
