//! Style and script, embedded in the program and served under a name that holds their hash.

use std::borrow::Cow;

use axum::extract::Path;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use rust_embed::RustEmbed;

use crate::fault::Fault;

#[derive(RustEmbed)]
#[folder = "assets"]
struct Assets;

/// What an asset holds, and the beginning of its hash.
fn asset_of(name: &str) -> Option<(Cow<'static, [u8]>, String)> {
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
