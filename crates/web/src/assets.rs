//! Style and script, embedded in the program and served under a name that holds their hash.

use axum::extract::Path;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use rust_embed::RustEmbed;

use crate::fault::Fault;

#[derive(RustEmbed)]
#[folder = "assets"]
struct Assets;

/// The address of an asset; it changes when the asset does.
#[must_use]
pub fn address(name: &str) -> String {
    match Assets::get(name) {
        Some(file) => format!("/assets/{}/{name}", short(&file.metadata.sha256_hash())),
        None => format!("/assets/missing/{name}"),
    }
}

fn short(hash: &[u8; 32]) -> String {
    whelpward_store::hex(&hash[..8])
}

pub async fn asset(Path((_, name)): Path<(String, String)>, headers: HeaderMap) -> Result<Response, Fault> {
    let file = Assets::get(&name).ok_or(Fault::NotFound)?;
    let tag = format!("\"{}\"", short(&file.metadata.sha256_hash()));
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
    Ok((about, file.data.into_owned()).into_response())
}
