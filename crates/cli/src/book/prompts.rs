//! Questions to a person at a terminal. Without one, what is missing is an error that names it.

use std::io::IsTerminal as _;

use dialoguer::Input;

use super::Failed;

/// Whether a person sits at a terminal.
pub fn is_possible() -> bool {
    std::io::stdin().is_terminal() && std::io::stderr().is_terminal()
}

/// Asks for a text; an empty answer gives the default.
pub fn ask(what: &str, default: Option<&str>) -> Result<String, Failed> {
    if !is_possible() {
        return default.map(str::to_owned).ok_or_else(|| {
            Failed::Message(format!("{what}: nothing was given\nallowed: a value; whelpward COMMAND --help shows how"))
        });
    }
    let mut input = Input::<String>::new().with_prompt(what).allow_empty(default.is_none());
    if let Some(default) = default {
        input = input.default(default.to_owned());
    }
    input.interact_text().map_err(|e| Failed::Message(format!("the terminal cannot be read: {e}")))
}
