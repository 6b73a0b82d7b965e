//! The card of the kit: teat, bottle, tube, how a depth mark is made, cleaning, hands, people.

use jiff::Timestamp;

use super::Said;
use super::build::cite;
use crate::assess::assess;
use crate::limits;
use crate::record::Facts;
use crate::references::{self as source, Source};

type Lines = &'static [(&'static str, &'static Source)];

const BOTTLE: Lines = &[
    ("Turned over, milk oozes or drips from the teat; it does not stream.", &source::TEAT),
    ("A ready teat with a small hole is better than a hole made at home.", &source::TEAT_HOLE),
    (
        "A hole made at home: rinse it, boil it, test the drip before every feed. It streams: bin the teat.",
        &source::TEAT_HOLE,
    ),
    ("Which teat or bottle for which weight: no size is published. Ask your vet.", &source::TEAT_SIZE),
    ("Hold the bottle at about 45 degrees, so that no air is in the teat.", &source::BOTTLE_ANGLE),
    ("Never squeeze the bottle.", &source::NEVER_SQUEEZE),
    ("No eye dropper: milk gets into the airway.", &source::NO_DROPPER),
    ("Read amounts on an oral syringe: its marks are finer than a bottle's.", &source::SYRINGE_STEP),
];

const TUBE: Lines = &[
    ("Only a carer whom a vet taught. The first time is beside the vet.", &source::TUBE_TAUGHT),
    ("Never for a pup that is cold, dry, premature or does not respond: ring the vet.", &source::TUBE_NOT),
    ("Size: 5 Fr up to 300 g, 8 Fr above.", &source::TUBE_SIZE),
    ("1 Fr is a third of a millimetre across the outside.", &source::FRENCH),
    ("Tube and syringe have one kind of connector. Never one that is made for a vein.", &source::CONNECTOR),
    ("Resistance or a sudden struggle: take it out, give nothing.", &source::TUBE_TAUGHT),
    ("A newborn may not cough: no cough proves nothing.", &source::NO_COUGH),
    ("Give warm milk slowly, over 1 to 2 minutes.", &source::TUBE_SLOW),
    ("Milk comes back: take the tube out; nothing more until the next meal.", &source::MILK_AT_NOSE),
];

const DEPTH: Lines = &[
    ("The vet shows the mark on this pup. It is measured, never worked out from a weight.", &source::TUBE_MARK),
    ("Hold the tube straight beside the pup, never bent, from its nose towards the last rib.", &source::TUBE_STRAIGHT),
    ("Books differ: the mark at three quarters of that length, or at all of it. Take your vet's.", &source::TUBE_DEPTH),
    ("Make the mark anew every day in week 1, then every 2 days: the pup grows.", &source::TUBE_MARK),
];

const CLEANING: Lines = &[
    ("Clean bottles and teats well, and boil them between uses.", &source::BOIL),
    ("Box and floor: take the dirt off, wash, then disinfect and keep it wet as its label says.", &source::DISINFECT),
    ("Never mix bleach with ammonia.", &source::DISINFECT),
    ("How to clean a tube, and how often it may be used: the pack says; else ask your vet.", &source::TEAT_SIZE),
];

const HANDS: Lines = &[
    ("Wash your hands before you feed.", &source::HANDS_BEFORE),
    ("Wash with soap and running water after pups, stool and bedding.", &source::HYGIENE),
    ("Wear gloves for newborns and for the birth.", &source::HYGIENE),
    ("Feed the sick pup last.", &source::HYGIENE),
];

const PEOPLE: Lines = &[(
    "A sick litter is not for those who are pregnant, under 5, old or immune-weak: leave it to others.",
    &source::HYGIENE,
)];

/// The size of tube for the last weight of a pup.
#[derive(Debug, Clone, PartialEq)]
pub struct TubeLine {
    pub pup: String,
    pub weight_g: f64,
    /// French gauge.
    pub size_fr: u32,
}

/// The card; each line with its source.
#[derive(Debug, Clone)]
pub struct Equipment {
    pub bottle: Vec<Said>,
    pub tube: Vec<Said>,
    pub depth: Vec<Said>,
    pub cleaning: Vec<Said>,
    pub hands: Vec<Said>,
    pub people: Vec<Said>,
    /// Carers whom a vet taught to tube.
    pub taught: Vec<String>,
    /// Empty where no vet taught anybody: then there is no tube.
    pub tubes: Vec<TubeLine>,
}

/// The card for a litter; only the sizes of tubes depend on it.
#[must_use]
pub fn equipment(facts: &Facts, now: Timestamp) -> Equipment {
    let said = |lines: Lines| {
        lines.iter().map(|(text, source)| Said { text: (*text).into(), source: cite(source) }).collect::<Vec<_>>()
    };
    let taught: Vec<String> = facts.carers.iter().filter(|c| c.tube_taught_by_vet).map(|c| c.name.clone()).collect();
    let tubes = if taught.is_empty() {
        Vec::new()
    } else {
        let assessment = assess(&facts.known_at(now), now);
        let lines = assessment.pups.iter().filter_map(|p| {
            let weight = p.latest()?.weight;
            let size_fr = limits::tube_size_fr(weight).value;
            Some(TubeLine { pup: p.pup.id.0.clone(), weight_g: weight.get(), size_fr })
        });
        lines.collect()
    };
    Equipment {
        bottle: said(BOTTLE),
        tube: said(TUBE),
        depth: said(DEPTH),
        cleaning: said(CLEANING),
        hands: said(HANDS),
        people: said(PEOPLE),
        taught,
        tubes,
    }
}
