//! The computation of whelpward: from the facts of a litter to what to do now.

pub mod growth;
