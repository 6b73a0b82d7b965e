//! What is in a milk, how far it is from bitch's milk, and the best blend of what is in the
//! kitchen.
//!
//! One energy convention throughout: metabolisable, 4 kcal per g protein, 9 per g fat and
//! 4 per g carbohydrate ([`crate::references::ENERGY_CONVENTION`]). Gross energy is never
//! mixed in.

pub mod blend;
pub mod compare;
mod composition;
pub mod foods;
pub mod profile;
pub mod stages;
mod strength;

pub use composition::{BITCH, COW, Composition, GOAT, LABEL_ENERGY_OFF, PARTIAL_DENSITY};
pub use strength::{
    MilkNote, Strength, TOO_STRONG, mixed_volume, notes, powder_and_water, powder_composition, powder_kcal_per_100g,
    powder_ml_per_g, refused, strength,
};
