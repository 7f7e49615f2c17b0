//! Check values of the engineering: published tables, reference solvers, and relations that must
//! hold.
//!
//! A test named `chk_…` holds a value computed with an independent tool (numpy, scipy, mpmath,
//! sympy or ngspice) from the inputs printed beside it. Rows of a handbook or standard carry their
//! citation.

mod boxes;
mod brace;
mod cabinet;
mod circuit;
mod compact;
mod consistency;
mod crossover;
mod drivers;
mod edges;
mod fit;
mod fit_vented;
mod humps;
mod ladder;
mod loads;
mod network;
mod nist;
mod ports;
mod properties;
mod table;
mod tolerance;
mod uncertainty;
mod wires;
