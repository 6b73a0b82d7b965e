//! The three milk reports as plain data: compare, blend, mix.

mod blend;
mod compare;
mod mix;

use schemars::JsonSchema;
use serde::Serialize;

pub use blend::{BlendReport, LimitLine, NoBlendReport, blend};
pub use compare::{CompareReport, CompareRequest, EXAMPLE_PUP, MilkLine, Own, compare, lightest};
pub use mix::{BathLine, MixPowder, MixReport, MixRequest, ThinLine, mix};

use super::build::cite;
use super::{Cite, Said};
use crate::milk::MilkNote;
use crate::milk::profile::Parts;

/// JSON Schemas of the three reports.
#[must_use]
pub fn schema() -> serde_json::Value {
    serde_json::json!({
        "compare": schemars::schema_for!(CompareReport).to_value(),
        "blend": schemars::schema_for!(BlendReport).to_value(),
        "no_blend": schemars::schema_for!(NoBlendReport).to_value(),
        "mix": schemars::schema_for!(MixReport).to_value(),
    })
}

/// Amounts in some measure of a milk; energy is metabolisable, 4/9/4.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PartsLine {
    pub energy_kcal: f64,
    pub water_g: f64,
    pub protein_g: f64,
    pub fat_g: f64,
    pub carbohydrate_g: f64,
    pub lactose_g: f64,
    /// Null where it is not known.
    pub calcium_mg: Option<f64>,
    pub phosphorus_mg: Option<f64>,
}

impl From<Parts> for PartsLine {
    fn from(p: Parts) -> Self {
        Self {
            energy_kcal: p.kcal,
            water_g: p.water_g,
            protein_g: p.protein_g,
            fat_g: p.fat_g,
            carbohydrate_g: p.carbohydrate_g,
            lactose_g: p.lactose_g,
            calcium_mg: p.calcium_mg,
            phosphorus_mg: p.phosphorus_mg,
        }
    }
}

fn said(note: &MilkNote) -> Said {
    Said { text: note.says.clone(), source: cite(note.source) }
}
