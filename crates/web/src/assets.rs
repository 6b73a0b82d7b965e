//! Style and script, embedded in the program and served under a name that holds their hash.

use std::borrow::Cow;
use std::sync::LazyLock;

use axum::extract::Path;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use rust_embed::RustEmbed;
use sha2::{Digest as _, Sha256};

use crate::fault::Fault;
use crate::words::English;

#[derive(RustEmbed)]
#[folder = "assets"]
struct Assets;

/// The style of every page with that of paper behind it, for a print that is shown at the door.
const PRINT: &str = "print.css";

/// The parts of the script, each a plain module, in the order in which they use one another.
const SCRIPT: &[&str] = &[
    "ids.js",
    "clock.js",
    "rules.js",
    "shelf.js",
    "outbox.js",
    "pad.js",
    "glass.js",
    "facts.js",
    "away.js",
    "padlock.js",
    "door.js",
    "save.js",
    "live.js",
    "app.js",
];

/// The parts joined into one file, so that a page asks once: their imports fall away, because all
/// names then stand beside each other.
static JOINED: LazyLock<(String, String)> = LazyLock::new(|| {
    let part =
        |name: &&str| Assets::get(&format!("script/{name}")).map(|f| String::from_utf8_lossy(&f.data).into_owned());
    let joined: String = SCRIPT.iter().filter_map(part).map(|text| beside_the_others(&text)).collect();
    let tag = whelpward_store::hex(&Sha256::digest(joined.as_bytes())[..8]);
    (joined, tag)
});

fn beside_the_others(module: &str) -> String {
    let lines = module.lines().filter(|line| !line.starts_with("import "));
    lines.flat_map(|line| [line.strip_prefix("export ").unwrap_or(line), "\n"]).collect()
}

/// Another one in each build of the program whose pages look or read otherwise.
static BUILD: LazyLock<String> = LazyLock::new(|| {
    let assets = ["app.js", "style.css", "mark.svg"].map(address).concat();
    let mut hash = Sha256::new_with_prefix(assets);
    hash.update(env!("CARGO_PKG_VERSION"));
    for name in English::iter() {
        hash.update(English::get(&name).map(|file| file.data).unwrap_or_default());
    }
    whelpward_store::hex(&hash.finalize()[..8])
});

/// Names this build of the program.
#[must_use]
pub fn build() -> &'static str {
    &BUILD
}

/// What an asset holds, and the beginning of its hash.
fn asset_of(name: &str) -> Option<(Cow<'static, [u8]>, String)> {
    if name == "app.js" {
        return Some((Cow::Borrowed(JOINED.0.as_bytes()), JOINED.1.clone()));
    }
    if name == PRINT {
        let style = format!("{}{}", style(), whelpward_print::STYLE).into_bytes();
        let hash = whelpward_store::hex(&Sha256::digest(&style)[..8]);
        return Some((Cow::Owned(style), hash));
    }
    let file = Assets::get(name)?;
    Some((file.data, whelpward_store::hex(&file.metadata.sha256_hash()[..8])))
}

/// The style of every page as text, for a page that puts more behind it.
#[must_use]
pub fn style() -> String {
    asset_of("style.css").map(|(data, _)| String::from_utf8_lossy(&data).into_owned()).unwrap_or_default()
}

/// The address of an asset; it changes when the asset does.
#[must_use]
pub fn address(name: &str) -> String {
    match asset_of(name) {
        Some((_, hash)) => format!("/assets/{hash}/{name}"),
        None => format!("/assets/missing/{name}"),
    }
}

pub async fn asset(Path((_, name)): Path<(String, String)>, headers: HeaderMap) -> Result<Response, Fault> {
    let (data, hash) = asset_of(&name).ok_or(Fault::NotFound)?;
    let tag = format!("\"{hash}\"");
    let kind = match name.rsplit('.').next() {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml",
        _ => "application/octet-stream",
    };
    let is_the_same = headers.get(header::IF_NONE_MATCH).is_some_and(|t| t.as_bytes() == tag.as_bytes());
    let about = [
        (header::CONTENT_TYPE, kind.to_owned()),
        (header::CACHE_CONTROL, "public, max-age=31536000, immutable".to_owned()),
        (header::ETAG, tag),
    ];
    if is_the_same {
        return Ok((StatusCode::NOT_MODIFIED, about).into_response());
    }
    Ok((about, data.into_owned()).into_response())
}

/// What answers while the program is away, over https alone. A browser looks for a newer one by itself.
pub async fn worker() -> Result<Response, Fault> {
    let file = Assets::get("script/worker.js").ok_or(Fault::NotFound)?;
    let about = [(header::CONTENT_TYPE, "text/javascript; charset=utf-8"), (header::CACHE_CONTROL, "no-cache")];
    Ok((about, file.data.into_owned()).into_response())
}
