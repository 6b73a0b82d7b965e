//! The fold of the book: each rule with a hand-written expectation, and the order of arrival.
//!
//! Every litter is invented. `WHELPWARD_SHUFFLES` sets how many sets of facts are shuffled; 100
//! when it is not set, 1,000 in the stated size.

mod build;
mod corrections;
mod order;
mod people;
mod strange;
mod weighings;
