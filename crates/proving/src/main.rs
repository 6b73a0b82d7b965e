//! Proves the early warnings on simulated litters.
mod parameters;
mod rule;
mod simulate;

fn main() {
    println!(
        "{}",
        simulate::litter(1, simulate::any_household(1))
            .weighings
            .len()
    );
}
