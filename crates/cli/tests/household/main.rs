//! Phones that send what they kept to a program that is ended under them, and phones that do so for
//! long. What the phones speak is what the pages speak: `PUT /api/v1/events/{id}` and its batch.

mod chaos;
mod phone;
mod soak;
