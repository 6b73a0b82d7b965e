//! A blend, or the limits that conflict.

use schemars::JsonSchema;
use serde::Serialize;

use super::{PartsLine, said};
use crate::milk::blend::{self, HEADING, NoBlend, Request};
use crate::references as source;
use crate::report::build::cite;
use crate::report::{Cite, SCHEMA_VERSION, Said};

/// The best blend.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BlendReport {
    pub schema_version: u32,
    /// Stands above every blend.
    pub heading: Said,
    pub aim: String,
    pub aim_source: Cite,
    pub wanted_ml: f64,
    pub volume_ml: f64,
    pub strength_kcal_per_ml: f64,
    /// 5th and 95th percentile when foods vary from pack to pack.
    pub strength_range_kcal_per_ml: [f64; 2],
    pub recipe: Vec<PartLine>,
    /// False: the scale's step is too coarse; the amounts are exact ones to 0.1 g.
    pub is_weighable: bool,
    /// No whole steps of the foods that were named come closer by more than 0.1; false where the search
    /// ended before that was shown.
    pub is_proven_best: bool,
    pub per_100g: PartsLine,
    pub calcium_to_phosphorus: Option<f64>,
    pub reached: Vec<ReachedLine>,
    /// Weighted misses; 0 is bitch's milk. Of the exact blend and of the weighed one.
    pub exact_misses_percent: f64,
    pub misses_percent: f64,
    pub limits: Vec<LimitLine>,
    pub would_help_most: Option<HelpLine>,
    pub cost: Option<f64>,
    pub simulation_draws: u32,
    pub simulation_seed: u64,
    pub varies: Cite,
    pub method: Cite,
    pub notes: Vec<Said>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PartLine {
    pub food: String,
    pub name: String,
    pub weigh_g: f64,
    pub volume_ml: f64,
    pub exact_g_in_100g: f64,
    pub table: String,
    /// Figures that were not read in the table, with their status.
    pub not_published: Vec<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ReachedLine {
    pub nutrient: String,
    pub unit_in_100g: String,
    pub got: f64,
    pub target: f64,
    pub off_percent: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LimitLine {
    pub limit: String,
    /// Set when the limit holds the blend back: the misses without it.
    pub misses_without_percent: Option<f64>,
    /// Gain in misses for each unit of the limit, at its edge.
    pub gain_percent_for_each_unit: Option<f64>,
    /// How likely it holds when foods vary; null for amounts, which are weighed.
    pub chance: Option<f64>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HelpLine {
    pub food: String,
    pub name: String,
    pub misses_percent: f64,
}

/// Why there is no blend.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct NoBlendReport {
    pub because: String,
    /// The smallest set of limits that cannot be kept together.
    pub conflict: Vec<ConflictLine>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ConflictLine {
    pub limit: String,
    /// What it would have to allow for the others to be kept.
    pub would_have_to_allow: Option<f64>,
}

/// The best blend, or why there is none.
///
/// # Errors
/// [`NoBlendReport`].
pub fn blend(request: &Request) -> Result<BlendReport, NoBlendReport> {
    let b = blend::blend(request).map_err(no_blend)?;
    let n = b.nutrients;
    Ok(BlendReport {
        schema_version: SCHEMA_VERSION,
        heading: Said { text: HEADING.into(), source: cite(&source::STOP_GAP) },
        aim: b.stage.words().into(),
        aim_source: cite(b.stage.targets().source),
        wanted_ml: request.volume.get(),
        volume_ml: b.volume.get(),
        strength_kcal_per_ml: n.composition.kcal_per_ml(),
        strength_range_kcal_per_ml: b.strength_range.into(),
        recipe: b
            .parts
            .iter()
            .map(|p| PartLine {
                food: p.food.id.clone(),
                name: p.food.name.clone(),
                weigh_g: p.weigh.get(),
                volume_ml: p.weigh.get() / p.food.density(),
                exact_g_in_100g: p.exact_g,
                table: p.food.table.clone(),
                not_published: p.food.not_published().map(|(f, mark)| format!("{f}: {}", mark.word())).collect(),
            })
            .collect(),
        is_weighable: b.is_weighable,
        is_proven_best: b.is_proven,
        per_100g: n.in_100g().into(),
        calcium_to_phosphorus: n.calcium_to_phosphorus(),
        reached: b
            .reached
            .iter()
            .map(|r| ReachedLine {
                nutrient: r.aim.words().into(),
                unit_in_100g: r.aim.unit().into(),
                got: r.got,
                target: r.target,
                off_percent: r.off_percent(),
            })
            .collect(),
        exact_misses_percent: 100.0 * b.exact_misses,
        misses_percent: 100.0 * b.misses,
        limits: b
            .limits
            .iter()
            .map(|l| LimitLine {
                limit: l.words.clone(),
                misses_without_percent: l.price.map(|p| 100.0 * p.without),
                gain_percent_for_each_unit: l.price.map(|p| 100.0 * p.for_each_unit),
                chance: l.chance,
            })
            .collect(),
        would_help_most: b.would_help.map(|(food, misses)| HelpLine {
            food: food.id.clone(),
            name: food.name,
            misses_percent: 100.0 * misses,
        }),
        cost: b.cost,
        simulation_draws: request.draws,
        simulation_seed: request.seed,
        varies: cite(&source::FOOD_VARIES),
        method: cite(&source::BLEND_METHOD),
        notes: b.notes.iter().map(said).collect(),
    })
}

fn no_blend(why: NoBlend) -> NoBlendReport {
    match why {
        NoBlend::Refused(because) => NoBlendReport { because, conflict: Vec::new() },
        NoBlend::Conflict(limits) => NoBlendReport {
            because: "these limits cannot be kept together with these foods".into(),
            conflict: limits
                .into_iter()
                .map(|(limit, would_have_to_allow)| ConflictLine { limit, would_have_to_allow })
                .collect(),
        },
        NoBlend::Unsound(what) => NoBlendReport {
            because: format!("the solver's answer did not stand its check ({what}); no recipe is given"),
            conflict: Vec::new(),
        },
    }
}
