//! Which action each address is. What is not known here only the one who may let people in may do.

use axum::http::Method;
use whelpward_app::access::Action;

/// What it takes to be answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Nothing: assets, and the doors themselves.
    Open,
    Needs(Action),
}

/// Whether a request of this kind only looks.
pub fn only_looks(method: &Method) -> bool {
    matches!(*method, Method::GET | Method::HEAD)
}

pub fn way(method: &Method, path: &str) -> Way {
    let parts: Vec<&str> = path.split('/').skip(1).collect();
    let looks = only_looks(method);
    Way::Needs(match parts.as_slice() {
        ["assets", ..] | ["healthz" | "sign-in" | "padlock" | "worker.js"] | ["padlock" | "j" | "v", _] => {
            return Way::Open;
        }
        // Script asks whether the program can be reached, also on a page at the door; it hears the time.
        ["api", "v1", "time"] if looks => return Way::Open,
        ["device" | "sign-out"] | ["who", ..] => Action::OwnDevice,
        ["household", ..] => Action::LetIn,
        ["new"] => Action::Arrange,
        _ if looks => Action::Look,
        ["examples", ..] => Action::Arrange,
        ["api", "v1", "events" | "tap", ..] => Action::Write,
        ["litter" | "example", _, page @ ..] => match page {
            ["weigh" | "feed" | "feeding" | "check" | "nurse" | "paper"] | ["milk", "mixed"] => Action::Write,
            ["birth"] | ["pup", _, "left"] | ["stages", "write"] => Action::Arrive,
            ["answer" | "aside"] => Action::Settle,
            ["entry", _] => Action::Correct,
            ["undo"] => Action::TakeBack,
            ["milk" | "settings" | "dam" | "expecting"] | ["stages", "choose"] => Action::Arrange,
            _ => Action::LetIn,
        },
        _ => Action::LetIn,
    })
}

/// A path that means another than it says: no address of ours has one.
pub fn is_crooked(path: &str) -> bool {
    let lower = path.to_ascii_lowercase();
    path.split('/').any(|part| part == ".." || part == ".")
        || ["%2e", "%2f", "%5c", "%00", "\\", "//"].iter().any(|sign| lower.contains(sign))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_address_that_writes_stands_in_the_list() {
        for route in crate::ROUTES.iter().filter(|r| r.method != "get") {
            let path = route.path.replace("{shelf}", "litter");
            let method = Method::from_bytes(route.method.to_uppercase().as_bytes()).unwrap();
            let is_of_the_household = path.starts_with("/household");
            assert_eq!(way(&method, &path) == Way::Needs(Action::LetIn), is_of_the_household, "{path}");
        }
    }

    #[test]
    fn an_address_that_nobody_knows_is_for_the_breeder() {
        for path in ["/litter/1/else", "/api/v1/else", "/else", "/"] {
            assert_eq!(way(&Method::POST, path), Way::Needs(Action::LetIn), "{path}");
        }
        assert_eq!(way(&Method::DELETE, "/litter/1/weigh"), Way::Needs(Action::Write));
        assert_eq!(way(&Method::GET, "/j/abc"), Way::Open);
        assert_eq!(way(&Method::GET, "/j/abc/now"), Way::Needs(Action::Look));
    }

    #[test]
    fn crooked_paths_are_seen() {
        for path in ["/assets/../book.sqlite", "/assets/%2e%2E/x", "/a//b", "/a/./b", "/a\\b", "/a%5Cb", "/a%00"] {
            assert!(is_crooked(path), "{path}");
        }
        for path in ["/", "/litter/018f-a/pup/018f/left", "/assets/ab12/style.css"] {
            assert!(!is_crooked(path), "{path}");
        }
    }
}
