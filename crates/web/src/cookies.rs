//! The cookies that say who a browser is. Over https they have names that a browser takes from https alone
//! (`__Host-`, RFC 6265bis, section 4.1.3.2): the pages over plain http can neither read nor set them.

use axum::http::{HeaderMap, header};
use whelpward_app::access::SESSION;

fn name_of(name: &str, is_secure: bool) -> String {
    if is_secure { format!("__Host-{name}") } else { name.to_owned() }
}

/// What a browser sends under a name, as it stands there.
pub fn cookie<'h>(headers: &'h HeaderMap, name: &str) -> Option<&'h str> {
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|v| v.to_str().ok())
        .flat_map(|v| v.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(n, _)| *n == name)
        .map(|(_, v)| v)
}

/// The value of one of these cookies; empty counts as none.
pub fn kept<'h>(headers: &'h HeaderMap, name: &str, is_secure: bool) -> Option<&'h str> {
    cookie(headers, &name_of(name, is_secure)).filter(|value| !value.is_empty())
}

/// What sets one; an empty value takes it away.
pub fn keep(name: &str, value: &str, is_secure: bool) -> String {
    // As long as a device stays signed in, counted anew when it is set again.
    let seconds = if value.is_empty() { 0 } else { SESSION.as_secs() };
    let secure = if is_secure { "; Secure" } else { "" };
    format!("{}={value}; Path=/; Max-Age={seconds}; HttpOnly; SameSite=Lax{secure}", name_of(name, is_secure))
}

/// Whether this sets that cookie.
pub fn sets(cookie: &[u8], name: &str, is_secure: bool) -> bool {
    cookie.strip_prefix(name_of(name, is_secure).as_bytes()).is_some_and(|rest| rest.starts_with(b"="))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_http_cannot_stand_in_for_https() {
        let mut headers = HeaderMap::new();
        headers.insert(header::COOKIE, "a=1; __Host-a=2; b=".parse().unwrap());
        assert_eq!(kept(&headers, "a", false), Some("1"));
        assert_eq!(kept(&headers, "a", true), Some("2"));
        assert_eq!(kept(&headers, "b", false), None, "an empty one is none");
        headers.insert(header::COOKIE, "a=1".parse().unwrap());
        assert_eq!(kept(&headers, "a", true), None);
    }

    #[test]
    fn over_https_a_cookie_says_so() {
        assert_eq!(keep("a", "1", true), "__Host-a=1; Path=/; Max-Age=5184000; HttpOnly; SameSite=Lax; Secure");
        assert_eq!(keep("a", "", false), "a=; Path=/; Max-Age=0; HttpOnly; SameSite=Lax");
        assert!(sets(b"__Host-a=1; Path=/", "a", true) && !sets(b"a=1", "a", true) && !sets(b"ab=1", "a", false));
    }
}
