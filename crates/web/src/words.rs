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
    // A trial language for the tests of the pages; a released program has none.
    if cfg!(debug_assertions) && std::env::var_os("WHELPWARD_TRIAL_LANGUAGE").is_some() {
        bundle.set_transform(Some(lengthened));
    }
    for name in English::iter() {
        let Some(file) = English::get(&name) else { continue };
        let text = String::from_utf8_lossy(&file.data).into_owned();
        // What reads is used; a test sees that all of it reads.
        let resource = FluentResource::try_new(text).unwrap_or_else(|(resource, _)| resource);
        bundle.add_resource_overriding(resource);
    }
    bundle
});

/// A text with accents and about two fifths longer, as in a wordier language: what does not come
/// from the catalogue, or has no room, is seen at once.
fn lengthened(text: &str) -> std::borrow::Cow<'_, str> {
    let letter = |c: char| match c {
        'a' => "áá",
        'e' => "éé",
        'i' => "íí",
        'o' => "óó",
        'u' => "úú",
        'y' => "ýý",
        'n' => "ññ",
        's' => "šš",
        'l' => "łł",
        'A' => "Á",
        'E' => "É",
        'I' => "Í",
        'O' => "Ó",
        'U' => "Ú",
        'Y' => "Ý",
        'N' => "Ñ",
        'S' => "Š",
        _ => "",
    };
    let mut long = String::with_capacity(text.len() * 2);
    for c in text.chars() {
        match letter(c) {
            "" => long.push(c),
            other => long.push_str(other),
        }
    }
    long.into()
}

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_trial_language_is_two_fifths_longer_than_the_catalogue() {
        let mut plain = 0;
        let mut long = 0;
        for name in English::iter() {
            let file = English::get(&name).unwrap();
            for line in String::from_utf8_lossy(&file.data).lines() {
                let Some((_, text)) = line.split_once(" = ") else { continue };
                plain += text.chars().count();
                long += lengthened(text).chars().count();
            }
        }
        #[expect(clippy::cast_precision_loss, reason = "some thousands of letters")]
        let ratio = long as f64 / plain as f64;
        assert!(ratio >= 1.38, "{ratio}");
    }
}
