//! The one catalogue of texts, in Fluent. A test looks for keys that are missing or unused.

use std::sync::LazyLock;

use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource, FluentValue};
use rust_embed::RustEmbed;

#[derive(RustEmbed)]
#[folder = "locales/en"]
pub(crate) struct English;

static CATALOGUE: LazyLock<FluentBundle<FluentResource>> = LazyLock::new(|| {
    let mut bundle =
        FluentBundle::new_concurrent(vec![unic_langid::LanguageIdentifier::from_bytes(b"en").unwrap_or_default()]);
    // No marks around what is put in: the whole page is left to right.
    bundle.set_use_isolating(false);
    for name in English::iter() {
        let Some(file) = English::get(&name) else { continue };
        let text = String::from_utf8_lossy(&file.data).into_owned();
        // What reads is used; a test sees that all of it reads.
        let resource = FluentResource::try_new(text).unwrap_or_else(|(resource, _)| resource);
        bundle.add_resource_overriding(resource);
    }
    bundle
});

/// The text of a key.
#[must_use]
pub fn say(key: &str) -> String {
    tell(key, &[])
}

/// The text of a key with values put in.
#[must_use]
pub fn tell(key: &str, values: &[(&'static str, FluentValue<'_>)]) -> String {
    let Some(pattern) = CATALOGUE.get_message(key).and_then(|m| m.value()) else {
        debug_assert!(false, "no text for {key}");
        return key.to_owned();
    };
    let mut args = FluentArgs::new();
    for (name, value) in values {
        args.set(*name, value.clone());
    }
    CATALOGUE.format_pattern(pattern, Some(&args), &mut Vec::new()).into_owned()
}

/// The text of a word that a check may hold, or of a kind of check.
#[must_use]
pub fn word(prefix: &str, word: &str) -> String {
    tell(&format!("{prefix}-{}", word.replace('_', "-")), &[])
}
