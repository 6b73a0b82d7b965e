//! Sets the password of the household, without which nobody is let in over the network.

use std::io::IsTerminal as _;

use jiff::Timestamp;
use whelpward_app::access;

use crate::book::{Failed, Open, Which, block_on};

/// Asks for it twice at a terminal; else reads one line.
pub fn run(which: &Which, now: Timestamp) -> Result<String, Failed> {
    block_on(async {
        let open = Open::at(which, now).await?;
        let password = typed()?;
        access::set_password(&open.book.store, &open.by(), password, None, now).await.map_err(|e| e.to_string())?;
        Ok("The password is set. Phones come in while the program runs with: whelpward serve --lan\n".into())
    })
}

fn typed() -> Result<String, Failed> {
    let failed = |e: &dyn std::fmt::Display| Failed::Message(format!("the password cannot be read: {e}"));
    if std::io::stdin().is_terminal() {
        return dialoguer::Password::new()
            .with_prompt(format!("New password, at least {} characters", access::SHORTEST_PASSWORD))
            .with_confirmation("The same again", "The two are not the same.")
            .interact()
            .map(|p| p.trim().to_owned())
            .map_err(|e| failed(&e));
    }
    let mut line = String::new();
    std::io::stdin().read_line(&mut line).map_err(|e| failed(&e))?;
    // The pages trim what is typed, too.
    Ok(line.trim().to_owned())
}
