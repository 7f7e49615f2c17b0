//! Driver parameters from an impedance sweep by least squares.
