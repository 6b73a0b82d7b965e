//! What the household's closed litters say of the next one.

use whelpward_core::book::FactId;
use whelpward_core::supplies::{Expected, OwnLitter};

use crate::{AppError, Book, litters};

/// The closed litters of the book in numbers.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OwnLitters {
    pub all: Vec<OwnLitter>,
    /// How many pups were born in those of the same kind of dog.
    pub sizes: Vec<u32>,
}

/// Every closed litter but this one and invented ones.
///
/// # Errors
/// The book cannot be read.
pub async fn own_litters(book: &Book, but: Option<FactId>, expected: &Expected) -> Result<OwnLitters, AppError> {
    let mut own = OwnLitters::default();
    for info in litters(book).await?.iter().filter(|i| i.is_closed && !i.is_example && Some(i.id) != but) {
        let loaded = book.load(info.id).await?;
        // A litter that does not read says nothing here; its own page says what is wrong with it.
        let Ok(facts) = loaded.facts() else { continue };
        let Some(litter) = OwnLitter::of(facts) else { continue };
        if expected.is_like(facts) {
            own.sizes.push(litter.born);
        }
        own.all.push(litter);
    }
    Ok(own)
}
