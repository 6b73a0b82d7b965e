//! An address as a picture for a phone's camera: black on white, also at night.

use maud::{Markup, html};
use qrcode::{Color, EcLevel, QrCode};

/// The quiet zone around it, in modules (ISO/IEC 18004 asks for four).
const QUIET: usize = 4;

/// Rows of modules, true where black, with the quiet zone.
fn modules(address: &str) -> Option<Vec<Vec<bool>>> {
    let code = QrCode::with_error_correction_level(address, EcLevel::M).ok()?;
    let (width, colours) = (code.width(), code.to_colors());
    let side = width + 2 * QUIET;
    let is_black = |x: usize, y: usize| {
        let inside = (QUIET..QUIET + width).contains(&x) && (QUIET..QUIET + width).contains(&y);
        inside && colours[(y - QUIET) * width + x - QUIET] == Color::Dark
    };
    Some((0..side).map(|y| (0..side).map(|x| is_black(x, y)).collect()).collect())
}

/// For a page.
pub fn picture(address: &str, title: &str) -> Markup {
    let Some(rows) = modules(address) else { return html! {} };
    let mut black = String::new();
    for (y, row) in rows.iter().enumerate() {
        for (x, _) in row.iter().enumerate().filter(|(_, is_black)| **is_black) {
            black.push_str(&format!("M{x} {y}h1v1h-1z"));
        }
    }
    let side = rows.len();
    html! {
        svg xmlns="http://www.w3.org/2000/svg" class="qr" viewBox=(format!("0 0 {side} {side}")) width="264" height="264" role="img" aria-label=(title) shape-rendering="crispEdges" {
            title { (title) }
            rect width=(side) height=(side) fill="#ffffff" {}
            path d=(black) fill="#000000" {}
        }
    }
}

/// For a terminal: two rows of modules in each line. With colours it is black on white on any
/// terminal; without, light signs stand for white, as on a dark terminal.
#[must_use]
pub fn in_text(address: &str, with_colours: bool) -> String {
    let Some(rows) = modules(address) else { return String::new() };
    let mut text = String::new();
    for pair in rows.chunks(2) {
        if with_colours {
            text.push_str("\u{1b}[30;107m");
        }
        for x in 0..pair[0].len() {
            let (above, below) = (pair[0][x], pair.get(1).is_some_and(|row| row[x]));
            text.push(match (above == with_colours, below == with_colours) {
                (true, true) => '█',
                (true, false) => '▀',
                (false, true) => '▄',
                (false, false) => ' ',
            });
        }
        text.push_str(if with_colours { "\u{1b}[0m\n" } else { "\n" });
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_has_its_quiet_zone_and_the_three_corners() {
        let rows = modules("http://192.168.1.5:7317/j/0123456789abcdef0123456789abcdef").unwrap();
        let side = rows.len();
        assert!(rows[..QUIET].iter().chain(&rows[side - QUIET..]).flatten().all(|black| !black));
        assert!(
            rows.iter().all(|r| r.len() == side && !r[..QUIET].contains(&true) && !r[side - QUIET..].contains(&true))
        );
        // A corner: seven black modules, then a white one.
        let corner = |y: usize, x: usize| rows[y][x..x + 7].iter().all(|b| *b);
        assert!(corner(QUIET, QUIET) && corner(QUIET, side - QUIET - 7) && corner(side - QUIET - 7, QUIET));
        assert!(!rows[QUIET][QUIET + 7]);
    }

    #[test]
    fn at_a_terminal_it_fits_into_80_columns() {
        let text = in_text("http://192.168.100.100:7317/", false);
        assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
        assert!(text.starts_with('█'), "white around it on a dark terminal");
    }
}
