//! A vented box read off the two peaks of its impedance.
