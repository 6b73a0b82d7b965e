//! A fact as JSON: one object, the same over the network, in an export and on file.

use jiff::Timestamp;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{AboutPup, Fact, FactId, Kind, Receipt};
use crate::record::entries::look_over;

/// Names of the JSON object. Times are ISO 8601 in UTC.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FactJson {
    /// UUID of RFC 9562, version 7, made where the fact was made.
    pub id: String,
    /// Id of the first fact of the litter.
    pub litter: String,
    /// One of the kinds of docs/FORMAT.md.
    pub kind: String,
    /// Id of the first fact of the pup.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pup: Option<String>,
    /// The keys of the kind, as typed.
    pub body: std::collections::BTreeMap<String, serde_json::Value>,
    /// When it happened.
    pub occurred_at: String,
    /// IANA name of the zone in which that was said.
    pub zone: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub carer: Option<String>,
    pub device: String,
    /// Id of the version that this one takes the place of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub supersedes: Option<String>,
    /// Id of the fact that this one takes out of the count.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub voids: Option<String>,
    /// How it came in; given by the book, never read from a device.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub receipt: Option<ReceiptJson>,
}

#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReceiptJson {
    pub received_at: Option<String>,
    pub seq: i64,
    pub client_seq: Option<i64>,
    pub client_wall_at: Option<String>,
    pub is_time_uncertain: bool,
    pub is_late: bool,
}

/// JSON Schema of [`FactJson`].
#[must_use]
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(FactJson).to_value()
}

impl From<&Fact> for FactJson {
    fn from(fact: &Fact) -> Self {
        let id = |id: Option<FactId>| id.map(|i| i.to_string());
        Self {
            id: fact.id.to_string(),
            litter: fact.litter.to_string(),
            kind: fact.kind.word().to_owned(),
            pup: id(fact.pup),
            body: fact.body.clone(),
            occurred_at: fact.occurred.to_string(),
            zone: fact.zone.clone(),
            carer: fact.carer.clone(),
            device: fact.device.clone(),
            supersedes: id(fact.supersedes),
            voids: id(fact.voids),
            receipt: fact.receipt.received.map(|received| ReceiptJson {
                received_at: Some(received.to_string()),
                seq: fact.receipt.seq,
                client_seq: fact.receipt.client_seq,
                client_wall_at: fact.receipt.client_wall.map(|t| t.to_string()),
                is_time_uncertain: fact.receipt.is_time_uncertain,
                is_late: fact.receipt.is_late,
            }),
        }
    }
}

impl FactJson {
    /// The fact, if every part of it has the right shape.
    ///
    /// # Errors
    /// What is wrong, in words.
    pub fn read(self) -> Result<Fact, String> {
        let id = |name: &str, text: &str| text.parse::<FactId>().map_err(|e| format!("{name}: {e}"));
        let maybe = |name: &str, text: &Option<String>| text.as_deref().map(|t| id(name, t)).transpose();
        let time = |name: &str, text: &str| {
            text.parse::<Timestamp>()
                .map_err(|_| format!("{name}: a time with its offset, not {text:.50}"))
                .map(whole_milliseconds)
        };
        let kind =
            Kind::from_word(&self.kind).ok_or_else(|| format!("kind: not one that is known: {:.50}", self.kind))?;
        let receipt = self.receipt.unwrap_or_default();
        let fact = Fact {
            id: id("id", &self.id)?,
            litter: id("litter", &self.litter)?,
            kind,
            pup: maybe("pup", &self.pup)?,
            body: self.body,
            occurred: time("occurred_at", &self.occurred_at)?,
            zone: self.zone,
            carer: self.carer,
            device: self.device,
            supersedes: maybe("supersedes", &self.supersedes)?,
            voids: maybe("voids", &self.voids)?,
            receipt: Receipt {
                received: receipt.received_at.as_deref().map(|t| time("received_at", t)).transpose()?,
                seq: receipt.seq,
                client_seq: receipt.client_seq,
                client_wall: receipt.client_wall_at.as_deref().map(|t| time("client_wall_at", t)).transpose()?,
                is_time_uncertain: receipt.is_time_uncertain,
                is_late: receipt.is_late,
            },
        };
        fact.look_over().map_or(Ok(fact), Err)
    }
}

/// Times are kept to the millisecond, as the databases hold them.
#[must_use]
pub fn whole_milliseconds(at: Timestamp) -> Timestamp {
    Timestamp::from_millisecond(at.as_millisecond()).unwrap_or(at)
}

impl Fact {
    /// What is wrong with the fact by itself, in words; nothing when it is well formed.
    #[must_use]
    pub fn look_over(&self) -> Option<String> {
        let row = self.kind.row();
        if row.about_pup == AboutPup::Always && self.pup.is_none() {
            return Some(format!("{} needs a pup", row.word));
        }
        if row.about_pup == AboutPup::Never && self.pup.is_some() {
            return Some(format!("{} is not about a pup", row.word));
        }
        if (self.kind == Kind::Void) != self.voids.is_some() {
            return Some("a void names the fact that it voids, and no other kind does".into());
        }
        for (name, text) in [("zone", Some(&self.zone)), ("device", Some(&self.device)), ("carer", self.carer.as_ref())]
        {
            if text.is_some_and(|t| t.trim().is_empty() || t.chars().count() > 200 || t.chars().any(char::is_control)) {
                return Some(format!("{name}: text, not blank, at most 200 characters"));
            }
        }
        if let Some(key) = row.time_key {
            let said = self.body.get(key).and_then(|t| t.as_str()).and_then(|t| t.parse::<Timestamp>().ok());
            if said.is_some_and(|t| whole_milliseconds(t) != self.occurred) {
                return Some(format!("{key} and the time of the fact differ"));
            }
        }
        look_over(row.word, &self.kind.keys(), &self.body).first().map(ToString::to_string)
    }

    /// The measured amount as a whole number: milligrams of a weighing or feed by nursing,
    /// microlitres of a feed or batch, thousandths of a degree of a check. For other programs.
    #[must_use]
    pub fn amount(&self) -> Option<i64> {
        use crate::units::{WeightUnit, parse_decimal};
        let text = |name: &str| self.body.get(name).map(crate::record::entries::typed);
        #[expect(clippy::cast_possible_truncation, reason = "amounts are far below 2^53 and rounded")]
        let thousandths = |text: String| parse_decimal(&text).ok().map(|n| (n * 1000.0).round() as i64);
        match self.kind {
            Kind::Weighing => match text("weight_g") {
                Some(grams) => WeightUnit::Gram.parse(&grams).ok().map(crate::units::Grams::milligrams),
                None => WeightUnit::from_word(&text("unit")?)?
                    .parse(&text("weight")?)
                    .ok()
                    .map(crate::units::Grams::milligrams),
            },
            Kind::Feed => thousandths(text("taken_ml").or_else(|| text("offered_ml"))?),
            Kind::Batch => thousandths(text("volume_ml")?),
            Kind::Check => {
                let value = parse_decimal(&text("value")?).ok()?;
                let celsius = if text("kind")?.ends_with("_f") { (value - 32.0) / 1.8 } else { value };
                #[expect(clippy::cast_possible_truncation, reason = "temperatures are below 2^53 and rounded")]
                Some((celsius * 1000.0).round() as i64)
            }
            _ => None,
        }
    }
}
