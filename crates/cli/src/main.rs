//! The `whelpward` command.

fn main() {
    println!("whelpward {}", env!("CARGO_PKG_VERSION"));
}
