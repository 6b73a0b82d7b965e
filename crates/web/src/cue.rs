//! How a pup is told from the others: a collar with its pattern and letter, the name, the marks.
//!
//! The colour is never alone: each has a letter of its own, and red light takes the hue away.

use maud::{Markup, html};

use crate::words::word;

/// A collar colour with its letter, the tone of its band and the ink of its pattern, chosen so
/// that the pattern is seen in grey too.
pub struct Collar {
    pub word: &'static str,
    pub letter: &'static str,
    pub tone: &'static str,
    pub ink: &'static str,
}

const LIGHT: &str = "#ffffff";
const DARK: &str = "#000000";

/// Our own set, chosen to stay apart in lightness as well as in hue.
pub const COLLARS: &[Collar] = &[
    Collar { word: "red", letter: "R", tone: "#c8372d", ink: LIGHT },
    Collar { word: "blue", letter: "B", tone: "#2f62c4", ink: LIGHT },
    Collar { word: "yellow", letter: "Y", tone: "#f2c53d", ink: DARK },
    Collar { word: "green", letter: "G", tone: "#2e8b57", ink: DARK },
    Collar { word: "orange", letter: "O", tone: "#ef8a33", ink: DARK },
    Collar { word: "purple", letter: "P", tone: "#7a4fb0", ink: LIGHT },
    Collar { word: "white", letter: "W", tone: "#f4f1ea", ink: DARK },
    Collar { word: "black", letter: "K", tone: "#3a3a3a", ink: LIGHT },
    Collar { word: "brown", letter: "N", tone: "#86603f", ink: LIGHT },
    Collar { word: "pink", letter: "I", tone: "#f0a3bb", ink: DARK },
];

pub const PATTERNS: &[&str] = &["plain", "stripes", "dots", "checks"];

/// The words that a birth writes into a pup's marks.
pub fn marks(coat: &str, colour: &str, pattern: &str) -> String {
    let collar = match (colour, pattern) {
        ("", _) => String::new(),
        (colour, "" | "plain") => format!("{colour} collar, plain"),
        (colour, pattern) => format!("{colour} collar with {pattern}"),
    };
    [coat.trim(), &collar].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join(", ")
}

/// The collar that the marks speak of.
fn collar_of(marks: &str) -> Option<(&'static Collar, &'static str)> {
    let words: Vec<String> = marks.to_lowercase().split(|c: char| !c.is_alphanumeric()).map(str::to_owned).collect();
    let place = words.iter().position(|w| w == "collar")?;
    let collar = words[..place].iter().rev().find_map(|w| COLLARS.iter().find(|c| c.word == w))?;
    let pattern = PATTERNS.iter().copied().find(|p| words.iter().any(|w| w == p || *p == format!("{w}s")));
    Some((collar, pattern.unwrap_or("plain")))
}

/// The letter by which a pup is told on paper: its collar's, else its name's.
pub fn letter(name: &str, marks: &str) -> String {
    let first = || name.chars().next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    collar_of(marks).map_or_else(first, |(collar, _)| collar.letter.to_owned())
}

/// The three cues in one line.
pub fn cue(name: &str, marks: &str) -> Markup {
    html! {
        span class="cue" {
            (band(name, marks))
            span class="cue-words" { strong { (name) } " " small { (marks) } }
        }
    }
}

/// The band alone.
pub fn band(name: &str, marks: &str) -> Markup {
    let first: String = name.chars().next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    let (letter, tone, ink, pattern) = match collar_of(marks) {
        Some((collar, pattern)) => (collar.letter.to_owned(), collar.tone, collar.ink, pattern),
        None => (first, "#b9b2a6", DARK, "plain"),
    };
    html! {
        svg class="band" viewBox="0 0 44 44" width="44" height="44" aria-hidden="true" focusable="false" {
            rect x="1.5" y="1.5" width="41" height="41" rx="9" fill=(tone) stroke="currentColor" stroke-width="3" {}
            @match pattern {
                "stripes" => {
                    path d="M4 12 12 4 M4 24 24 4 M4 36 36 4 M8 40 40 8 M20 40 40 20 M32 40 40 32" stroke=(ink) stroke-width="2.5" {}
                }
                "dots" => {
                    @for (x, y) in [(8, 8), (22, 7), (36, 8), (7, 22), (37, 22), (8, 36), (22, 37), (36, 36)] {
                        circle cx=(x) cy=(y) r="3" fill=(ink) {}
                    }
                }
                "checks" => {
                    @for (x, y) in [(3, 3), (24, 3), (13, 13), (34, 13), (3, 24), (24, 24), (13, 34), (34, 34)] {
                        rect x=(x) y=(y) width="8" height="8" fill=(ink) {}
                    }
                }
                _ => {}
            }
            rect x="11" y="10" width="22" height="24" rx="5" fill="#ffffff" stroke="#000000" stroke-width="1.5" {}
            text x="22" y="28.5" font-size="18" font-weight="700" text-anchor="middle" fill="#000000" { (letter) }
        }
    }
}

/// The choices of the birth page.
pub fn collar_options() -> Vec<(String, String)> {
    std::iter::once((String::new(), word("collar", "none")))
        .chain(COLLARS.iter().map(|c| (c.word.to_owned(), format!("{}: {}", c.letter, word("collar", c.word)))))
        .collect()
}

pub fn pattern_options() -> Vec<(String, String)> {
    PATTERNS.iter().map(|p| ((*p).to_owned(), word("pattern", p))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_written_at_a_birth_are_read_back_as_the_same_collar() {
        for collar in COLLARS {
            for pattern in PATTERNS {
                let marks = marks("black coat with white feet", collar.word, pattern);
                let (found, found_pattern) = collar_of(&marks).unwrap();
                assert_eq!((found.word, found_pattern), (collar.word, *pattern), "{marks}");
            }
        }
        assert!(collar_of("white feet").is_none());
    }

    #[test]
    fn no_two_collars_share_a_letter() {
        let letters: std::collections::BTreeSet<_> = COLLARS.iter().map(|c| c.letter).collect();
        assert_eq!(letters.len(), COLLARS.len());
    }
}
