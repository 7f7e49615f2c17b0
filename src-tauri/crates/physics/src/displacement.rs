//! The level that a given excursion can make.
