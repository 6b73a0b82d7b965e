//! Who may come in: people, secrets, devices, links, and the audit. Only rows in and out; the rules
//! stand in `whelpward-app`.

mod audit;
mod carry;
mod devices;
mod links;
mod people;
mod secrets;

pub use audit::{AuditEntry, AuditLine};
pub use carry::Carried;
pub use devices::Device;
pub use links::{Link, LinkKind};
pub use people::Person;
pub use secrets::Try;
