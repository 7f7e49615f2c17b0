//! Propagation of standard uncertainty through products, sums and correlated inputs.
