//! Nulls between two sources one above the other.
